"""What is asked about sets that are written already: steps towards the work that were logged as work."""

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Any

from clients.models import Client, LoggedSet
from clients.receiving.checks import WORK_FROM
from programs.models import Exercise
from programs.units import Load


def ask(logged: LoggedSet, doubt: dict[str, Any]) -> None:
    """Adds a question to a set, once; until it is answered the set does not count."""
    if any(known["code"] == doubt["code"] for known in logged.doubts):
        return
    logged.doubts = [*logged.doubts, doubt]
    logged.state = LoggedSet.State.ASKED
    logged.save(update_fields=["doubts", "state"])


def ask_about_ramp(logged: LoggedSet, sheet_line: dict[str, Any]) -> None:
    """Sets that look like warm-ups for a heavier one of their line are asked about; once answered, they are them.

    The answer holds only where the heavier one has come: a day on which all is light is no day of warm-ups.
    """
    if logged.kind != "work" or logged.load_grams is None or logged.exercise.load_entry == "assisted":
        return
    others = LoggedSet.objects.for_client(logged.client).filter(
        session=logged.session, line=logged.line, exercise=logged.exercise_id, kind="work"
    )
    rows = list(others.exclude(pk=logged.pk).exclude(state=LoggedSet.State.TAKEN_BACK))
    steps = steps_towards(logged, [row for row in rows if row.state == LoggedSet.State.COUNTS], sheet_line)
    asked = asked_before_work([logged, *rows])
    if not steps and not asked:
        return
    if not known_warm_up(logged.client, logged.exercise):
        for step in steps:
            ask(step, ramp_doubt(step))
        return
    for step in {row.pk: row for row in (*steps, *asked)}.values():
        step.kind = "warm_up"
        step.doubts = [doubt for doubt in step.doubts if not _offers_warm_up(doubt)]
        step.state = LoggedSet.State.ASKED if step.doubts else LoggedSet.State.COUNTS
        step.save(update_fields=["kind", "doubts", "state"])


def asked_before_work(rows: Sequence[LoggedSet]) -> list[LoggedSet]:
    """Sets of a line that are asked about as being too light, and stand before the heaviest one that counts."""
    weighed = [row for row in rows if _weighed(row)]
    work = [row for row in weighed if row.state == LoggedSet.State.COUNTS]
    if not work:
        return []
    top = max(work, key=_grams)
    return [
        row
        for row in weighed
        if row.state == LoggedSet.State.ASKED
        and all(_offers_warm_up(doubt) for doubt in row.doubts)
        and (row.number or 0) < (top.number or 0)
        and _grams(row) < WORK_FROM * _grams(top)
    ]


def steps_towards(logged: LoggedSet, others: Sequence[LoggedSet], sheet_line: dict[str, Any]) -> list[LoggedSet]:
    """Sets of a line that look like steps towards its work, now that ``logged`` has come: lighter than asked, rising
    from set to set, and clearly below the heaviest, whichever of them arrives last.

    ``others`` are the line's other sets that count as work. Waves and back-off sets are as light as asked, and stay.
    """
    rows = sorted((row for row in (*others, logged) if _weighed(row)), key=lambda row: row.number or 0)
    if logged not in rows or len(rows) < 2:
        return []
    top = max(rows, key=_grams)  # of several as heavy the first
    below = [row for row in rows if (row.number or 0) < (top.number or 0)]
    rising = all(_grams(one) < _grams(next_one) for one, next_one in pairwise(below))
    steps = [row for row in below if _grams(row) < WORK_FROM * _grams(top) and _lighter_than_asked(row, sheet_line)]
    if not rising or steps != below:
        return []
    # Asked about when the work is reached, or when a step comes late; never twice.
    return steps if top is logged else [row for row in steps if row is logged]


def ramp_doubt(step: LoggedSet) -> dict[str, Any]:
    return {"code": "step_to_work", "params": {"load": float(step.load_value or 0), "offer_kind": "warm_up"}}


def _offers_warm_up(doubt: dict[str, Any]) -> bool:
    return doubt["params"].get("offer_kind") == "warm_up"


def _weighed(row: LoggedSet) -> bool:
    return row.load_grams is not None and row.load_grams > 0 and row.number is not None


def _grams(row: LoggedSet) -> int:
    return row.load_grams or 0


def _lighter_than_asked(row: LoggedSet, sheet_line: dict[str, Any]) -> bool:
    asked = next((target["load"] for target in sheet_line["sets"] if target.get("number") == row.number), None)
    if asked is None:
        return False
    wanted = Load(Decimal(str(asked["value"])), asked["unit"]).grams
    return wanted is not None and _grams(row) < WORK_FROM * wanted


def known_warm_up(client: Client, exercise: Exercise) -> bool:
    """Whether it was answered before that light sets of this exercise led up to the work. One query."""
    answered = LoggedSet.objects.for_client(client).filter(exercise=exercise, kind="warm_up")
    return answered.filter(revisions__replaced_by__isnull=False, revisions__values__kind="work").exists()
