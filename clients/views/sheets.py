"""The coach's tab Sheets: hand out one session or a week, take a sheet back, give the client their link."""

from collections.abc import Iterable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from clients.clock import today_for
from clients.labels import health_sentence
from clients.models import Block, Client, ClientLink, SheetVersion, TrainingSession
from clients.reads.people import client_head
from clients.reads.phone import cycle_in_hand, versions_of_sessions
from clients.services import links, sheets
from clients.sheets import pdf
from clients.views.common import own_client, undo_tag
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.models import JournalEntry


@coach_required
@require_safe
def client_sheets(request: CoachRequest, public_id: Any) -> HttpResponse:
    client = own_client(request, public_id)
    return _page(request, client, _number(request.GET.get("week")))


def _page(
    request: CoachRequest,
    client: Client,
    week: int | None,
    *,
    holds: Iterable[Any] = (),
    undecided: Iterable[Any] = (),
    status: int = 200,
) -> HttpResponse:
    block = client.blocks.active().first() or client.blocks.first()
    sessions = list(versions_of_sessions(block)) if block else []
    cycles = sorted({session.cycle for session in sessions})
    if week not in cycles:
        week = cycle_in_hand(sessions, today_for(client)) if sessions else None
    link = ClientLink.objects.filter(client=client, revoked_at=None).first()
    address = links.address_of(link, request) if link is not None and link.alive else ""
    reach = links.reach(request)
    context = {
        **client_head(client, "client-sheets", request.user),
        "shown": block,
        "week": week,
        "weeks": [_week(block, cycle, sessions, week) for cycle in cycles] if block else [],
        "rows": [_row(client, session) for session in sessions if session.cycle == week],
        "open_sessions": any(
            session.cycle == week and session.state == TrainingSession.State.PLANNED and _standing(session) is None
            for session in sessions
        ),
        "holds": [health_sentence(hold) for hold in holds] if request.user.sees_health else [],
        "held": bool(holds),
        "undecided": _by_session(undecided),
        "address": address,
        "until": link.expires_at if address and link else None,
        "code": pdf.code_for(address, "#fff") if address and reach != "this_machine" else "",
        "reach": reach,
        "here": request.get_full_path() if request.method == "GET" else _address(client, week),
    }
    return render(request, "clients/sheets/sheets.html", context, status=status)


def _by_session(lines: Iterable[Any]) -> list[dict[str, Any]]:
    """Lines without a load, told once a session."""
    found: dict[int, dict[str, Any]] = {}
    for line in lines:
        entry = found.setdefault(line.session_id, {"session": line.session, "exercises": []})
        entry["exercises"].append(line.exercise.name)
    return list(found.values())


def _week(block: Block, cycle: int, sessions: list[TrainingSession], current: int | None) -> dict[str, Any]:
    own = [session for session in sessions if session.cycle == cycle]
    out = sum(1 for session in own if _standing(session) is not None)
    return {"number": cycle, "out": out, "count": len(own), "current": cycle == current}


def _standing(session: TrainingSession) -> SheetVersion | None:
    versions = session.versions.all()
    return next((version for version in versions if version.state == SheetVersion.State.ISSUED), None)


def _row(client: Client, session: TrainingSession) -> dict[str, Any]:
    newest = next(iter(session.versions.all()), None)
    standing = _standing(session)
    return {
        "session": session,
        "newest": newest,
        "standing": standing,
        "can_issue": session.state == TrainingSession.State.PLANNED,
        "files": [
            (word, reverse("client-sheet-pdf", args=[client.public_id, standing.public_id, layout]))
            for layout, word in (("phone", _("phone")), ("paper", _("paper")))
        ]
        if standing
        else [],
    }


@coach_required
@require_POST
def issue_week(request: CoachRequest, public_id: Any, cycle: int) -> HttpResponse:
    """All sessions of a week that are still to be trained, or none of them."""
    client = own_client(request, public_id)
    block = client.blocks.active().first()
    sessions = block.sessions.filter(cycle=cycle, state=TrainingSession.State.PLANNED) if block else []
    return _issue(request, client, list(sessions), cycle)


@coach_required
@require_POST
def issue_one(request: CoachRequest, public_id: Any, session_id: Any) -> HttpResponse:
    client = own_client(request, public_id)
    sessions = TrainingSession.objects.for_client(client).filter(state=TrainingSession.State.PLANNED)
    session = get_object_or_404(sessions, public_id=session_id)
    return _issue(request, client, [session], session.cycle)


def _issue(request: CoachRequest, client: Client, sessions: list[TrainingSession], cycle: int) -> HttpResponse:
    try:
        issued = sheets.issue_sheets(sessions, request.user)
    except sheets.NotCleared as refused:
        return _page(request, client, cycle, holds=refused.holds, status=422)
    except sheets.NotReady as refused:
        return _page(request, client, cycle, undecided=refused.lines, status=422)
    fresh = sum(1 for one in issued if one.fresh)
    if fresh:
        said = ngettext("%(n)d sheet handed out.", "%(n)d sheets handed out.", fresh) % {"n": fresh}
        messages.success(request, said, extra_tags=undo_tag(_last(client, "sheet.issue")))
    else:
        messages.info(request, _("Nothing new: what is handed out says the same already."))
    return redirect(_address(client, cycle))


@coach_required
@require_POST
def withdraw(request: CoachRequest, public_id: Any, version_id: Any) -> HttpResponse:
    """Takes a sheet back, with undo; what was logged from it stays."""
    client = own_client(request, public_id)
    standing = SheetVersion.objects.for_client(client).standing().select_related("session__block__client__practice")
    version = get_object_or_404(standing, public_id=version_id)
    sheets.withdraw(version, request.user)
    said = _("The sheet of %(name)s is taken back.") % {"name": version.session.name}
    messages.success(request, said, extra_tags=undo_tag(_last(client, "sheet.withdraw")))
    return redirect(_address(client, version.session.cycle))


def _last(client: Client, act: str) -> JournalEntry | None:
    return JournalEntry.objects.filter(practice=client.practice, act=act, about=f"client:{client.public_id}").first()


def _address(client: Client, week: int | None) -> str:
    query = {"week": week} if week else None
    return reverse("client-sheets", args=[client.public_id], query=query)


def _number(text: str | None) -> int | None:
    return int(text) if text and text.isdecimal() else None


urlpatterns = [
    path("clients/<uuid:public_id>/sheets/", client_sheets, name="client-sheets"),
    path("clients/<uuid:public_id>/sheets/week/<int:cycle>/", issue_week, name="issue-week"),
    path("clients/<uuid:public_id>/sessions/<uuid:session_id>/sheet/", issue_one, name="issue-sheet"),
    path("clients/<uuid:public_id>/sheets/<uuid:version_id>/withdraw/", withdraw, name="withdraw-sheet"),
]
