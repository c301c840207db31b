"""Fills a practice's library and templates from the seed files, again and again without harm.

Seeding touches only what no coach has edited, never removes anything, and reports what it changed.
"""

import hashlib
import json
import tomllib
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from django.db import transaction

from coachdesk.practice.models import Coach, Practice
from programs.engine.calendar import WEEK_DAYS, even_offsets
from programs.merged import standing
from programs.models import (
    Exercise,
    ExerciseJoint,
    ExerciseRegion,
    ExerciseText,
    Outline,
    OutlineDay,
    OutlineLine,
    OutlineSlot,
    SlotCandidate,
)

SEED_DIR = Path(__file__).resolve().parent / "seed"
QUARTERS = 4
FACTS = (
    "name",
    "aliases",
    "pattern",
    "angle",
    "grip",
    "limbs",
    "role",
    "skill",
    "implement",
    "needs_all",
    "needs_one",
    "load_entry",
    "rep_unit",
    "bodyweight_fraction",
    "rep_low",
    "rep_high",
    "rest_s",
    "tempo",
    "figure",
)
ALSO = ("load_step",)  # facts that the seed files name with their unit
OUTLINE_WORDS = ("name", "summary", "serves")
WORDS = ("set_up", "execution", "faults", "cautions", "reason", "evidence", "range_note", "regression", "progression")


@dataclass
class Report:
    """What seeding did: keys of entries made, changed, and left alone because a coach had edited them."""

    made: list[str] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)
    kept: list[str] = field(default_factory=list)
    unchanged: int = 0

    def __str__(self) -> str:
        return f"{len(self.made)} made, {len(self.changed)} changed, {self.unchanged} as they were"


@cache
def exercise_entries() -> dict[str, dict[str, Any]]:
    """All seed exercises by key. Raises ValueError when a key stands twice."""
    entries: dict[str, dict[str, Any]] = {}
    for path in sorted((SEED_DIR / "exercises").glob("*.toml")):
        for entry in tomllib.loads(path.read_text())["exercise"]:
            if entry["key"] in entries:
                raise ValueError(f"{entry['key']} stands twice in the seed files")
            entries[entry["key"]] = entry
    return entries


@cache
def outline_entries() -> dict[str, dict[str, Any]]:
    return {
        entry["key"]: entry
        for entry in (tomllib.loads(path.read_text()) for path in sorted((SEED_DIR / "outlines").glob("*.toml")))
    }


def version_of(entry: dict[str, Any]) -> int:
    """A number that changes with the entry's content and fits a positive integer column."""
    digest = hashlib.sha256(json.dumps(entry, sort_keys=True, default=str).encode()).digest()
    return int.from_bytes(digest[:4], "big") >> 1


def fill_new_practice(owner: Coach, with_demo: bool) -> None:
    """A new practice starts with the library and the templates."""
    seed_practice(owner.practice)


@transaction.atomic
def seed_practice(practice: Practice) -> Report:
    """Seeds the library, then the templates that choose from it."""
    report = Report()
    _seed_exercises(practice, report)
    _seed_outlines(practice, report)
    return report


def _seed_exercises(practice: Practice, report: Report) -> None:
    present = {row.seed_key: row for row in Exercise.objects.for_practice(practice).exclude(seed_key="")}
    names = _Names(practice)
    fresh: list[tuple[Exercise, dict[str, Any]]] = []
    for key, entry in exercise_entries().items():
        version = version_of(entry)
        row = present.get(key)
        if row is None:
            row = Exercise(practice=practice, seed_key=key)
            row.seed({**_facts(entry), "name": names.take(entry["name"])}, version)
            fresh.append((row, entry))
            report.made.append(key)
        elif row.seed_version == version:
            report.unchanged += 1
        else:
            _update_exercise(row, entry, version, names, report)
    Exercise.objects.bulk_create(row for row, _entry in fresh)
    _write_details(fresh)


def _facts(entry: dict[str, Any]) -> dict[str, Any]:
    return {name: entry[name] for name in FACTS} | {"load_step": entry["load_step_kg"]}


def _write_details(rows: list[tuple[Exercise, dict[str, Any]]]) -> None:
    ExerciseRegion.objects.bulk_create(
        ExerciseRegion(
            exercise=row,
            region=region,
            quarters=round(share * QUARTERS),
            stretched=region in entry.get("stretched", []),
        )
        for row, entry in rows
        for region, share in entry["regions"].items()
    )
    ExerciseJoint.objects.bulk_create(
        ExerciseJoint(exercise=row, joint=joint, severity=severity)
        for row, entry in rows
        for joint, severity in entry.get("joints", {}).items()
    )
    ExerciseText.objects.bulk_create(
        ExerciseText(exercise=row, language=language, **{name: text[name] for name in WORDS if name in text})
        for row, entry in rows
        for language, text in entry.get("text", {}).items()
    )


class _Names:
    """The names of a practice's exercises, each given once: where a coach has an exercise of the same name, theirs
    keeps it and ours says what it is."""

    def __init__(self, practice: Practice) -> None:
        self._taken = set(Exercise.objects.for_practice(practice).values_list("name", flat=True))

    def take(self, wanted: str, instead_of: str = "") -> str:
        self._taken.discard(instead_of)
        name, number = wanted, 1
        while name in self._taken:
            name = f"{wanted} (seeded)" if number == 1 else f"{wanted} (seeded {number})"
            number += 1
        self._taken.add(name)
        return name


def _update_exercise(row: Exercise, entry: dict[str, Any], version: int, names: _Names, report: Report) -> None:
    facts = _facts(entry)
    if "name" not in row.edited_fields:
        facts["name"] = names.take(entry["name"], instead_of=row.name)
    changed = row.seed(facts, version)
    row.save(update_fields=changed)
    touched = set(changed) - {"seed_version"}
    for name, related in (("regions", row.regions), ("joints", row.joints), ("texts", row.texts)):
        if name in row.edited_fields:
            report.kept.append(f"{row.seed_key}.{name}")
            continue
        related.all().delete()
        touched.add(name)
    details = {
        "regions": entry["regions"] if "regions" in touched else {},
        "stretched": entry.get("stretched", []),
        "joints": entry.get("joints", {}) if "joints" in touched else {},
        "text": entry.get("text", {}) if "texts" in touched else {},
    }
    _write_details([(row, details)])
    report.kept.extend(f"{row.seed_key}.{name}" for name in row.edited_fields if name in FACTS + ALSO)
    report.changed.append(row.seed_key)


def _seed_outlines(practice: Practice, report: Report) -> None:
    seeded = Exercise.objects.for_practice(practice).exclude(seed_key="").select_related("merged_into")
    exercises = {row.seed_key: standing(row) for row in seeded}
    newest: dict[str, Outline] = {}
    for row in Outline.objects.for_practice(practice).exclude(seed_key="").order_by("version"):
        newest[row.seed_key] = row
    for key, entry in outline_entries().items():
        version = version_of(entry)
        known = newest.get(key)
        if known is None:
            _write_outline(practice, entry, version, 1, exercises)
            report.made.append(key)
        elif known.seed_version == version:
            report.unchanged += 1
        elif set(known.edited_fields) - set(OUTLINE_WORDS):
            report.kept.append(key)
        else:
            # Blocks keep the version they came from: a changed seed becomes a new version beside it. A coach's own
            # words for the template go with it.
            newer = _write_outline(practice, entry, version, known.version + 1, exercises)
            if known.edited_fields or known.archived_at:
                for name in known.edited_fields:
                    setattr(newer, name, getattr(known, name))
                newer.edited_fields, newer.archived_at = known.edited_fields, known.archived_at
                newer.save()
                report.kept.extend(f"{key}.{name}" for name in known.edited_fields)
            known.replaced_by = newer
            known.save(update_fields=["replaced_by"])
            report.changed.append(key)


def _write_outline(
    practice: Practice, entry: dict[str, Any], seed_version: int, version: int, exercises: dict[str, Exercise]
) -> Outline:
    outline = Outline.objects.create(
        practice=practice,
        seed_key=entry["key"],
        seed_version=seed_version,
        version=version,
        name=entry["name"],
        summary=entry["summary"],
        serves=entry["serves"],
        order=entry["order"],
        **_cycle(entry),
    )
    candidates: list[SlotCandidate] = []
    for position, day_entry in enumerate(entry["day"]):
        day = OutlineDay.objects.create(
            outline=outline, key=day_entry["key"], name=day_entry["name"], position=position
        )
        for slot_position, slot_entry in enumerate(day_entry["slot"]):
            slot = OutlineSlot.objects.create(
                day=day,
                position=slot_position,
                **{
                    name: slot_entry[name]
                    for name in ("key", "title", "region", "role", "sets", "reps", "rir", "rest_s", "reason")
                },
                also_regions=slot_entry.get("also_regions", []),
                patterns=slot_entry.get("patterns", []),
                tempo=slot_entry.get("tempo", ""),
                technique=slot_entry.get("technique", ""),
                superset=slot_entry.get("superset", ""),
                priority=slot_entry.get("priority", 2),
            )
            for occurrence, keys in enumerate(slot_entry["candidates"]):
                # Two entries may be one exercise here, where a coach has merged them.
                ranked = dict.fromkeys(exercises[key] for key in keys if key in exercises)
                candidates.extend(
                    SlotCandidate(slot=slot, exercise=exercise, occurrence=occurrence, rank=rank)
                    for rank, exercise in enumerate(ranked)
                )
        OutlineLine.objects.bulk_create(
            OutlineLine(
                day=day,
                position=index,
                at_start=line.get("position", "start") == "start",
                text=line["text"],
                minutes=line.get("minutes", 0),
            )
            for index, line in enumerate(day_entry.get("line", []))
        )
    SlotCandidate.objects.bulk_create(candidates)
    return outline


def _cycle(entry: dict[str, Any]) -> dict[str, Any]:
    """A template's rhythm: a week unless the entry says otherwise, its sessions spread evenly unless it names days."""
    cycle_days = entry.get("cycle_days", WEEK_DAYS)
    if cycle_days == WEEK_DAYS:
        return {"cycle_days": cycle_days, "offsets": []}
    offsets = entry.get("offsets") or even_offsets(len(entry["order"]), cycle_days)
    return {"cycle_days": cycle_days, "offsets": list(offsets)}
