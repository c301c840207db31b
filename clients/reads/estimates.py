"""A maximum for an exercise without a history: from what was told at the start, or from a like exercise."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from clients.models import Client, RecentSet
from clients.reads.history import History
from clients.reads.library import exercise_term
from programs.alike import Traits, compared
from programs.engine import strength, terms
from programs.engine.progress import MappedEstimate, absence
from programs.engine.progress.history import best_estimate, read
from programs.engine.progress.steps import FIND_AGAIN_FROM_DAYS
from programs.engine.progress.terms import Lever
from programs.engine.vocabulary import SAME_ANYWHERE
from programs.models import Exercise

# How many implements the entered load stands for, where two hands hold one each.
HANDS = {("total", "per_hand"): 0.5, ("per_hand", "total"): 2.0}


@dataclass(frozen=True, slots=True)
class _Known:
    """A maximum of what is moved: how good a source it is (smaller is better), the day, and the exercise."""

    rank: tuple[int, int, int]
    e1rm: float
    source: Exercise


class Estimates:
    """Asked only for exercises that the client has never done; then four queries, once."""

    def __init__(self, client: Client, history_in: Callable[[str], History]) -> None:
        self.client = client
        self.history_in = history_in
        self._rows: dict[int, Exercise] | None = None
        self._recent: list[RecentSet] = []

    def of(
        self, exercise: Exercise, term: terms.Exercise, unit: str, on: date, *, fresh: bool
    ) -> MappedEstimate | None:
        """From the sets told at the start, else from the like exercise that is nearest.

        ``fresh``: the exercise was begun anew, so that what was told of it before says nothing. Like is: the same
        pattern, a whole region in common, counted alike, and no machine, whose figures hold there alone.
        """
        if term.implement not in SAME_ANYWHERE or term.rep_unit != "reps":
            return None
        found = [] if fresh else self._told(exercise, term, unit, on)
        found = found or self._like(exercise, term, unit, on)
        if not found:
            return None
        best = min(found, key=lambda one: (one.rank, one.source.name, one.source.pk))
        return MappedEstimate(best.e1rm, best.source.name, best.source.implement != exercise.implement)

    def _told(self, exercise: Exercise, term: terms.Exercise, unit: str, on: date) -> list[_Known]:
        self._load(unit)
        found = []
        weight = self.history_in(unit).bodyweight
        for row in self._recent:
            if row.exercise_id != exercise.pk or row.load is None or row.rir is None or row.done_on > on:
                continue
            load = row.load.in_unit(unit)
            moved = (
                None if load is None else strength.system_load(load, term.load_entry, weight, term.bodyweight_fraction)
            )
            maximum = None if moved is None or moved <= 0 else strength.e1rm(moved, row.reps, float(row.rir))
            found += self._faded(maximum, row.done_on, on, exercise, 0)
        return found

    def _like(self, exercise: Exercise, term: terms.Exercise, unit: str, on: date) -> list[_Known]:
        self._load(unit)
        history = self.history_in(unit)
        mine = traits(exercise, term)
        found = []
        for pk, row in (self._rows or {}).items():
            other = exercise_term(row)
            factor = mapped(other, term)
            if pk == exercise.pk or factor is None or other.pattern != term.pattern:
                continue
            theirs = traits(row, other)
            if not mine.regions & theirs.regions:
                continue
            lever = Lever(other.load_entry, history.bodyweight, other.bodyweight_fraction)
            past = [one for one in history.by_exercise.get(pk, ()) if not one.one_day]
            sessions = [one for one in read(past, on, self.client.ratings_count, lever) if not one.deload]
            maximum = best_estimate(sessions, lever, 1.0)
            if maximum is None:
                continue
            found += self._faded(maximum * factor, sessions[-1].day, on, row, 1 + compared(mine, theirs).distance)
        return found

    def _faded(self, maximum: float | None, day: date, on: date, source: Exercise, rank: int) -> list[_Known]:
        """What is left of it after so long; nothing after too long."""
        days = max(0, (on - day).days)
        if maximum is None or days >= FIND_AGAIN_FROM_DAYS:
            return []
        left = maximum * absence(days, self.client.age_on(on)).load
        return [_Known((rank, -day.toordinal(), -round(left * 1000)), left, source)]

    def _load(self, unit: str) -> None:
        if self._rows is not None:
            return
        rows = Exercise.objects.for_practice(self.client.practice).with_facts()
        rows = rows.filter(pk__in=list(self.history_in(unit).by_exercise))
        self._rows = {row.pk: row for row in rows.order_by("pk")}
        self._recent = list(self.client.recent_sets.all())


def mapped(source: terms.Exercise, target: terms.Exercise) -> float | None:
    """What of the source's maximum is one of the target's kind; None where they count unlike things."""
    if source.implement not in SAME_ANYWHERE or source.rep_unit != "reps" or source.limbs != target.limbs:
        return None
    bodies = [one.load_entry in ("added", "assisted") and one.bodyweight_fraction > 0 for one in (source, target)]
    if all(bodies):
        return 1.0 if source.bodyweight_fraction == target.bodyweight_fraction else None
    if any(bodies):
        return None
    if source.load_entry == target.load_entry and source.load_entry in ("total", "per_hand"):
        return 1.0
    return HANDS.get((source.load_entry, target.load_entry))


def traits(row: Exercise, term: terms.Exercise) -> Traits:
    return Traits(
        pk=row.pk,
        name=row.name,
        pattern=term.pattern,
        regions=frozenset(term.primary_regions()),
        implement=term.implement,
        angle=term.angle,
        grip=term.grip,
        limbs=term.limbs,
        skill=term.skill,
        joints=frozenset((stress.joint, stress.severity) for stress in term.joints),
        counts=term.rep_unit,
    )
