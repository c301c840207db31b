"""Templates against a file: what a practice has as entries, and what importing a file would do to it.

Nothing is written here. What is found by its id or its key in the seed files and differs would become the next
version; blocks keep the one they came from. What only has the same name comes beside it under a name of its own.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from coachdesk.practice.models import Practice
from programs.engine.shorthand import same_name
from programs.exchange.documents import TEMPLATES, dumped
from programs.exchange.fields import Record
from programs.exchange.outline_documents import DAY, HEAD, LINE, SLOT
from programs.exchange.plans import CHANGED, NEW, REFUSED, UNCHANGED, Change, Outcome, Plan
from programs.exchange.sheets import Problem, Read, Sheet
from programs.merged import ends
from programs.models import Exercise, Outline, OutlineDay, SlotCandidate

NAME_LENGTH: Final = 80
WORDS: Final = ("name", "summary", "serves", "order", "cycle_days", "offsets")


def listed(practice: Practice) -> QuerySet[Outline]:
    """What a file may hold: the newest versions, archived ones among them, with their weeks."""
    return Outline.objects.for_practice(practice).saved().filter(replaced_by__isnull=True).with_week()


def write(outlines: Iterable[Outline]) -> bytes:
    return dumped(TEMPLATES, [entry_of(outline) for outline in outlines])


def entry_of(outline: Outline) -> dict[str, Any]:
    """One template as JSON has it; ``outline`` comes from ``with_week()``."""
    record = record_of(outline)
    return {
        **{
            name: kind.to_json(record[name]) if hasattr(kind, "to_json") else record[name]
            for name, kind in HEAD.items()
        },
        "days": [
            {**day, "slots": [{**slot, "rir": float(slot["rir"])} for slot in day["slots"]]} for day in record["days"]
        ],
    }


def record_of(outline: Outline) -> Record:
    values = {name: getattr(outline, name) for name in HEAD if name != "id"}
    days = [_day_record(day) for day in outline.days.all()]
    return {"id": str(outline.public_id), **values, "days": days}


def _day_record(day: OutlineDay) -> Record:
    return {
        **{name: getattr(day, name) for name in DAY},
        "slots": [
            {
                **{name: getattr(slot, name) for name in SLOT},
                "candidates": [_candidate_record(candidate) for candidate in slot.candidates.all()],
            }
            for slot in day.slots.all()
        ],
        "lines": [{name: getattr(line, name) for name in LINE} for line in day.lines.all()],
    }


def _candidate_record(candidate: SlotCandidate) -> Record:
    exercise = candidate.exercise
    return {
        "occurrence": candidate.occurrence,
        "rank": candidate.rank,
        "id": exercise.key,
        "seed_key": exercise.seed_key,
        "name": exercise.name,
    }


@dataclass(frozen=True, slots=True)
class Found:
    """An exercise of the practice that a candidate means, and whether only another name of it was said."""

    pk: int
    name: str
    by_alias: bool = False


class Library:
    """The practice's exercises as candidates name them; what was merged means what it was merged into. One query."""

    def __init__(self, practice: Practice) -> None:
        self._by_id: dict[str, Found] = {}
        self._by_seed: dict[str, Found] = {}
        self._by_name: dict[str, Found] = {}
        self._by_alias: dict[str, Found] = {}
        rows = list(
            Exercise.objects.for_practice(practice)
            .order_by("pk")
            .values_list("pk", "public_id", "seed_key", "name", "aliases", "merged_into")
        )
        names = {pk: name for pk, _id, _key, name, _aliases, _into in rows}
        stands_for = ends({pk: into for pk, *_rest, into in rows if into is not None})
        for pk, public_id, seed_key, name, aliases, merged in rows:
            standing = stands_for.get(pk, pk)
            found = Found(standing, names[standing])
            self._by_id[str(public_id)] = found
            if seed_key:
                self._by_seed[seed_key] = found
            if merged is None:
                self._by_name.setdefault(same_name(name), found)
                for alias in aliases:
                    self._by_alias.setdefault(same_name(alias), Found(pk, name, by_alias=True))

    def find(self, candidate: Record) -> Found | None:
        name = same_name(candidate["name"])
        return (
            self._by_id.get(candidate["id"])
            or self._by_seed.get(candidate["seed_key"])
            or (self._by_name.get(name) if name else None)
            or (self._by_alias.get(name) if name else None)
        )


def plan(sheet: Sheet, practice: Practice, *, lock: bool = False) -> Plan:
    """What importing the file would do, entry by entry: eight queries however many."""
    rows = listed(practice)
    return _Planning(sheet, list(rows.select_for_update() if lock else rows), Library(practice)).plan()


class _Planning:
    def __init__(self, sheet: Sheet, present: list[Outline], library: Library) -> None:
        self.sheet, self.library = sheet, library
        self.present = [(outline, _resolved(record_of(outline), library, [])) for outline in present]
        self.ways: dict[str, dict[str, tuple[Outline, Record]]] = {
            "id": {str(pair[0].public_id): pair for pair in self.present},
            "seed_key": {pair[0].seed_key: pair for pair in self.present if pair[0].seed_key},
        }
        self.names = {outline.name for outline in present}
        asked = [read.record["id"] for read in sheet.rows if read.record.get("id") and not self._known(read)[1]]
        self.taken = set(
            map(str, Outline.objects.filter(public_id__in=asked).values_list("public_id", flat=True)) if asked else ()
        )
        self.by_row: dict[int, int] = {}

    def plan(self) -> Plan:
        return Plan(tuple(self._outcome(read) for read in self.sheet.rows))

    def _known(self, read: Read) -> tuple[str, tuple[Outline, Record] | None]:
        for way, known in self.ways.items():
            found = known.get(read.record.get(way, ""))
            if found is not None:
                return way, found
        return "", None

    def _outcome(self, read: Read) -> Outcome:
        if read.problems:
            return Outcome(read.number, REFUSED, read.record.get("name", ""), read.record, problems=read.problems)
        remarks: list[Problem] = []
        record = _resolved(read.record, self.library, remarks)
        way, found = self._known(read)
        if found is not None:
            return self._of_present(read, record, found, way, remarks)
        same = self._same_already(record)
        if same is not None:
            return Outcome(read.number, UNCHANGED, record["name"], record, same, "name", remarks=tuple(remarks))
        return self._of_new(read, record, remarks)

    def _of_present(
        self, read: Read, record: Record, found: tuple[Outline, Record], way: str, remarks: list[Problem]
    ) -> Outcome:
        outline, present = found
        first = self.by_row.setdefault(outline.pk, read.number)
        if first != read.number:
            problem = Problem(way, "same_template", {"row": first, "where": ""})
            return Outcome(read.number, REFUSED, record["name"], record, outline, problems=(problem,))
        changes = tuple(_changes(present, record))
        if record["name"] != outline.name and record["name"] in self.names:
            record = {**record, "name": self._free_name(record["name"])}
            remarks.append(Problem("name", "renamed", {"name": record["name"], "where": ""}))
            changes = tuple(_changes(present, record))
        self.names.add(record["name"])
        kind = CHANGED if changes else UNCHANGED
        return Outcome(read.number, kind, record["name"], record, outline, way, changes, remarks=tuple(remarks))

    def _of_new(self, read: Read, record: Record, remarks: list[Problem]) -> Outcome:
        if record["name"] in self.names:
            record = {**record, "name": self._free_name(record["name"])}
            remarks.append(Problem("name", "renamed", {"name": record["name"], "where": ""}))
        self.names.add(record["name"])
        if record["id"] and record["id"] in self.taken:
            remarks.append(Problem("id", "id_taken", {"where": ""}))
            record = {**record, "id": ""}
        self.taken.add(record["id"])
        if record["seed_key"]:
            # A second entry with this key in the same file would be another version of the same template.
            self.ways["seed_key"].setdefault(
                record["seed_key"], (Outline(pk=-read.number, name=record["name"]), record)
            )
        return Outcome(read.number, NEW, record["name"], record, remarks=tuple(remarks))

    def _same_already(self, record: Record) -> Outline | None:
        """A template that came in under a told name before, or has the very same week under this one."""
        mine = dict(_flat({**record, "name": ""}))
        for outline, present in self.present:
            named = re.fullmatch(rf"{re.escape(record['name'])}( \(.+\))?", outline.name)
            if named and dict(_flat({**present, "name": ""})) == mine:
                return outline
        return None

    def _free_name(self, wanted: str) -> str:
        number = 1
        while True:
            ending = _(" (imported)") if number == 1 else _(" (imported %(number)d)") % {"number": number}
            name = wanted[: NAME_LENGTH - len(ending)] + ending
            if name not in self.names:
                return name
            number += 1


def _resolved(record: Record, library: Library, remarks: list[Problem]) -> Record:
    """The record with candidates as this library has them; what it has not is left out and told."""
    days = []
    for day in record["days"]:
        slots = []
        for slot in day["slots"]:
            where = f"{day['name']}, {slot['title']}"
            slots.append({**slot, "candidates": _candidates(slot["candidates"], library, remarks, where)})
        days.append({**day, "slots": slots})
    return {**record, "days": days}


def _candidates(said: list[Record], library: Library, remarks: list[Problem], where: str) -> list[Record]:
    kept: list[Record] = []
    seen: set[tuple[int, int]] = set()
    for candidate in said:
        found = library.find(candidate)
        name = candidate["name"] or candidate["seed_key"] or candidate["id"]
        if found is None:
            remarks.append(Problem("candidates", "candidate_unknown", {"name": name, "where": where}))
            continue
        if (candidate["occurrence"], found.pk) in seen:
            remarks.append(Problem("candidates", "candidate_twice", {"name": found.name, "where": where}))
            continue
        if found.by_alias:
            remarks.append(
                Problem("candidates", "candidate_alias", {"name": name, "other": found.name, "where": where})
            )
        seen.add((candidate["occurrence"], found.pk))
        kept.append({**candidate, "pk": found.pk, "name": found.name})
    return kept


def _changes(old: Record, new: Record) -> Iterator[Change]:
    before, after = dict(_flat(old)), dict(_flat(new))
    for name in dict.fromkeys((*before, *after)):
        if before.get(name) != after.get(name):
            yield Change(name, before.get(name), after.get(name))


def _flat(record: Record) -> Iterator[tuple[str, Any]]:
    """What makes a template, one value at a place: "Upper, Chest press: rest_s"."""
    for name in WORDS:
        yield name, record[name]
    for number, day in enumerate(record["days"]):
        yield f"{day['key']}|position", number
        yield f"{day['key']}|name", day["name"]
        yield f"{day['key']}|lines", [[line[name] for name in ("at_start", "text", "minutes")] for line in day["lines"]]
        for place, slot in enumerate(day["slots"]):
            where = f"{day['key']}|{slot['key']}"
            yield f"{where}|position", place
            for name in SLOT:
                if name not in ("key", "position"):
                    yield f"{where}|{name}", slot[name]
            ranked: dict[int, list[str]] = {}
            for candidate in sorted(slot["candidates"], key=lambda one: (one["occurrence"], one["rank"])):
                ranked.setdefault(candidate["occurrence"], []).append(candidate["name"])
            yield f"{where}|candidates", ranked


def places(record: Mapping[str, Any]) -> dict[str, str]:
    """Days and slots by the keys that stand before a change's field, in the words that the template has for them."""
    named: dict[str, str] = {}
    for day in record.get("days", ()):
        named[day["key"]] = day["name"]
        for slot in day["slots"]:
            named[f"{day['key']}|{slot['key']}"] = f"{day['name']}, {slot['title']}"
    return named
