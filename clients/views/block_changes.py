"""What is left of a block on other days, and part of it done otherwise: shown first, then done as shown."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods

from clients.board.words import counted_words, rises_words
from clients.clock import today_for
from clients.forms.block_changes import OtherDaysForm, PartForm
from clients.models import Client
from clients.reads.blocks import day_words
from clients.reads.part_of_block import Asked, Change, plan
from clients.reads.people import client_head
from clients.services import blocks, other_days, part_of_block
from clients.views.common import own_client
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.toasts import undoable
from programs import labels
from programs.engine.other_days import GroupShift
from programs.reasons import sentence_of
from programs.reasons.words import number

NOT_LAID = {
    "none_left": gettext_lazy("No running block has sessions left from that day on."),
    "no_dates": gettext_lazy("These sessions are a list for the week, without dates: there are no days to change."),
    "too_few": gettext_lazy("On so few days a round of these sessions would take more than a fortnight."),
}
UUID = re.compile(r"^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$")
VERDICTS = {"under": gettext_lazy("below"), "over": gettext_lazy("above")}


@dataclass(frozen=True, slots=True)
class DoseCell:
    """A group's sets for seven days, the most of them in one session, and what is wrong with either."""

    head: str
    week: str
    largest: str
    verdict: str
    crammed: bool


@dataclass(frozen=True, slots=True)
class DoseRow:
    name: str
    target: str
    cells: Sequence[DoseCell]


@dataclass(frozen=True, slots=True)
class ChangeWords:
    session: str
    slot: str
    before: str
    after: str
    sets: int
    sessions: str
    why: str


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def client_other_days(request: CoachRequest, public_id: str) -> HttpResponse:
    """Other days from a date on: both ways with the dose before and after, then the one that the coach takes."""
    client = own_client(request, public_id)
    today = today_for(client)
    asked = request.POST or request.GET
    bound = "since" in asked or "days" in asked
    initial = {"since": today, "days": client.days}
    form = OtherDaysForm(asked if bound else None, client=client, today=today, initial=initial)
    found = None
    if bound and form.is_valid():
        data = form.cleaned_data
        try:
            if request.method == "POST":
                return _take_days(request, client, data)
            found = other_days.offers(client, data["since"], data["days"], data["outline"])
        except other_days.NotLaid as refused:
            form.add_error("since" if refused.code == "none_left" else "days", str(NOT_LAID[refused.code]))
        except other_days.Otherwise:
            messages.error(request, _("Something changed in between. This is what would be done now."))
            return redirect(_again(request))
        except blocks.TooSteep as steep:
            words = _("Not built: too much more at once for %(rises)s. Open it on the board, or take fewer sets.")
            messages.error(request, words % {"rises": rises_words(steep.rises)})
            return redirect(_again(request))
    context = {
        **client_head(client, "client-block", request.user),
        "form": form,
        "found": found,
        "templates": other_days.templates_for(client, found.block, len(found.days))
        if found and found.in_turn.stretched
        else [],
        "heads": _heads(found) if found else [],
        "dose": _both(found) if found else [],
        "round_days": number(round(found.in_turn.round_days, 1)) if found else "",
        "days": ", ".join(str(day_word) for day_word in _day_names(form, found)) if found else "",
    }
    status = 422 if form.errors else 200
    return render(request, "clients/blocks/other_days.html", context, status=status)


def _take_days(request: CoachRequest, client: Client, data: dict[str, Any]) -> HttpResponse:
    since, days = data["since"], data["days"]
    way, onward = request.POST.get("way", ""), reverse("client-block", args=[client.public_id])
    if way == "turn":
        end = other_days.offers(client, since, days).in_turn.end_after
        if request.POST.get("end") != end.isoformat():
            raise other_days.Otherwise
        entry = other_days.go_on(client, request.user, since, days, end)
        said = _("From %(since)s on the sessions go on in turn; the last one is on %(end)s.")
        undoable(request, said % {"since": day_words(since), "end": day_words(end)}, entry, onward=onward)
        return redirect(onward)
    digest, outline = request.POST.get("digest", ""), data["outline"]
    if outline is None or way not in ("anew", "board"):
        raise other_days.Otherwise
    if way == "board":
        draft, entry = other_days.draft_anew(client, request.user, since, days, outline, digest)
        undoable(request, _("A draft from %(name)s is open.") % {"name": outline.name}, entry, onward=onward)
        return redirect("draft", draft.public_id)
    block, entry = other_days.build_anew(client, request.user, since, days, outline, digest)
    said = _("Block %(number)d begins on %(since)s.") % {"number": block.number, "since": day_words(since)}
    undoable(request, said, entry, onward=onward)
    return redirect(onward)


def _day_names(form: OtherDaysForm, found: other_days.Offers) -> list[Any]:
    names = dict(form.fields["days"].choices)  # type: ignore[attr-defined]
    return [names[day] for day in found.days]


def _heads(found: other_days.Offers) -> list[str]:
    turn = _("In turn") if found.in_turn.stretched else _("Then")
    return [_("Now"), turn, *([_("Built anew")] if found.anew else [])]


def _both(found: other_days.Offers) -> list[DoseRow]:
    ways = [found.in_turn.shifts, *([found.anew.shifts] if found.anew else [])]
    return [dose_row(side_by_side, _heads(found)) for side_by_side in zip(*ways, strict=True)]


def dose_row(side_by_side: Sequence[GroupShift], heads: Sequence[str]) -> DoseRow:
    """``side_by_side`` is one group after each way; what it has now is the same in all."""
    first = side_by_side[0]
    before = DoseCell(
        heads[0],
        counted_words(first.week_before),
        counted_words(first.largest_before),
        "",
        first.largest_before > first.most,
    )
    after = [
        DoseCell(
            head,
            counted_words(one.week_after),
            counted_words(one.largest_after),
            str(VERDICTS.get(one.verdict, "")),
            one.crammed,
        )
        for one, head in zip(side_by_side, heads[1:], strict=True)
    ]
    return DoseRow(_group(first), _target(first), [before, *after])


def _group(one: GroupShift) -> str:
    return str(labels.GROUPS[one.group])


def _target(one: GroupShift) -> str:
    if one.low is None or one.high is None:
        return "–"
    return _("%(low)s to %(high)s") % {"low": number(one.low), "high": number(one.high)}


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def client_part(request: CoachRequest, public_id: str) -> HttpResponse:
    """Part of the block at another place or sparing a joint: what gives way, then exactly that.

    What is asked is posted, since what hurts has no place in an address. ``?report=`` fills in what a report of pain
    is about, for coaches who may read it.
    """
    client = own_client(request, public_id)
    today = today_for(client)
    data = request.POST if request.method == "POST" else None
    form = PartForm(data, client=client, today=today, initial={"since": today, **_hurting(request, client)})
    part = None
    if form.is_valid():
        wanted = Asked(**form.cleaned_data)
        if request.POST.get("go") == "change":
            try:
                return _change_part(request, client, wanted)
            except part_of_block.Otherwise:
                messages.error(request, _("Something changed in between. This is what would be done now."))
        part = plan(client, wanted)
        if part is None:
            form.add_error("since", _("No session of the running block lies in that time."))
    context = {
        **client_head(client, "client-block", request.user),
        "form": form,
        "part": part,
        "changes": [_words(change) for change in part.changes] if part else [],
        "heads": [_("Now"), _("Then")],
        "dose": [dose_row([one], [_("Now"), _("Then")]) for one in part.shifts] if part else [],
        "empty": sum(change.after is None for change in part.changes) if part else 0,
    }
    status = 422 if form.errors else 200
    return render(request, "clients/blocks/part.html", context, status=status)


def _hurting(request: CoachRequest, client: Client) -> dict[str, Any]:
    """Joints and side of the report that the page was opened from."""
    asked = request.GET.get("report", "")
    if not request.user.sees_health or not UUID.match(asked):
        return {}
    report = client.pain_reports.filter(public_id=asked).first()
    return {"joints": report.affected.get("joints", []), "side": report.side} if report is not None else {}


def _change_part(request: CoachRequest, client: Client, wanted: Asked) -> HttpResponse:
    onward = reverse("client-block", args=[client.public_id])
    entry = part_of_block.change_part(client, request.user, wanted, request.POST.get("digest", ""))
    if entry is None:
        messages.info(request, _("Nothing had to change."))
        return redirect(onward)
    count = int(entry.params.get("count", 0))
    said = ngettext("%(n)d session changed.", "%(n)d sessions changed.", count) % {"n": count}
    undoable(request, said if count else _("Noted; no session had to change."), entry, onward=onward)
    return redirect(onward)


def _words(change: Change) -> ChangeWords:
    names = {change.before.key: change.before.name}
    counted = ngettext("in %(n)d session", "in %(n)d sessions", change.sessions) % {"n": change.sessions}
    if change.sessions == 1:
        counted = ""
    return ChangeWords(
        session=change.session,
        slot=change.slot,
        before=change.before.name,
        after=change.after.name if change.after is not None else "",
        sets=change.sets,
        sessions=counted,
        why=" ".join(sentence_of(reason, names) for reason in change.reasons),
    )


def _again(request: HttpRequest) -> str:
    """The same page asked anew, without what only the act needs."""
    asked = request.POST.copy()
    for name in ("csrfmiddlewaretoken", "way", "end", "digest"):
        asked.pop(name, None)
    return f"{request.path}?{asked.urlencode()}"


urlpatterns = [
    path("clients/<uuid:public_id>/block/days/", client_other_days, name="client-other-days"),
    path("clients/<uuid:public_id>/block/part/", client_part, name="client-part"),
]
