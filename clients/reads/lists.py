"""The week of a client whose days nobody knows ahead: its sessions ranked, and what is still needed of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from clients.cycles import round_on
from clients.models import Block, Client, TrainingSession
from clients.reads.library import exercise_term
from programs.engine.compose.mix import kind_of
from programs.engine.dose import Work, target_range, weekly
from programs.engine.unknown_days import Content, WeekList, week_list
from programs.engine.vocabulary import AUDITED_GROUPS

State = TrainingSession.State


@dataclass(frozen=True, slots=True)
class ListedWeek:
    """``sessions`` stand in the order to do them, those trained first. ``enough``: the client's own minimum is set."""

    block: Block
    cycle: int
    sessions: Sequence[TrainingSession]
    ranked: WeekList
    enough: bool

    @property
    def next(self) -> TrainingSession | None:
        return self.sessions[self.ranked.done] if self.ranked.next is not None else None

    @property
    def extra(self) -> Sequence[TrainingSession]:
        """What is on the list beyond the minimum and not yet trained."""
        return self.sessions[max(self.ranked.done, self.ranked.minimum) :]


def goes_by_list(client: Client) -> bool:
    return client.order_mode == Client.OrderMode.LIST


def listed_week(client: Client, today: date, block: Block | None = None) -> ListedWeek | None:
    """The present week's list; None for clients with days, without a block, or before and after it.

    ``block`` is the running one where it is known already. Five queries at most.
    """
    if not goes_by_list(client):
        return None
    block = block or client.blocks.active().first()
    if block is None or not block.starts_on <= today <= block.last_day:
        return None
    return ranked_round(client, block, round_on(block.starts_on, block.weeks, today, block.cycle_days), today)


def ranked_round(client: Client, block: Block, cycle: int, today: date) -> ListedWeek | None:
    """One round of the block as a list; None where all that is to come of it has dates."""
    rows = list(
        block.sessions.filter(cycle=cycle)
        .exclude(state__in=(State.DROPPED, State.HELD))
        .prefetch_related(
            "prescriptions__exercise__regions", "prescriptions__exercise__joints", "prescriptions__target_sets"
        )
        .order_by("position")
    )
    ahead = [row for row in rows if row.state == State.PLANNED]
    if not rows or (ahead and all(row.planned_on is not None for row in ahead)):
        return None
    trained = sorted((row for row in rows if row.state == State.TRAINED), key=lambda row: (row.trained_on, row.pk))
    priorities = {row.group: row.priority for row in client.priorities.all()}
    least = {}
    for group in AUDITED_GROUPS:
        applies = target_range(group, client.experience, priorities.get(group, "usual"), client.age_on(today))
        if applies is not None:
            least[group] = applies.floor
    ranked = week_list(
        [_content(row) for row in rows],
        client.week_minimum or len(rows),
        least,
        done=[str(row.pk) for row in trained],
    )
    by_key = {str(row.pk): row for row in rows}
    return ListedWeek(block, cycle, [by_key[key] for key in ranked.order], ranked, client.week_minimum is not None)


def _content(session: TrainingSession) -> Content:
    work: list[Work] = []
    kinds = set()
    for line in session.prescriptions.all():
        if line.exercise is None:
            continue
        term = exercise_term(line.exercise)
        sets = sum(target.kind != "warm_up" for target in line.target_sets.all())
        work.append(Work(term.regions, sets, session.pk))
        kinds.add(kind_of(term))
    counted = {group: dose.counted for group, dose in weekly(work).items()}
    return Content(str(session.pk), counted, frozenset(kind for kind in kinds if kind))
