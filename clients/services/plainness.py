"""What is plain: a proposal that may be accepted along with others, unseen; and for all others, why not.

A reason against is a code with parameters, kept with the proposal as ``new["not_plain"]``; none means plain.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from clients.models import Client, LoggedSet, PainReport, Prescription, Proposal, TrainingSession
from clients.reads.health import Standing
from clients.reads.history import History
from programs.engine.progress import NextStep
from programs.engine.terms import Because

OLDER_FROM = 65
NEWCOMER_DAYS = 28  # a client's first four weeks: nothing is plain yet

Key = tuple[int, str]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a session that comes, and what is proposed for it."""

    session: TrainingSession
    line: Prescription
    step: NextStep

    @property
    def key(self) -> Key:
        return self.session.pk, self.line.slot_key


def against(
    client: Client, standing: Standing, history: History, on: date, lines: Sequence[Line]
) -> dict[Key, tuple[Because, ...]]:
    """Why each line's proposal is not plain, by session and slot; nothing for those that are."""
    always = _of_client(client, standing, history, on)
    return {line.key: (*always, *_of_step(line)) for line in lines}


def keep(proposal: Proposal, not_plain: list[dict[str, Any]]) -> None:
    """Writes what stands against a proposal whose numbers are as they were, if that has changed."""
    if proposal.plain == (not not_plain) and proposal.new.get("not_plain", []) == not_plain:
        return
    proposal.plain = not not_plain
    proposal.new = {**proposal.new, "not_plain": not_plain}
    proposal.save(update_fields=["plain", "new"])


def _of_client(client: Client, standing: Standing, history: History, on: date) -> tuple[Because, ...]:
    """What keeps everything of this client for the coach's own eye."""
    found: list[Because] = []
    if client.pain_reports.filter(state=PainReport.State.OPEN).exists():
        found.append(Because("plain.pain"))
    if LoggedSet.objects.for_client(client).filter(state=LoggedSet.State.ASKED).exists():
        found.append(Because("plain.doubtful"))
    age = client.age_on(on)
    if age is not None and age < 18:
        found.append(Because("plain.minor"))
    if age is not None and age >= OLDER_FROM:
        found.append(Because("plain.older", {"years": OLDER_FROM}))
    if standing.effort.share_of_max is not None or not standing.effort.progression:
        found.append(Because("plain.health"))
    days = [exposures[0].day for exposures in history.by_exercise.values() if exposures]
    if not days or (on - min(days)).days < NEWCOMER_DAYS:
        found.append(Because("plain.newcomer", {"weeks": NEWCOMER_DAYS // 7}))
    return tuple(found)


def _of_step(line: Line) -> tuple[Because, ...]:
    return () if line.step.plain else (Because("plain.choice"),)
