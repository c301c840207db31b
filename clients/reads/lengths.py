"""How long sessions take as their lines stand, whoever changed them last."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from clients.models import Prescription, TargetSet, TrainingSession
from clients.reads.block_work import NOT_WORK
from clients.reads.course import whole_minutes
from programs.engine import minutes, terms

_EXERCISE = ("role", "implement", "load_entry", "limbs", "rep_unit", "rep_low", "rep_high", "rest_s", "tempo")
_TARGET = ("kind", "reps_low", "reps_high", "seconds", "metres", "rest_s", "tempo")


# What takes the same time is reckoned once: by an exercise's facts and its target sets.
Known = dict[tuple[tuple[Any, ...], ...], minutes.Timed | None]


class Standing(NamedTuple):
    """One line of a session as it stands: what of it takes time, as plain values, with its sets in order."""

    slot: str
    exercise: int
    facts: tuple[Any, ...]
    superset: str
    targets: tuple[tuple[Any, ...], ...]

    @property
    def work(self) -> int:
        """Its working sets."""
        return sum(target[0] not in NOT_WORK for target in self.targets)


@dataclass(frozen=True, slots=True)
class StandingLines:
    """Lines by session in their order, and the minutes of free lines."""

    lines: Mapping[int, Sequence[Standing]]
    free: Mapping[int, int]


def length_of(session: TrainingSession) -> int | None:
    """Whole minutes of a session that comes with its lines; no query. What it was assigned with where it has none."""
    lines = []
    free = 0
    for row in session.prescriptions.all():
        if row.exercise is None:
            free += row.minutes
            continue
        targets = tuple(tuple(getattr(one, name) for name in _TARGET) for one in row.target_sets.all())
        facts = tuple(getattr(row.exercise, name) for name in _EXERCISE)
        lines.append(Standing(row.slot_key, row.exercise.pk, facts, row.superset, targets))
    return _whole(lines, free, {}) or session.minutes


def standing_lines(sessions: Iterable[TrainingSession]) -> StandingLines:
    """What many sessions ask for: two queries, however many they are."""
    keys = [session.pk for session in sessions]
    targets: dict[int, list[tuple[Any, ...]]] = defaultdict(list)
    rows = TargetSet.objects.filter(prescription__session__in=keys).order_by("prescription", "number")
    for row in rows.values_list("prescription", *_TARGET):
        targets[row[0]].append(row[1:])
    lines: dict[int, list[Standing]] = defaultdict(list)
    free: dict[int, int] = defaultdict(int)
    prescribed = Prescription.objects.filter(session__in=keys).order_by("session", "position")
    columns = ("pk", "session", "slot_key", "superset", "minutes", "exercise")
    for row in prescribed.values_list(*columns, *(f"exercise__{name}" for name in _EXERCISE)):
        pk, session, slot, superset, extra, exercise = row[: len(columns)]
        if exercise is None:
            free[session] += extra
        else:
            lines[session].append(Standing(slot, exercise, row[len(columns) :], superset, tuple(targets[pk])))
    return StandingLines(lines, free)


def lengths_of(sessions: Collection[TrainingSession], standing: StandingLines | None = None) -> dict[int, int | None]:
    """The same as ``length_of`` for many, by key: two queries, or none with ``standing``.

    Weeks of a block ask for much the same: what takes the same time is reckoned once.
    """
    standing = standing or standing_lines(sessions)
    known: Known = {}
    return {
        session.pk: _whole(standing.lines.get(session.pk, ()), standing.free.get(session.pk, 0), known)
        or session.minutes
        for session in sessions
    }


def _whole(lines: Sequence[Standing], free: int, known: Known) -> int | None:
    if not any(line.targets for line in lines):
        return None
    timed = [(line.superset, _timed(line, known)) for line in lines]
    return whole_minutes(minutes.lines_seconds(timed, extra_s=60.0 * free) / 60)


def _timed(line: Standing, known: Known) -> minutes.Timed | None:
    key = (line.facts, line.targets)
    if key not in known:
        exercise = terms.Exercise(
            key="", name="", pattern="", regions=(), **dict(zip(_EXERCISE, line.facts, strict=True))
        )
        targets = tuple(terms.TargetSet(**dict(zip(_TARGET, target, strict=True))) for target in line.targets)
        known[key] = minutes.prescribed(minutes.Prescribed(exercise, targets))
    return known[key]
