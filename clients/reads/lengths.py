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
    """The same for many, by key: two queries, however many they are."""
    found = {session.pk: session.minutes for session in sessions}
    lines = (
        Prescription.objects.filter(session__in=found)
        .order_by("session", "position")
        .values("pk", "session", "superset", "minutes", "exercise", *(f"exercise__{name}" for name in _EXERCISE))
    )
    targets: dict[int, list[terms.TargetSet]] = defaultdict(list)
    rows = TargetSet.objects.filter(prescription__session__in=found).order_by("prescription", "number")
    for row in rows.values("prescription", *_TARGET):
        targets[row.pop("prescription")].append(_target(row))
    by_session: dict[int, list[minutes.Prescribed]] = defaultdict(list)
    free: dict[int, int] = defaultdict(int)
    for line in lines:
        if line["exercise"] is None:
            free[line["session"]] += line["minutes"]
            continue
        facts = _timed_facts({name: line[f"exercise__{name}"] for name in _EXERCISE})
        by_session[line["session"]].append(minutes.Prescribed(facts, tuple(targets[line["pk"]]), line["superset"]))
    return {key: _whole(by_session[key], free[key]) or assigned for key, assigned in found.items()}


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
