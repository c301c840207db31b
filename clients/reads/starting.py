"""First loads of a whole week: everything they stand on gathered once, then asked line by line."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from clients.models import Client, Place, RecentSet, Station
from clients.reads.health import Standing, standing_of
from clients.reads.history import History, history_of
from clients.reads.loads import FirstLoad, first_load
from clients.reads.racks import PlaceLoads
from programs.engine import terms
from programs.engine.compose import reps_for
from programs.engine.compose.request import Slot
from programs.engine.vocabulary import SAME_ANYWHERE
from programs.units import GRAMS_PER_UNIT

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
    _histories: dict[str, History] = field(default_factory=dict)  # by other units that racks are marked in

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
        offered = self.loads.for_exercise(term)
        history = self._history_in(offered.rack.unit)
        return first_load(
            term,
            offered.rack,
            reps=math.ceil((low + high) / 2) if term.rep_unit == "reps" else None,
            rir=rir,
            recent=self.recent.get(pk, []),
            exposures=self._past(history, pk, term, offered.station),
            bodyweight=history.bodyweight,
            on=self.on,
            age=self.client.age_on(self.on),
            effort=self.standing.effort,
        )

    def _history_in(self, unit: str) -> History:
        """In the unit of a rack; one that has no weight is reckoned with in the unit of the place."""
        if unit == self.loads.place.unit or unit not in GRAMS_PER_UNIT:
            return self.history
        if unit not in self._histories:
            self._histories[unit] = history_of(self.client, unit)
        return self._histories[unit]

    def _past(
        self, history: History, pk: int, term: terms.Exercise, station: Station | None
    ) -> tuple[terms.Exposure, ...]:
        """The exercise's past as far as it says anything here: of a machine, what was done on this one."""
        if term.implement in SAME_ANYWHERE:
            return history.by_exercise.get(pk, ())
        here = str(self.loads.place.pk)
        rows = history.of(pk, here, None if station is None else station.pk)
        return tuple(one for one in rows if one.place in (here, ""))
