"""First loads of a whole week: everything they stand on gathered once, then asked line by line."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from clients.models import Client, Place, RecentSet
from clients.reads.health import Standing, standing_of
from clients.reads.history import History, history_of
from clients.reads.loads import FirstLoad, first_load
from clients.reads.racks import PlaceLoads
from programs.engine import terms
from programs.engine.compose import reps_for
from programs.engine.compose.request import Slot

FIRST_SESSION_RIR = 3.0  # a client's first session stays this far from failure (coaching practice)


@dataclass(frozen=True, slots=True)
class Starting:
    """What a client's first loads at a place stand on."""

    client: Client
    on: date
    standing: Standing
    loads: PlaceLoads
    history: History
    recent: dict[int, list[RecentSet]]
    ids: Mapping[str, int]

    @classmethod
    def gather(cls, client: Client, place: Place, on: date, ids: Mapping[str, int]) -> "Starting":
        """A fixed number of queries however many exercises: health, place, history, recent sets.

        ``ids`` are the exercises' rows by key.
        """
        recent: dict[int, list[RecentSet]] = {}
        for row in client.recent_sets.all():
            recent.setdefault(row.exercise_id, []).append(row)
        standing, history = standing_of(client, on), history_of(client, place.unit)
        return cls(client, on, standing, PlaceLoads(place, client, None), history, recent, ids)

    @property
    def new_client(self) -> bool:
        """Nothing logged yet: the first session is a careful one."""
        return not self.history.by_exercise

    def rir(self, slot: Slot, *, first_ever: bool = False) -> float:
        """The slot's reps in reserve, not below the client's own floor."""
        least = FIRST_SESSION_RIR if first_ever else 0.0
        return max(float(slot.rir or 0), self.standing.effort.rir, least)

    def load(self, term: terms.Exercise, slot: Slot, occurrence: int, rir: float) -> FirstLoad:
        """The load for the middle of the slot's range, in the unit of ``loads.for_exercise(term).rack``."""
        pk = self.ids[term.key]
        low, high = reps_for(slot, occurrence, term)
        return first_load(
            term,
            self.loads.for_exercise(term).rack,
            reps=math.ceil((low + high) / 2) if term.rep_unit == "reps" else None,
            rir=rir,
            recent=self.recent.get(pk, []),
            exposures=self.history.by_exercise.get(pk, ()),
            bodyweight=self.history.bodyweight,
            on=self.on,
            age=self.client.age_on(self.on),
            effort=self.standing.effort,
        )
