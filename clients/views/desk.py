"""The Desk: what needs a decision today, most pressing first, and the week's turn beside it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_POST, require_safe

from clients.acts import HEALTH_ACTS, act_words
from clients.desk_plain import left_out, plain_ones, plain_row
from clients.desk_rows import (
    Row,
    doubt_row,
    drawn_icon,
    more_row,
    no_block_row,
    proposal_row,
    row_of,
)
from clients.desk_week import back_row, room_rows, sheets_row
from clients.models import Client, LoggedSet, Proposal, SessionNote, TrainingSession
from clients.reads.desk import Desk, desk_of, shown_doubts, shown_proposals
from clients.reads.desk_people import Person
from clients.services import logs, proposals, sheets
from clients.views.common import back_to, own_client, undo_tag
from coachdesk.practice import journal
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.models import Coach
from programs.engine.attention import GROUP_OF_KIND, GROUPS, Matter

ROWS_SHOWN = 12  # of one group, unless all are asked for
A_CLIENT = 3  # proposals of one client before the rest folds up
GROUP_WORDS = {
    "pain": (gettext_lazy("Pain first"), gettext_lazy("what loads the place is held back until you answer")),
    "decide": (gettext_lazy("Decide"), ""),
    "read": (gettext_lazy("Read what came back"), ""),
    "waiting": (gettext_lazy("Missing, waiting, ending"), ""),
}


@coach_required
@require_safe
def desk(request: CoachRequest) -> HttpResponse:
    """The first page."""
    return render(request, "clients/desk/desk.html", desk_context(request))


def desk_context(request: CoachRequest) -> dict[str, Any]:
    found = desk_of(request.user)
    one = _one_of(request, found)
    show_plain = "plain" in request.GET
    return {
        "desk": found,
        "title": date_format(timezone.localdate(), "l j F"),
        **_state(found),
        "groups": _groups(found, request.user, one=one, show_plain=show_plain, everything="all" in request.GET),
        "one": one,
        "room": room_rows(found, request.user),
        "turn": _turn(found),
        **_plain(found, request.user, one=one is not None),
        "in_order": found.in_order[:18],
        "more_in_order": max(0, len(found.in_order) - 18),
        "acts": _acts(found, request.user),
        "demo_offered": not found.any_client,
        "because_icon": drawn_icon("because", 13),
        "arrow_icon": drawn_icon("arrow", 14),
        "here": request.get_full_path(),
    }


def desk_beside(coach: Coach, *, whole: bool) -> dict[str, Any]:
    """What an answer in place brings along with its row: the sentence of state and, on the whole desk, the button."""
    found = desk_of(coach)
    return {**_state(found), "desk_state": True, "desk_accept": whole}


def _plain(found: Desk, coach: Coach, *, one: bool) -> dict[str, Any]:
    """Whose plain proposals the one button takes, and who is left out and why."""
    if one or not found.plain_count:
        return {"plain_ones": [], "left_out": []}
    return {"plain_ones": plain_ones(found), "left_out": left_out(found, coach)}


def _state(found: Desk) -> dict[str, Any]:
    """One sentence of state, and how many plain proposals the one button takes."""
    decisions = found.proposal_count
    others = [matter for matter in found.matters if matter.kind not in ("proposal", "sheet_not_sent")]
    concerned = {matter.client for matter in others} | {key for key, person in found.people.items() if person.proposals}
    count = decisions + len(others)
    if not count:
        state = _("Nothing needs a decision today.")
    else:
        things = ngettext("%d decision", "%d decisions", count) % count
        who = ngettext("%d client", "%d clients", len(concerned)) % len(concerned)
        state = _("%(things)s for %(who)s, most pressing first. Nothing below has happened yet.") % {
            "things": things,
            "who": who,
        }
    return {"state": state, "plain_count": found.plain_count}


def _one_of(request: CoachRequest, found: Desk) -> dict[str, Any] | None:
    """One client at a time: who is shown, and how to go on. None for the whole desk."""
    asked = request.GET.get("one", "")
    if not asked.isdecimal():
        return None
    order = list(dict.fromkeys(matter.client for matter in found.matters))
    if not order:
        return None
    at = min(max(int(asked), 1), len(order))
    return {
        "key": order[at - 1],
        "name": found.people[order[at - 1]].client.name,
        "at": at,
        "of": len(order),
        "before": at - 1,
        "after": at + 1 if at < len(order) else 0,
    }


def _groups(
    found: Desk, coach: Coach, *, one: dict[str, Any] | None, show_plain: bool, everything: bool
) -> list[dict[str, Any]]:
    """The groups that have rows, each with its head. What is not shown is not worked out."""
    entries: dict[str, list[_Entry]] = {group: [] for group in GROUPS}
    order = list(dict.fromkeys(matter.client for matter in found.matters))
    for matter in found.matters:
        if one is None or matter.client == one["key"]:
            person = found.people[matter.client]
            url = f"?one={order.index(matter.client) + 1}"
            whole = one is not None or everything
            entries[GROUP_OF_KIND[matter.kind]] += _entries(matter, person, show_plain or whole, whole, url)
    if one is None:
        if found.plain_count:
            entries["decide"].append(_Entry(made=plain_row(found, shown=show_plain)))
        waiting = sheets_row(found, found.people.values())
        if waiting is not None:
            entries["waiting"].insert(0, _Entry(made=waiting))
        entries["waiting"] += [
            _Entry(made=no_block_row(person))
            for person in found.people.values()
            if person.block is None and not person.next_ready
        ]
        if (due_back := back_row(found)) is not None:
            entries["waiting"].append(_Entry(made=due_back))
    # Pain is never folded away.
    unfolded = {group for group in entries if everything or group == "pain"}
    shown = {group: rows if group in unfolded else _cut(rows) for group, rows in entries.items()}
    proposed = shown_proposals(entry.proposal for entry in shown["decide"] if entry.proposal)
    asked = shown_doubts([entry.doubt for entry in shown["read"] if entry.doubt])
    groups = []
    for group in GROUPS:
        if not shown[group]:
            continue
        head, note = GROUP_WORDS[group]
        rows = [_row(entry, coach, proposed, asked) for entry in shown[group]]
        groups.append(
            {
                "code": group,
                "head": head,
                "note": note or _note(group, found, one),
                "rows": [row for row in rows if row is not None],
                "more": len(entries[group]) - len(shown[group]),
            }
        )
    return groups


@dataclass(frozen=True, slots=True)
class _Entry:
    """What a row will be made of, so that only rows that are shown are made."""

    matter: Matter | None = None
    person: Person | None = None
    proposal: int = 0
    doubt: int = 0
    made: Row | None = None


def _entries(matter: Matter, person: Person, show_plain: bool, whole: bool, url: str) -> list[_Entry]:
    if matter.kind == "sheet_not_sent":
        return []  # all of them are one row
    if matter.kind == "doubt":
        return [_Entry(matter, person, doubt=row.pk) for row in person.asked]
    if matter.kind != "proposal":
        return [_Entry(matter, person)]
    wanted = [row for row in person.proposals if show_plain or not row.plain]
    few = wanted if whole or len(wanted) <= A_CLIENT + 1 else wanted[:A_CLIENT]
    entries = [_Entry(matter, person, proposal=row.pk) for row in few]
    if len(few) < len(wanted):
        entries.append(_Entry(made=more_row(len(wanted) - len(few), person, url)))
    return entries


def _row(entry: _Entry, coach: Coach, proposed: Mapping[int, Proposal], asked: Mapping[int, LoggedSet]) -> Row | None:
    if entry.made is not None or entry.matter is None or entry.person is None:
        return entry.made
    # Decided or settled in the moment between the two queries: nothing to show any more.
    if entry.proposal:
        return proposal_row(proposed[entry.proposal], entry.person) if entry.proposal in proposed else None
    if entry.doubt:
        return doubt_row(asked[entry.doubt], entry.person) if entry.doubt in asked else None
    return row_of(entry.matter, entry.person, coach)


def _cut(entries: Sequence[_Entry]) -> list[_Entry]:
    """The most pressing ones; the row that stands for all plain proposals always stays."""
    kept = list(entries[:ROWS_SHOWN])
    return kept + [entry for entry in entries[ROWS_SHOWN:] if entry.made is not None and entry.made.chosen]


def _note(group: str, found: Desk, one: dict[str, Any] | None) -> str:
    if one is not None:
        return ""
    if group == "decide":
        people = [person for person in found.people.values() if person.proposals]
        count = found.proposal_count
        if not count:
            return ""
        return _("%(proposals)s for %(clients)s") % {
            "proposals": ngettext("%d proposal", "%d proposals", count) % count,
            "clients": ngettext("%d client", "%d clients", len(people)) % len(people),
        }
    if group == "read":
        read, came = found.turn.read
        return _("%(read)d of %(came)d logs of the last seven days read without help") % {"read": read, "came": came}
    return ""


def _turn(found: Desk) -> list[dict[str, Any]]:
    rows = (
        (_("Logs read"), found.turn.read),
        (_("Decided"), found.turn.decided),
        (_("Sheets out"), found.turn.sent),
    )
    return [{"label": label, "done": done, "total": total} for label, (done, total) in rows if total]


def _acts(found: Desk, coach: Coach) -> list[dict[str, Any]]:
    names = {f"client:{person.client.public_id}": person.client.initials for person in found.people.values()}
    acts = []
    for entry in found.acts:
        if entry.act in HEALTH_ACTS and not coach.sees_health:
            continue
        words = act_words(entry, names)
        if words is not None:
            acts.append({"words": words, "at": entry.at, "url": reverse("undo", args=[entry.public_id])})
    return acts


@coach_required
@require_POST
def accept_plain(request: CoachRequest) -> HttpResponse:
    """Accepts all plain proposals of the practice that still wait, as one act.

    With ``client``, once or more often, only theirs; ``chosen`` says that none of these is nobody.
    """
    rows = Proposal.objects.for_practice(request.user.practice).waiting().filter(plain=True)
    if "client" in request.POST or "chosen" in request.POST:
        rows = rows.filter(client__in=_chosen(request))
    count, entry = proposals.accept_plain(rows, request.user)
    if count:
        text = ngettext("Accepted %d plain proposal.", "Accepted %d plain proposals.", count) % count
        messages.success(request, text, extra_tags=undo_tag(entry))
    else:
        messages.error(request, _("No plain proposal waits any more."))
    return redirect(back_to(request, reverse("desk")))


def _chosen(request: CoachRequest) -> QuerySet[Client]:
    """The practice's clients that the form names; 404 for what is no id."""
    try:
        keys = [UUID(key) for key in request.POST.getlist("client")]
    except ValueError as error:
        raise Http404 from error
    return Client.objects.for_practice(request.user.practice).filter(public_id__in=keys)


@coach_required
@require_POST
def send_sheets(request: CoachRequest) -> HttpResponse:
    """Hands out the sheets of the week ahead, whoever's are ready."""
    found = desk_of(request.user)
    keys = [near.pk for person in found.people.values() for near in person.unsent]
    return sent(request, TrainingSession.objects.filter(pk__in=keys), reverse("desk"))


@coach_required
@require_POST
def client_send(request: CoachRequest, public_id: str) -> HttpResponse:
    """The same for one client: the next week's sheets."""
    client = own_client(request, public_id)
    keys = [near.pk for near in week_ahead(request.user, client.pk)]
    return sent(request, TrainingSession.objects.filter(pk__in=keys), reverse("client-logs", args=[client.public_id]))


def week_ahead(coach: Coach, client_id: int) -> list[Any]:
    """Sessions of one client that a sheet is due for."""
    found = desk_of(coach)
    return [near for person in found.people.values() if person.client.pk == client_id for near in person.unsent]


def sent(request: CoachRequest, sessions: Any, fallback: str) -> HttpResponse:
    """Issues what is ready and says what is not, and why."""
    result = sheets.issue_ready(request.user.practice, sessions, request.user)
    if result.fresh:
        text = ngettext("Sent %d sheet.", "Sent %d sheets.", result.fresh) % result.fresh
        messages.success(request, text, extra_tags=undo_tag(result.entry))
    for client in result.not_cleared:
        messages.error(request, _("%(name)s is not cleared: no sheet went out.") % {"name": client.name})
    by_session: dict[int, list[Any]] = {}
    for line in result.not_ready:
        by_session.setdefault(line.session_id, []).append(line)
    for lines in list(by_session.values())[:3]:
        session = lines[0].session
        words = {
            "name": session.block.client.name,
            "session": session.name,
            "lines": ", ".join(str(line.exercise) for line in lines[:4]),
        }
        messages.error(request, _("%(name)s, %(session)s waits: decide %(lines)s first.") % words)
    if not result.fresh and not result.not_cleared and not result.not_ready:
        messages.success(request, _("Every sheet of the week ahead is out already."))
    return redirect(back_to(request, fallback))


@coach_required
@require_POST
def client_overdue(request: CoachRequest, public_id: str) -> HttpResponse:
    """Marks all sessions that are over and have no log: missed, or left out on purpose."""
    client = own_client(request, public_id)
    state = request.POST.get("state", "")
    if state not in (TrainingSession.State.MISSED, TrainingSession.State.DROPPED):
        raise Http404
    found = next((one for one in desk_of(request.user).people.values() if one.client.pk == client.pk), None)
    keys = [near.pk for near in found.overdue] if found is not None else []
    count, entry = logs.set_states(client, keys, state, request.user)
    missed = state == TrainingSession.State.MISSED
    words = (
        ngettext("%(n)d session missed, %(name)s.", "%(n)d sessions missed, %(name)s.", count)
        if missed
        else ngettext("%(n)d session left out, %(name)s.", "%(n)d sessions left out, %(name)s.", count)
    )
    messages.success(request, words % {"n": count, "name": client.name}, extra_tags=undo_tag(entry))
    return redirect(back_to(request, reverse("desk")))


@coach_required
@require_POST
def note_seen(request: CoachRequest, public_id: str) -> HttpResponse:
    """A note with words that had to be seen has been seen."""
    notes = SessionNote.objects.filter(session__block__client__practice=request.user.practice)
    note = get_object_or_404(notes.select_related("session__block__client"), public_id=public_id)
    client = note.session.block.client
    about = f"client:{client.public_id}"
    with journal.act(request.user.practice, request.user, "note.seen", about=about) as entry:
        entry.change(note)
        note.flags = [{**flag, "seen": True} for flag in note.flags]
        note.save(update_fields=["flags"])
    messages.success(request, _("Marked as seen, %s.") % client.name, extra_tags=undo_tag(entry.entry))
    return redirect(back_to(request, reverse("desk")))


urlpatterns = [
    path("", desk, name="desk"),
    path("desk/accept-plain/", accept_plain, name="accept-plain"),
    path("desk/send/", send_sheets, name="send-sheets"),
    path("clients/<uuid:public_id>/send/", client_send, name="client-send"),
    path("clients/<uuid:public_id>/overdue/", client_overdue, name="client-overdue"),
    path("notes/<uuid:public_id>/seen/", note_seen, name="note-seen"),
]
