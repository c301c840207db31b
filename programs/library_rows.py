"""The rows of the library's table: each written once for what it says and kept."""

from collections.abc import Collection, Sequence
from datetime import datetime
from functools import lru_cache
from typing import NamedTuple
from uuid import UUID

from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from django.utils.translation import get_language

from programs import labels
from programs.engine import minutes
from programs.models import Exercise, ExerciseJoint, ExerciseRegion

SETS_TIMED = 3
SECONDS_A_MINUTE = 60
ROWS_KEPT = 4096
PARTS_OF_A_SET = {2: "½", 1: "¼"}


class Facts(NamedTuple):
    """What a row of the list says of an exercise, without its shares and joints."""

    pk: int
    public_id: UUID
    name: str
    hidden_at: datetime | None
    implement: str
    limbs: str
    rep_low: int
    rep_high: int
    rep_unit: str
    rest_s: int
    tempo: str


def rows_of(pks: Sequence[int], favourites: Collection[int]) -> list[SafeString]:
    """The rows of these exercises in this order: three queries however many."""
    facts = {row[0]: Facts._make(row) for row in Exercise.objects.filter(pk__in=pks).values_list(*Facts._fields)}
    shares: dict[int, list[tuple[int, str]]] = {}
    found = ExerciseRegion.objects.filter(exercise__in=pks).values_list("exercise_id", "quarters", "region")
    for pk, quarters, region in found:
        shares.setdefault(pk, []).append((quarters, region))
    joints: dict[int, list[tuple[str, int]]] = {}
    asked = ExerciseJoint.objects.filter(exercise__in=pks).values_list("exercise_id", "joint", "severity")
    for pk, joint, severity in asked:
        joints.setdefault(pk, []).append((joint, severity))
    language = get_language()
    return [
        _row(language, facts[pk], tuple(shares.get(pk, ())), tuple(joints.get(pk, ())), pk in favourites)
        for pk in pks
        if pk in facts
    ]


@lru_cache(maxsize=ROWS_KEPT)
def _row(
    language: str | None,
    facts: Facts,
    shares: tuple[tuple[int, str], ...],
    joints: tuple[tuple[str, int], ...],
    favourite: bool,
) -> SafeString:
    """One row, written once for what it says and the language that is spoken.

    ``shares`` are (quarters, region), the greatest first; ``joints`` are (joint, severity).
    """
    counts: dict[str, list[str]] = {}
    for quarters, region in shares:
        counts.setdefault(PARTS_OF_A_SET.get(quarters, ""), []).append(str(labels.REGIONS[region]))
    severities = dict(ExerciseJoint._meta.get_field("severity").flatchoices)
    context = {
        "exercise": facts,
        "implement": labels.STATIONS[facts.implement],
        # Not a comma between: some of the names have one.
        "counts": [(part, "\u00a0· ".join(names)) for part, names in counts.items()],
        "asks": [(labels.JOINT_TAGS[joint], severities[severity]) for joint, severity in joints],
        "minutes": minutes_of(facts),
        "favourite": favourite,
    }
    return render_to_string("programs/library/_row.html", context)


def minutes_of(facts: Facts | Exercise) -> int:
    """About how long three sets take, without warm-up."""
    timed = minutes.timed(
        SETS_TIMED,
        (facts.rep_low + facts.rep_high) / 2,
        facts.rest_s,
        tempo=facts.tempo if facts.rep_unit == "reps" else "",
        implement=facts.implement,
        unilateral=facts.limbs == "one",
        rep_unit=facts.rep_unit,
    )
    return max(1, round(minutes.block_seconds([timed]) / SECONDS_A_MINUTE))
