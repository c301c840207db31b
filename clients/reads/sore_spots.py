"""What pain reports hold back, and the load from before them that is to be come back to."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from clients.models import Client, PainReport
from clients.receiving.pain import is_held
from programs.engine import terms

ACTION_ORDER = ("go_on", "return", "freeze", "stop")
REGAINED_WITHIN = timedelta(weeks=8)  # coaching practice: after that what is lifted now is the new measure
ONE_SPELL = timedelta(weeks=4)  # reports no further apart are of one and the same
WHOLE = 0.5  # share from which a region counts as loaded


@dataclass(frozen=True, slots=True)
class Spot:
    """One report as far as it holds something back: the day, the action, and what it bears on."""

    day: date
    action: str
    is_open: bool
    affected: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class SoreSpots:
    """The client's reports that held something back, oldest first."""

    spots: tuple[Spot, ...]

    @classmethod
    def of(cls, client: Client, on: date) -> "SoreSpots":
        """Open reports, and those of the last weeks that were answered. One query."""
        rows = client.pain_reports.exclude(action="go_on").order_by("felt_on", "pk")
        since = on - REGAINED_WITHIN - ONE_SPELL
        return cls(
            tuple(
                Spot(row.felt_on, row.action, row.state == PainReport.State.OPEN, row.affected)
                for row in rows
                if row.state == PainReport.State.OPEN or row.felt_on >= since
            )
        )

    def bears_on(self, exercise: terms.Exercise, past: Sequence[terms.Exposure], on: date) -> tuple[str, float | None]:
        """The strictest action in force on what the exercise loads, and the load worked with before the pain."""
        facts = {
            "pattern": exercise.pattern,
            "joints": [stress.joint for stress in exercise.joints],
            "regions": [share.region for share in exercise.regions if share.share >= WHOLE],
        }
        mine = [one for one in self.spots if is_held(facts, [{"action": one.action, **one.affected}])]
        action = max((one.action for one in mine if one.is_open), key=ACTION_ORDER.index, default="go_on")
        if not mine or (action == "go_on" and mine[-1].day < on - REGAINED_WITHIN):
            return action, None
        began = mine[-1].day
        for one in reversed(mine):
            if began - one.day > ONE_SPELL:
                break
            began = one.day
        return action, _worked_with(past, began)


def _worked_with(past: Sequence[terms.Exposure], began: date) -> float | None:
    """What most work sets of the last usual session before that day were done with."""
    usual = [one for one in past if one.day < began and not one.deload and not one.one_day]
    for exposure in sorted(usual, key=lambda one: (one.day, repr(one)), reverse=True):
        loads = [done.load for done in exposure.done if done.kind == "work" and done.load is not None]
        if loads:
            return max(sorted(set(loads)), key=loads.count)
    return None
