"""Proposals: one by one, all of one client, what was decided, and what goes out by itself."""

from typing import Any
from urllib.parse import parse_qs, urlsplit

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients import proposal_words, proposals_page
from clients.desk_rows import drawn_icon
from clients.forms.proposals import ChangeForm
from clients.models import Client, Prescription, Proposal
from clients.reads.decisions import decisions_of, lately_by_itself, waiting_of
from clients.reads.people import client_head
from clients.services import going_out, proposals
from clients.services.proposals import Change, Overtaken
from clients.views.common import back_to, own_client, undo_tag
from clients.views.desk import desk_beside
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.models import JournalEntry

A_PAGE = 25


@coach_required
@require_safe
def client_proposals(request: CoachRequest, public_id: str) -> HttpResponse:
    """All that waits for one client, session by session, and what lately went out by itself."""
    client = own_client(request, public_id)
    waiting = waiting_of(client)
    context = {
        **client_head(client, "client-proposals", request.user),
        "groups": proposals_page.by_session(waiting, sees_health=request.user.sees_health),
        **proposals_page.all_of(waiting),
        "always": proposals_page.all_held(waiting, sees_health=request.user.sees_health),
        "went_out": proposals_page.went_out(lately_by_itself(client)),
        "because_icon": drawn_icon("because", 13),
        "arrow_icon": drawn_icon("arrow", 14),
        "here": request.path,
    }
    return render(request, "clients/proposals/client.html", context)


@coach_required
@require_POST
def client_proposals_accept(request: CoachRequest, public_id: str) -> HttpResponse:
    """Accepts the proposals that were on the page (``seen``), those that answer pain left out, as one act."""
    client = own_client(request, public_id)
    try:
        count, entry = proposals.accept_seen(client, request.POST.getlist("seen"), request.user)
    except ValidationError as error:  # no ids at all
        raise Http404 from error
    if count:
        text = ngettext("Accepted %(n)d proposal, %(name)s.", "Accepted %(n)d proposals, %(name)s.", count)
        messages.success(request, text % {"n": count, "name": client.name}, extra_tags=undo_tag(entry))
    else:
        messages.error(request, _("Nothing that was on the page waits any more."))
    return redirect(back_to(request, reverse("client-proposals", args=[client.public_id])))


@coach_required
@require_safe
def client_decisions(request: CoachRequest, public_id: str) -> HttpResponse:
    """What was decided for one client, by whom and when, the newest first."""
    client = own_client(request, public_id)
    page = Paginator(decisions_of(client), A_PAGE).get_page(request.GET.get("page"))
    context = {
        **client_head(client, "client-proposals", request.user),
        "rows": [proposals_page.decision(row) for row in page],
        "page": page,
    }
    return render(request, "clients/proposals/decisions.html", context)


@coach_required
@require_POST
def client_going_out(request: CoachRequest, public_id: str) -> HttpResponse:
    """Switches on or off that plain changes of this client go out by themselves (``on``: 1 or 0)."""
    client = own_client(request, public_id)
    wanted = request.POST.get("on", "")
    if wanted not in ("0", "1"):
        raise Http404
    onward = back_to(request, reverse("client", args=[client.public_id]))
    try:
        entry = going_out.switch(client, request.user, on=wanted == "1")
    except going_out.NeverPlain as refused:
        why = proposal_words.why_not(
            [{"code": reason.code, "params": reason.params} for reason in refused.reasons],
            sees_health=request.user.sees_health,
        )
        messages.error(request, _("Nothing goes out by itself here. %(why)s") % {"why": " ".join(why)})
        return redirect(onward)
    text = (
        _("From now on plain changes of %(name)s go out by themselves.")
        if wanted == "1"
        else _("From now on every change of %(name)s waits for you.")
    )
    if entry is not None:
        messages.success(request, text % {"name": client.name}, extra_tags=undo_tag(entry))
    return redirect(onward)


@coach_required
@require_POST
def line_release(request: CoachRequest, public_id: str) -> HttpResponse:
    """Releases what the coach pinned on a line; what comes next is reckoned for it at once."""
    rows = Prescription.objects.filter(session__block__client__practice=request.user.practice, exercise__isnull=False)
    line = get_object_or_404(rows.select_related("session__block__client__practice", "exercise"), public_id=public_id)
    onward = back_to(request, reverse("session", args=[line.session.public_id]))
    try:
        entry = going_out.release(line, request.user)
    except going_out.TooLate:
        messages.error(request, _("%(session)s is over; what it asked for stays.") % {"session": line.session.name})
        return redirect(onward)
    waits = Proposal.objects.waiting().filter(session=line.session, slot_key=line.slot_key).exists()
    text = _("%(exercise)s is released. A proposal for it waits.") if waits else _("%(exercise)s is released.")
    messages.success(request, text % {"exercise": line.exercise}, extra_tags=undo_tag(entry))
    return redirect(onward)


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def proposal(request: CoachRequest, public_id: str) -> HttpResponse:
    """The page to change it on; ``do`` says accept, decline or edit."""
    rows = Proposal.objects.for_practice(request.user.practice)
    found = get_object_or_404(
        rows.select_related("client__practice", "client__coach", "client__place", "exercise", "session__block"),
        public_id=public_id,
    )
    if request.method != "POST":
        return _page(request, found, ChangeForm(proposal=found))
    do = request.POST.get("do", "")
    if do not in ("accept", "decline", "edit"):
        raise Http404
    change: Change | None = None
    if do == "edit":
        form = ChangeForm(request.POST, proposal=found)
        if not form.is_valid():
            return _page(request, found, form, status=422)
        change = form.change()
    try:
        decided = proposals.decline if do == "decline" else proposals.accept
        entry = decided(found, request.user, **({"change": change} if change is not None else {}))
    except Overtaken:
        return _overtaken(request, found)
    found.refresh_from_db()
    return _decided(request, found, entry)


def _decided(request: CoachRequest, found: Proposal, entry: JournalEntry | None) -> HttpResponse:
    state = Proposal.State
    words = {
        state.ACCEPTED: _("Accepted: %(exercise)s, %(ask)s."),
        state.EDITED: _("Changed: %(exercise)s, %(ask)s."),
        state.DECLINED: _("Declined: %(exercise)s stays at %(ask)s."),
    }[state(found.state)] % {"exercise": found.exercise.name, "ask": proposal_words.decided_words(found)}
    messages.success(request, f"{found.client.initials} · {words}", extra_tags=undo_tag(entry))
    if request.htmx:
        return _in_place(request, found, words)
    return redirect(back_to(request, reverse("desk")))


def _overtaken(request: CoachRequest, found: Proposal) -> HttpResponse:
    found.refresh_from_db()
    text = _("%(exercise)s was decided already, or newer logs have overtaken it.") % {"exercise": found.exercise.name}
    messages.error(request, text)
    if request.htmx:
        return _in_place(request, found, text)
    return redirect(back_to(request, reverse("desk")))


def _in_place(request: CoachRequest, found: Proposal, words: str) -> HttpResponse:
    """The row as it stands now, and beside it what the page said of all of them."""
    asked = urlsplit(request.POST.get("next", ""))
    context: dict[str, Any] = {"proposal": found, "words": words}
    if asked.path == reverse("desk"):
        context |= desk_beside(request.user, whole="one" not in parse_qs(asked.query))
    elif asked.path == reverse("client-proposals", args=[found.client.public_id]):
        context |= {**proposals_page.all_of(waiting_of(found.client)), "all_of": found.client}
    return render(request, "clients/desk/_decided.html", context)


def _page(request: CoachRequest, found: Proposal, form: ChangeForm, status: int = 200) -> HttpResponse:
    context = {
        **client_head(found.client, "client-proposals", request.user),
        "proposal": found,
        "flag_word": proposal_words.flag_word(found.kind),
        "what": proposal_words.what(found),
        "session_words": proposal_words.session_words(found),
        "change": proposal_words.figure(found),
        "reasons": proposal_words.reasons(found),
        "held": proposal_words.not_plain(found, sees_health=request.user.sees_health),
        "offers": proposal_words.offers(found),
        "form": form,
        "open": found.state == Proposal.State.WAITING,
        "released": None if found.state == Proposal.State.WAITING else _pinned_line(found),
        "next": request.POST.get("next") or request.GET.get("next") or "",
    }
    return render(request, "clients/desk/proposal.html", context, status=status)


def _pinned_line(found: Proposal) -> Prescription | None:
    """The line that the coach's own numbers hold, while it can still be released."""
    line = Prescription.objects.filter(session=found.session, slot_key=found.slot_key).first()
    if line is None or not going_out.may_release(line, found.session):
        return None
    return line


def going_out_of(client: Client, *, sees_health: bool) -> dict[str, Any]:
    """What the client's page says of plain changes: on or off, and why it can't be on. Three queries."""
    reasons = [{"code": reason.code, "params": reason.params} for reason in going_out.refusals(client)]
    return {"on": client.plain_goes_out, "refused": proposal_words.why_not(reasons, sees_health=sees_health)}


urlpatterns = [
    path("clients/<uuid:public_id>/proposals/", client_proposals, name="client-proposals"),
    path("clients/<uuid:public_id>/proposals/accept/", client_proposals_accept, name="client-proposals-accept"),
    path("clients/<uuid:public_id>/decisions/", client_decisions, name="client-decisions"),
    path("clients/<uuid:public_id>/going-out/", client_going_out, name="client-going-out"),
    path("lines/<uuid:public_id>/release/", line_release, name="line-release"),
    path("proposals/<uuid:public_id>/", proposal, name="proposal"),
]
