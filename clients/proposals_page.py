"""A client's page of proposals, and that of decisions, worked out before their templates."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from clients import proposal_words
from clients.acts import act_words
from clients.desk_rows import Row, proposal_row
from clients.models import Proposal
from clients.services.plainness import touches_pain
from coachdesk.practice.models import JournalEntry

ALIKE = 2  # from so many on what they have in common is said once


@dataclass(frozen=True, slots=True)
class SessionGroup:
    """What waits for one session."""

    title: str
    url: str
    rows: list[Row]


@dataclass(frozen=True, slots=True)
class Decision:
    """One decision: about what, from which figures to which, how, by whom and when."""

    exercise: str
    url: str
    session: str
    old: str
    new: str
    how: str
    flag: str
    by: str
    at: datetime | None
    why: str


def all_held(waiting: Sequence[Proposal], *, sees_health: bool = True) -> list[str]:
    """What keeps every one of them for the coach's own eye, in words: said once above them."""
    if len(waiting) < ALIKE:
        return []
    first, *others = [proposal_words.not_plain(row, sees_health=sees_health) for row in waiting]
    return [words for words in first if all(words in other for other in others)]


def by_session(waiting: Sequence[Proposal], *, sees_health: bool = True) -> list[SessionGroup]:
    """In the order of the proposals, which is that of the sessions; each with what holds it besides all the others."""
    groups: dict[int, SessionGroup] = {}
    always = all_held(waiting, sees_health=sees_health)
    for row in waiting:
        group = groups.get(row.session_id)
        if group is None:
            url = reverse("session", args=[row.session.public_id])
            group = groups[row.session_id] = SessionGroup(proposal_words.session_words(row), url, [])
        own = [words for words in proposal_words.not_plain(row, sees_health=sees_health) if words not in always]
        group.rows.append(proposal_row(row, whole=True, held=own))
    return list(groups.values())


def all_of(waiting: Sequence[Proposal]) -> dict[str, Any]:
    """What one act would accept of those on the page, and how many answer pain and stay."""
    seen = [row for row in waiting if not touches_pain(row)]
    return {"seen": [str(row.public_id) for row in seen], "stays": len(waiting) - len(seen)}


def decision(proposal: Proposal) -> Decision:
    state = Proposal.State
    how, flag = {
        state.ACCEPTED: (_("accepted"), "done"),
        state.EDITED: (_("changed by hand"), "proposal"),
        state.DECLINED: (_("declined"), "flat"),
    }[state(proposal.state)]
    return Decision(
        exercise=proposal.exercise.name,
        url=reverse("proposal", args=[proposal.public_id]),
        session=proposal_words.session_words(proposal),
        old=proposal_words.whole_words(proposal.old, proposal) if proposal.old.get("sets") else "",
        new=proposal_words.decided_words(proposal),
        how=_("went out by itself") if proposal.by_itself else how,
        flag=flag,
        by=_by(proposal),
        at=proposal.decided_at,
        why=proposal_words.because(proposal),
    )


def _by(proposal: Proposal) -> str:
    if proposal.by_itself:
        return _("the program")
    return proposal.decided_by.name if proposal.decided_by is not None else _("a coach who is gone")


def went_out(entries: Iterable[JournalEntry]) -> list[dict[str, Any]]:
    """What went out by itself, each with its undo."""
    return [
        {"words": act_words(entry, {}), "at": entry.at, "url": reverse("undo", args=[entry.public_id])}
        for entry in entries
    ]
