"""The library against a file: what a practice has as records, and what importing a file would do to it.

Nothing is written here. Every row of the file comes out as exactly one of new, changed, unchanged or refused.
"""

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from django.db.models import QuerySet
from django.db.models.functions import Length

from coachdesk.practice.models import Coach, Practice
from programs.engine.shorthand import same_name
from programs.exchange.checks import check, loops
from programs.exchange.fields import FACTS, MARKS, NEEDED, NO_WORDS, ORIGIN, PARTS, USUAL, WORDS, Record
from programs.exchange.photos import photo_to_json
from programs.exchange.plans import CHANGED, NEW, REFUSED, UNCHANGED, Change, Outcome, Plan
from programs.exchange.sheets import Problem, Read, Sheet
from programs.models import Exercise, ExerciseJoint, ExerciseRegion, ExerciseText, FavouriteExercise, Photo
from programs.seeding import exercise_entries, version_of

ASKED_AT_ONCE: Final = 5000
FILE_BYTES: Final = 24 * 1024 * 1024  # of one JSON file with photos; more go into further files
ENTRY_BYTES: Final = 8 * 1024


@dataclass(frozen=True, slots=True)
class Present:
    """An exercise that the practice has: its rows, and the record that a file would hold of it."""

    row: Exercise
    regions: list[ExerciseRegion]
    joints: list[ExerciseJoint]
    texts: list[ExerciseText]
    favourite: FavouriteExercise | None
    record: Record


def gather(practice: Practice, coach: Coach, *, lock: bool = False) -> list[Present]:
    """All exercises of the practice by name: five queries however many. Favourites are the coach's own."""
    found: QuerySet[Exercise] = Exercise.objects.for_practice(practice).order_by("name", "pk")
    rows = list(found.select_for_update() if lock else found)
    owned = {"exercise__practice": practice}
    regions = _by_exercise(ExerciseRegion.objects.filter(**owned).order_by("pk"))
    joints = _by_exercise(ExerciseJoint.objects.filter(**owned).order_by("pk"))
    texts = _by_exercise(ExerciseText.objects.filter(**owned).order_by("pk"))
    favourites = _by_exercise(FavouriteExercise.objects.filter(coach=coach, **owned))
    ids = {row.pk: row.key for row in rows}
    listed = []
    for row in rows:
        favourite = next(iter(favourites.get(row.pk, ())), None)
        parts = regions.get(row.pk, []), joints.get(row.pk, []), texts.get(row.pk, [])
        merged_into = ids.get(row.merged_into_id, "") if row.merged_into_id else ""
        record = _record(row, *parts, favourite=favourite is not None, merged_into=merged_into)
        listed.append(Present(row, *parts, favourite, record))
    return listed


def _by_exercise(rows: Iterable[Any]) -> dict[int, list[Any]]:
    found: dict[int, list[Any]] = {}
    for row in rows:
        found.setdefault(row.exercise_id, []).append(row)
    return found


def _record(
    row: Exercise,
    regions: list[ExerciseRegion],
    joints: list[ExerciseJoint],
    texts: list[ExerciseText],
    *,
    favourite: bool,
    merged_into: str,
) -> Record:
    return {
        "id": row.key,
        **{name: getattr(row, name) for name in FACTS},
        "regions": {one.region: (one.quarters, one.stretched) for one in regions},
        "joints": {one.joint: one.severity for one in joints},
        "texts": {one.language: {word: getattr(one, word) for word in WORDS} for one in texts},
        "hidden_at": row.hidden_at,
        "favourite": favourite,
        "merged_into": merged_into,
        **{name: getattr(row, name) for name in ORIGIN},
    }


def photo_parts(practice: Practice) -> list[list[int]]:
    """The keys of the exercises by name, in as many lists as files are needed for their photos. One query."""
    sizes = (
        Exercise.objects.for_practice(practice)
        .annotate(bytes=Length("photo__image"))
        .order_by("name", "pk")
        .values_list("pk", "bytes")
    )
    parts: list[list[int]] = [[]]
    filled = 0
    for pk, size in sizes:
        takes = (size or 0) * 4 // 3 + ENTRY_BYTES
        if parts[-1] and filled + takes > FILE_BYTES:
            parts.append([])
            filled = 0
        parts[-1].append(pk)
        filled += takes
    return parts


def photos_of(listed: Iterable[Present]) -> dict[str, dict[str, Any]]:
    """Photos by the exercise's id, as JSON has them. One query."""
    wanted = {present.row.photo_id: present.row.key for present in listed if present.row.photo_id}
    return {
        wanted[photo.pk]: photo_to_json(
            str(photo.public_id), bytes(photo.image), photo.width, photo.height, photo.shows
        )
        for photo in _photos(wanted)
        if photo.image
    }


def _photos(keys: Iterable[int]) -> Iterator[Photo]:
    for some in _some(sorted(keys)):
        yield from Photo.objects.filter(pk__in=some)


def _some(keys: Sequence[Any]) -> Iterator[Sequence[Any]]:
    for start in range(0, len(keys), ASKED_AT_ONCE):
        yield keys[start : start + ASKED_AT_ONCE]


def plan(sheet: Sheet, practice: Practice, coach: Coach, *, lock: bool = False) -> Plan:
    """What importing the file would do, row by row: six queries, one more where it brings photos."""
    return _Planning(sheet, gather(practice, coach, lock=lock)).plan()


@dataclass
class _Planning:
    sheet: Sheet
    listed: list[Present]
    outcomes: dict[int, Outcome] = field(default_factory=dict)

    def plan(self) -> Plan:
        found = self._matched()
        names = _Names(self.listed)
        shown = self._photos_shown(found)
        for read in self.sheet.rows:
            if read.number in found and read.number not in self.outcomes:
                present, by = found[read.number]
                self._put(self._of_present(read, present, by, names, shown))
        ids_elsewhere = self._ids_taken(found)
        # Names that were given up by a change are free for what comes in anew.
        for read in self.sheet.rows:
            if read.number not in self.outcomes:
                self._put(self._of_new(read, names, ids_elsewhere))
        self._refuse_loops()
        return Plan(tuple(self.outcomes[read.number] for read in self.sheet.rows))

    def _put(self, outcome: Outcome) -> None:
        self.outcomes[outcome.number] = outcome

    def _matched(self) -> dict[int, tuple[Present, str]]:
        """Which row speaks of which exercise: by its id, by its entry in the seed files, by its name."""
        ways: tuple[tuple[str, dict[str, Present]], ...] = (
            ("id", {present.row.key: present for present in self.listed}),
            ("seed_key", {key: one for one in self.listed if (key := one.row.seed_key)}),
            ("name", {present.record["name"]: present for present in self.listed}),
            ("name", {same_name(present.record["name"]): present for present in reversed(self.listed)}),
        )
        found: dict[int, tuple[Present, str]] = {}
        taken: dict[int, int] = {}
        for number, (way, known) in enumerate(ways):
            for read in self.sheet.rows:
                said = read.record.get(way, "")
                present = known.get(same_name(said) if number + 1 == len(ways) else said) if said else None
                if present is None or read.number in found or read.number in self.outcomes:
                    continue
                first = taken.setdefault(present.row.pk, read.number)
                if first == read.number:
                    found[read.number] = (present, way)
                elif way != "name":
                    self._put(_refused(read, present, Problem(way, "same_as_row", {"row": first})))
        return found

    def _photos_shown(self, found: Mapping[int, tuple[Present, str]]) -> dict[int, tuple[str, str]]:
        """Of the photos that the file may replace: the digest of the picture and what it shows."""
        asked = {read.number for read in self.sheet.rows if read.record.get("photo")}
        keys = {present.row.photo_id for number, (present, _by) in found.items() if number in asked}
        return {
            photo.pk: (hashlib.sha256(bytes(photo.image)).hexdigest(), photo.shows)
            for photo in _photos(key for key in keys if key)
        }

    def _ids_taken(self, found: Mapping[int, tuple[Present, str]]) -> set[str]:
        """Ids that the file gives to new exercises or photos and that a row somewhere has already."""
        asked = [read.record["id"] for read in self.sheet.rows if read.number not in found and read.record.get("id")]
        return {
            str(public_id)
            for some in _some(asked)
            for public_id in Exercise.objects.filter(public_id__in=some).values_list("public_id", flat=True)
        }

    def _of_present(
        self, read: Read, present: Present, by: str, names: "_Names", shown: Mapping[int, tuple[str, str]]
    ) -> Outcome:
        if read.problems:
            return _refused(read, present, *read.problems)
        record = _over(present.record, read.record)
        if by == "name" and "name" in read.record:
            record["name"] = present.record["name"]  # they differ in case or blanks at most
        changes = list(_changes(present.record, record))
        remarks = []
        if record["merged_into"] != present.record["merged_into"]:
            remarks.append(Problem("merged_into", "merge_left"))
            record["merged_into"] = present.record["merged_into"]
        photo = _photo_change(read, present, shown, remarks)
        changes += [photo] if photo else []
        if not changes:
            return Outcome(read.number, UNCHANGED, record["name"], record, present, by, remarks=tuple(remarks))
        problems = [*check(record), *names.give(record, present.record, remarks)]
        if problems:
            return _refused(read, present, *problems)
        return Outcome(
            read.number, CHANGED, record["name"], record, present, by, tuple(changes), remarks=tuple(remarks)
        )

    def _of_new(self, read: Read, names: "_Names", ids_taken: set[str]) -> Outcome:
        missing = [Problem(name, "needed") for name in NEEDED if name not in read.record]
        wrong = {problem.column for problem in read.problems}
        problems = [*read.problems, *(problem for problem in missing if problem.column not in wrong)]
        if problems:
            return _refused(read, None, *problems)
        record = _over({"id": "", **USUAL, "texts": {}}, read.record)
        remarks: list[Problem] = []
        problems = [*check(record), *names.give(record, None, remarks)]
        if problems:
            return _refused(read, None, *problems)
        if record["id"] and record["id"] in ids_taken:
            remarks.append(Problem("id", "id_taken"))
            record["id"] = ""
        ids_taken.add(record["id"])
        if "photo" in read.record:
            photo = read.record["photo"]
            if photo and "refused" in photo:
                remarks.append(Problem("photo", photo["refused"]))
            elif photo:
                record["photo"] = photo
        record["edited_fields"] = _edited(record, read.record)
        return Outcome(read.number, NEW, record["name"], record, remarks=tuple(remarks))

    def _refuse_loops(self) -> None:
        """What is merged into something: that must be here, and the way must end somewhere."""
        fresh = {one.record["id"]: one for one in self.outcomes.values() if one.kind == NEW and one.record["id"]}
        known = {present.row.key: present.record["merged_into"] for present in self.listed}
        leads = {**known, **{public_id: one.record["merged_into"] for public_id, one in fresh.items()}}
        endless = loops({start: end for start, end in leads.items() if end})
        for number, one in self.outcomes.items():
            target = one.record.get("merged_into", "")
            if one.kind != NEW or not target:
                continue
            if target not in leads or one.record["id"] in endless or target == one.record["id"]:
                remark = Problem("merged_into", "merged_unknown")
                record = {**one.record, "merged_into": ""}
                self.outcomes[number] = Outcome(number, NEW, one.name, record, remarks=(*one.remarks, remark))


class _Names:
    """What exercises are called: each name and other name means one of them.

    Names that the practice has given are not given again. Where rows of one file share an other name it is told: they
    may have shared it where the file comes from.
    """

    def __init__(self, listed: Iterable[Present]) -> None:
        self._names: Counter[str] = Counter()
        self._means: dict[str, tuple[str, bool]] = {}
        for present in listed:
            self._names[present.record["name"]] += 1
            if not present.record["merged_into"]:  # what was merged has handed its names on
                for name in _called(present.record):
                    self._means.setdefault(name, (present.record["name"], False))

    def give(self, record: Record, before: Record | None, remarks: list[Problem]) -> list[Problem]:
        """Takes the names that a record brings, or says what keeps it from having them."""
        old = _called(before) if before else {}
        name = record["name"]
        if (before is None or before["name"] != name) and self._names[name]:
            return [Problem("name", "name_taken", {"name": name})]
        fresh = {key: said for key, said in _called(record).items() if key not in old}
        clashes = [(said, *self._means[key]) for key, said in fresh.items() if key in self._means]
        clashes = [] if record["merged_into"] else clashes
        for said, other, from_file in clashes:
            problem = Problem("name" if said == name else "aliases", "means_other", {"name": said, "other": other})
            if not from_file:
                return [problem]
            remarks.append(problem)
        self._names[name] += 1
        if before:
            self._names[before["name"]] -= 1
            for key in old.keys() - _called(record).keys():
                self._means.pop(key, None)
        for key in fresh if not record["merged_into"] else ():
            self._means.setdefault(key, (name, True))
        return []


def _called(record: Record) -> dict[str, str]:
    """All that an exercise is called, as names are compared."""
    said = (record["name"], *record["aliases"], *(words["name"] for words in record["texts"].values()))
    return {key: name for name in said if (key := same_name(name))}


def _refused(read: Read, present: Present | None, *problems: Problem) -> Outcome:
    name = read.record.get("name") or (present.record["name"] if present else "")
    return Outcome(read.number, REFUSED, name, read.record, present, problems=tuple(problems))


def _over(record: Record, said: Record) -> Record:
    """The record with what a file says laid over it; what it does not name stays."""
    texts = {language: dict(words) for language, words in record["texts"].items()}
    for language, words in said.get("texts", {}).items():
        if language in texts or any(words.values()):
            texts[language] = {**texts.get(language, NO_WORDS), **words}
    given = {name: value for name, value in said.items() if name not in ("photo", "texts")}
    return {**record, **given, "texts": texts}


def _changes(old: Record, new: Record) -> Iterator[Change]:
    for name in (*FACTS, *PARTS, *MARKS):
        if name != "merged_into" and not _same(old[name], new[name]):
            yield Change(name, old[name], new[name])
    for language, words in new["texts"].items():
        before = old["texts"].get(language, NO_WORDS)
        for word in WORDS:
            if not _same(before[word], words[word]):
                yield Change(f"{word}_{language}", before[word], words[word])


def _same(old: Any, new: Any) -> bool:
    if isinstance(old, str) and isinstance(new, str):
        return old.replace("\r\n", "\n").replace("\r", "\n") == new.replace("\r\n", "\n").replace("\r", "\n")
    return old == new


def _photo_change(
    read: Read, present: Present, shown: Mapping[int, tuple[str, str]], remarks: list[Problem]
) -> Change | None:
    if "photo" not in read.record:
        return None
    photo, here = read.record["photo"], present.row.photo_id
    if photo is None:
        return Change("photo", here, None) if here else None
    if "refused" in photo:
        remarks.append(Problem("photo", photo["refused"]))
        return None
    said = (hashlib.sha256(photo["image"]).hexdigest(), photo["shows"])
    return None if here and shown.get(here) == said else Change("photo", here, photo)


def _edited(record: Record, said: Record) -> list[str]:
    """The fields of a new row that seeding must leave alone."""
    own = [name for name in (*FACTS, *PARTS, "texts") if name in said]
    edited = set(said["edited_fields"] if "edited_fields" in said else own if record["seed_key"] else ())
    entry = exercise_entries().get(record["seed_key"])
    if entry is not None and record["seed_version"] == version_of(entry):
        # It comes from the very entry that is here: what differs from it, somebody changed.
        edited |= {name for name in own if _differs(name, record[name], entry)}
    return sorted(edited)


def _differs(name: str, value: Any, entry: Mapping[str, Any]) -> bool:
    if name == "name":
        # A seeded exercise whose name was taken says so behind it.
        return not value.startswith(entry["name"])
    if name == "regions":
        long = entry.get("stretched", [])
        return value != {region: (round(share * 4), region in long) for region, share in entry["regions"].items()}
    if name == "joints":
        return value != entry.get("joints", {})
    if name == "texts":
        given = {language: {**NO_WORDS, **words} for language, words in entry.get("text", {}).items()}
        return value != given
    key = "load_step_kg" if name == "load_step" else name
    if key not in entry:
        return False
    return float(value) != entry[key] if name in ("load_step", "bodyweight_fraction") else value != entry[key]
