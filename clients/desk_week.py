"""The Desk's view of the week: sheets that are not out, and who trains today."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from clients.desk_rows import Act, Row, drawn_icon, some, tallied
from clients.reads.desk import Desk
from clients.reads.desk_people import Near, Person
from clients.sheets import wording
from coachdesk.practice.models import Coach


def sheets_row(desk: Desk, people: Iterable[Person]) -> Row | None:
    """Sheets of the week ahead that are not out: who waits, and what keeps them."""
    waiting = [person for person in people if person.unsent]
    if not waiting:
        return None
    unsent = sum(len(person.unsent) for person in waiting)
    held = [person for person in waiting if not person.standing.cleared]
    undecided = [person for person in waiting if person not in held and _undecided(person, person.unsent)]
    ready = sum(
        len([near for near in person.unsent if not _undecided(person, [near])])
        for person in waiting
        if person not in held
    )
    reasons = []
    if undecided:
        reasons.append(_("proposals to decide first: %s") % some([person.client.initials for person in undecided]))
    if held:
        reasons.append(_("not cleared: %s") % some([person.client.initials for person in held]))
    sent, due = desk.turn.sent
    send = Act(ngettext("Send %d", "Send %d", ready) % ready, reverse("send-sheets"), "ready", post=True, look="first")
    return Row(
        "waiting",
        _("not sent"),
        ngettext("%d sheet", "%d sheets", unsent) % unsent,
        "",
        _("of the week ahead"),
        some([person.client.initials for person in waiting]),
        "; ".join(reasons) or _("everything that they need is decided"),
        figure=tallied(sent, due, _("%(done)d of %(total)d sent")),
        acts=(send,) if ready else (),
    )


def back_row(desk: Desk) -> Row | None:
    """Who is paused and should be back by now: one row, whoever they are."""
    if not desk.due_back:
        return None
    only = desk.due_back[0] if len(desk.due_back) == 1 else None
    acts: tuple[Act, ...] = (Act(_("Open the list"), f"{reverse('clients')}?status=paused", look="first"),)
    if only is not None:
        back, on = (reverse(name, args=[only.public_id]) for name in ("client-return", "client-wait"))
        acts = (Act(_("Take back"), back, look="first"), Act(_("Another day"), on))
    named = [
        _("%(name)s on %(day)s") % {"name": client.initials, "day": wording.day(client.paused_until, "j M")}
        for client in desk.due_back
    ]
    return Row(
        "absence",
        _("paused"),
        only.initials if only is not None else ngettext("%d client", "%d clients", len(named)) % len(named),
        reverse("client", args=[only.public_id]) if only is not None else "",
        "",
        _("Meant to be back: %s.") % some(named),
        _("Nothing starts by itself."),
        acts=acts,
    )


def _undecided(person: Person, sessions: Sequence[Near]) -> bool:
    """Whether a proposal waits that one of these sheets needs."""
    waiting = {proposal.session_id for proposal in person.proposals}
    return any(near.pk in waiting for near in sessions)


def room_rows(desk: Desk, coach: Coach) -> list[dict[str, Any]]:
    rows = []
    for person, near, more in desk.room:
        hurt = coach.sees_health and any(report.felt_on == person.today for report in person.pains)
        if hurt:
            state = ("pain", _("pain reported"))
        elif near.state == "trained":
            state = ("done", ngettext("%d set", "%d sets", more.sets) % more.sets)
        elif near.sent:
            state = ("waiting", _("sheet is out"))
        else:
            state = ("absence", _("no sheet"))
        rows.append(
            {
                "at": more.start,
                "who": person.client.initials,
                "url": reverse("session-log", args=[more.public_id]),
                "name": near.name,
                "icon": drawn_icon(state[0], 16),
                "state": state,
            }
        )
    return rows
