"""How long sessions take as their lines stand, whoever changed them last."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from clients.models import Prescription, TargetSet, TrainingSession
from clients.reads.course import whole_minutes
from programs.engine import minutes, terms
from programs.models import Exercise

_EXERCISE = ("role", "implement", "load_entry", "limbs", "rep_unit", "rep_low", "rep_high", "rest_s", "tempo")
_TARGET = ("kind", "reps_low", "reps_high", "seconds", "metres", "rest_s", "tempo")


def length_of(session: TrainingSession) -> int | None:
    """Whole minutes of a session that comes with its lines; no query. What it was assigned with where it has none."""
    rows = []
    free = 0
    for line in session.prescriptions.all():
        if line.exercise is None:
            free += line.minutes
            continue
        targets = tuple(_target({name: getattr(row, name) for name in _TARGET}) for row in line.target_sets.all())
        rows.append(minutes.Prescribed(_timed_facts(_facts(line.exercise)), targets, line.superset))
    return _whole(rows, free) or session.minutes


def lengths_of(sessions: Iterable[TrainingSession]) -> dict[int, int | None]:
    """The same for many, by key: two queries, however many they are. Sessions that ask for the same are timed once."""
    found = {session.pk: session.minutes for session in sessions}
    lines = (
        Prescription.objects.filter(session__in=found)
        .order_by("session", "position")
        .values("pk", "session", "superset", "minutes", "exercise", *(f"exercise__{name}" for name in _EXERCISE))
    )
    targets: dict[int, list[terms.TargetSet]] = defaultdict(list)
    rows = TargetSet.objects.filter(prescription__session__in=found).order_by("prescription", "number")
    known: dict[tuple[Any, ...], terms.TargetSet] = {}
    for line_key, *values in rows.values_list("prescription", *_TARGET):
        asked_for = tuple(values)
        if asked_for not in known:
            known[asked_for] = _target(dict(zip(_TARGET, values, strict=True)))
        targets[line_key].append(known[asked_for])
    by_session: dict[int, list[minutes.Prescribed]] = defaultdict(list)
    free: dict[int, int] = defaultdict(int)
    exercises: dict[int, terms.Exercise] = {}
    for line in lines:
        if line["exercise"] is None:
            free[line["session"]] += line["minutes"]
            continue
        if line["exercise"] not in exercises:
            exercises[line["exercise"]] = _timed_facts({name: line[f"exercise__{name}"] for name in _EXERCISE})
        exercise = exercises[line["exercise"]]
        by_session[line["session"]].append(minutes.Prescribed(exercise, tuple(targets[line["pk"]]), line["superset"]))
    timed: dict[tuple[object, ...], int | None] = {}
    for key, assigned in found.items():
        lines_here = by_session[key]
        asked = (free[key], *((id(one.exercise), *map(id, one.targets), one.superset) for one in lines_here))
        if asked not in timed:
            timed[asked] = _whole(lines_here, free[key])
        found[key] = timed[asked] or assigned
    return found


def _whole(lines: Sequence[minutes.Prescribed], free: int) -> int | None:
    if not any(line.targets for line in lines):
        return None
    return whole_minutes(minutes.prescribed_seconds(lines, extra_s=60.0 * free) / 60)


def _facts(exercise: Exercise) -> dict[str, Any]:
    return {name: getattr(exercise, name) for name in _EXERCISE}


def _timed_facts(facts: dict[str, Any]) -> terms.Exercise:
    """An exercise as far as time is concerned."""
    return terms.Exercise(key="", name="", pattern="", regions=(), **facts)


def _target(values: dict[str, Any]) -> terms.TargetSet:
    return terms.TargetSet(**values)
