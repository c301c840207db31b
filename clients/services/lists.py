"""Weeks done by a list: what nobody needed of a week that is over lapses, without being held against anyone."""

from datetime import date

from clients.cycles import round_on
from clients.models import Block, Client, TrainingSession
from clients.reads.lists import goes_by_list, ranked_round

State = TrainingSession.State
LAPSED = "not needed"


def lapse(client: Client, block: Block, today: date) -> int:
    """Leaves out what lay beyond the minimum in the rounds that are over, and marks as missed what the minimum lacks.

    Nothing happens for clients with days, or whose minimum is not set. Returns how many sessions were settled.
    """
    if not goes_by_list(client) or client.week_minimum is None:
        return 0
    now = round_on(block.starts_on, block.weeks, today, block.cycle_days)
    over = block.sessions.filter(state=State.PLANNED, planned_on=None, logged_sets=None)
    if today <= block.last_day:
        over = over.filter(cycle__lt=now)
    settled = 0
    for cycle in sorted(set(over.values_list("cycle", flat=True))):
        week = ranked_round(client, block, cycle, today)
        if week is None:
            continue
        left = {row.pk for row in over.filter(cycle=cycle)}
        open_rows = [row for row in week.sessions if row.pk in left]
        missed, rest = open_rows[: week.ranked.to_go], open_rows[week.ranked.to_go :]
        TrainingSession.objects.filter(pk__in=[row.pk for row in missed]).update(state=State.MISSED)
        TrainingSession.objects.filter(pk__in=[row.pk for row in rest]).update(state=State.DROPPED, state_reason=LAPSED)
        settled += len(open_rows)
    return settled
