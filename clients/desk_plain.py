"""The Desk's plain proposals: all of them in one row, whose they are, and who is left out and why."""

import json
from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from clients import proposal_words
from clients.desk_rows import Act, Row, some
from clients.reads.desk import Desk
from clients.reads.desk_people import Person
from coachdesk.practice.models import Coach


@dataclass(frozen=True, slots=True)
class Someone:
    """A client in the list of who is accepted along with others: how many of theirs, or why none."""

    key: str
    name: str
    url: str
    count: int
    why: str = ""


def plain_ones(desk: Desk) -> list[Someone]:
    """Whose plain proposals the one button takes."""
    return [
        Someone(str(person.client.public_id), person.client.initials, _decide_url(person), count)
        for person in desk.people.values()
        if (count := sum(row.plain for row in person.proposals))
    ]


def left_out(desk: Desk, coach: Coach) -> list[Someone]:
    """Whose proposals wait for the coach's own eye, how many, and why."""
    found = []
    for person in desk.people.values():
        held = [
            reason for text in dict.fromkeys(row.not_plain for row in person.proposals) for reason in json.loads(text)
        ]
        count = sum(not row.plain for row in person.proposals)
        if count:
            why = proposal_words.why_not(held, sees_health=coach.sees_health)
            found.append(
                Someone(str(person.client.public_id), person.client.initials, _decide_url(person), count, " ".join(why))
            )
    return found


def _decide_url(person: Person) -> str:
    return reverse("client-proposals", args=[person.client.public_id])


def plain_row(desk: Desk, *, shown: bool) -> Row:
    """All plain proposals in one row, said with names and numbers."""
    whose = plain_ones(desk)
    who = ngettext("%d client", "%d clients", len(whose)) % len(whose)
    listed = [f"{one.name} {one.count}" if one.count > 1 else one.name for one in whose]
    return Row(
        "proposal",
        _("plain × %d") % desk.plain_count,
        who,
        "",
        "",
        some(listed),
        _("one step, more reps or the same again; nothing missed, nothing reported"),
        acts=(Act(_("Fold up") if shown else _("Look through"), reverse("desk") + ("" if shown else "?plain=1")),),
        chosen=True,
    )
