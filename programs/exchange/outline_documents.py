"""Templates as entries of a JSON document: checked field by field, without a database.

A slot's candidates name their exercise by id, by its key in the seed files and by its name, so that they are found
again in another practice.
"""

from collections.abc import Callable, Mapping
from decimal import Decimal
from itertools import pairwise
from typing import Any, Final

from programs import labels
from programs.engine import vocabulary
from programs.engine.calendar import WEEK_DAYS
from programs.exchange.bounds import Bad
from programs.exchange.documents import TEMPLATES, loaded
from programs.exchange.fields import KEY_LENGTH, LARGEST_NUMBER, MOST_REPS, MOST_REST_S, Record
from programs.exchange.kinds import Code, Id, Kind, Moment, Number, Slug, Tempo, Text, Whole, Yes
from programs.exchange.lists import Codes, Names
from programs.exchange.sheets import Problem, Read, Sheet

MOST_DAYS: Final = 7
MOST_SLOTS: Final = 16
MOST_LINES: Final = 24
MOST_CANDIDATES: Final = 90
MOST_SETS: Final = 10
MOST_OCCURRENCES: Final = 7
LONGEST_CYCLE: Final = 14
PAIR: Final = 2
_REGION = Code(dict(labels.choices(vocabulary.REGIONS)))
_PATTERN = Code(dict(labels.choices(vocabulary.PATTERNS)))
_EXPERIENCE = Code(dict(labels.choices(vocabulary.EXPERIENCES)))
_POSITION = Whole(0, 1000)


class Spans:
    """Rep ranges by occurrence: [[6, 8], [8, 12]]."""

    def from_json(self, value: Any) -> list[list[int]]:
        if not isinstance(value, list) or not 1 <= len(value) <= MOST_OCCURRENCES:
            raise Bad("spans_wanted")
        return [span(each, 1, MOST_REPS) for each in value]


class SetsByExperience:
    """Fewest and most sets by experience: {"novice": [2, 3], ...}."""

    def from_json(self, value: Any) -> dict[str, list[int]]:
        if not isinstance(value, dict) or set(value) != set(vocabulary.EXPERIENCES):
            raise Bad("sets_wanted")
        return {name: span(value[name], 0, MOST_SETS) for name in vocabulary.EXPERIENCES}


class Days:
    """Days of the sessions in a cycle, counted from 0."""

    def from_json(self, value: Any) -> list[int]:
        if not isinstance(value, list) or len(value) > LONGEST_CYCLE:
            raise Bad("list_wanted")
        return [Whole(0, LONGEST_CYCLE - 1).from_json(day) for day in value]


class Keys:
    def from_json(self, value: Any) -> list[str]:
        if not isinstance(value, list) or len(value) > LONGEST_CYCLE:
            raise Bad("list_wanted")
        return [Slug(KEY_LENGTH).from_json(key) for key in value]


def span(value: Any, least: int, most: int) -> list[int]:
    if not isinstance(value, list) or len(value) != PAIR:
        raise Bad("spans_wanted")
    low, high = (Whole(least, most).from_json(end) for end in value)
    if high < low:
        raise Bad("spans_wanted")
    return [low, high]


HEAD: Final[dict[str, Any]] = {
    "id": Id(),
    "name": Text(80, trimmed=True, needed=True),
    "summary": Text(10_000),
    "serves": Codes(_EXPERIENCE),
    "order": Keys(),
    "cycle_days": Whole(2, LONGEST_CYCLE),
    "offsets": Days(),
    "version": Whole(1, LARGEST_NUMBER),
    "archived_at": Moment(),
    "seed_key": Slug(KEY_LENGTH),
    "seed_version": Whole(0, LARGEST_NUMBER),
    "edited_fields": Names(),
}
DAY: Final[dict[str, Any]] = {
    "key": Slug(40),
    "name": Text(40, trimmed=True, needed=True),
    "position": _POSITION,
}
SLOT: Final[dict[str, Any]] = {
    "key": Slug(60),
    "position": _POSITION,
    "title": Text(60, trimmed=True, needed=True),
    "region": _REGION,
    "also_regions": Codes(_REGION),
    "patterns": Codes(_PATTERN),
    "role": Code(dict(labels.choices(vocabulary.ROLES))),
    "sets": SetsByExperience(),
    "reps": Spans(),
    "rir": Number(Decimal(0), Decimal(5), Decimal("0.1")),
    "rest_s": Whole(0, MOST_REST_S),
    "tempo": Tempo(),
    "technique": Text(160),
    "superset": Text(1, trimmed=True),
    "priority": Whole(0, 9),
    "reason": Text(240),
}
CANDIDATE: Final[dict[str, Kind]] = {
    "occurrence": Whole(0, MOST_OCCURRENCES - 1),
    "rank": _POSITION,
    "id": Id(),
    "seed_key": Slug(KEY_LENGTH),
    "name": Text(120, trimmed=True),
}
LINE: Final[dict[str, Kind]] = {
    "at_start": Yes(),
    "position": _POSITION,
    "text": Text(240, needed=True),
    "minutes": Whole(0, 600),
}
USUAL: Final[dict[str, Any]] = {
    "id": "",
    "summary": "",
    "cycle_days": WEEK_DAYS,
    "offsets": [],
    "version": 1,
    "archived_at": None,
    "seed_key": "",
    "seed_version": 0,
    "edited_fields": [],
    "also_regions": [],
    "patterns": [],
    "tempo": "",
    "technique": "",
    "superset": "",
    "priority": 2,
    "reason": "",
    "at_start": True,
    "minutes": 0,
    "candidates": [],
    "lines": [],
}


def read(data: bytes) -> Sheet:
    """The templates of a file. Raises FileRefused where none can be made out."""
    unknown: dict[str, None] = {}
    rows = []
    for number, entry in enumerate(loaded(data, TEMPLATES), start=1):
        reading = _Reading(unknown)
        record = reading.template(entry)
        rows.append(Read(number, record, tuple(reading.problems)))
    return Sheet(tuple(rows), "json", unknown=tuple(unknown))


class _Reading:
    """Reads one entry and gathers what is wrong with it, each with where it stands."""

    def __init__(self, unknown: dict[str, None]) -> None:
        self.problems: list[Problem] = []
        self._unknown = unknown

    def template(self, entry: Any) -> Record:
        if not isinstance(entry, dict):
            self.problems.append(Problem("", "not_a_template"))
            return {}
        record = self._fields(entry, HEAD, "", ("days",))
        record["days"] = self._list(entry, "days", MOST_DAYS, "", self._day, required=True)
        if not self.problems:
            self._check(record)
        return record

    def _day(self, entry: Any, index: int, where: str) -> Record:
        name = entry.get("name") if isinstance(entry, dict) else None
        where = name[:40] if isinstance(name, str) else where
        day = self._fields(entry, DAY, where, ("slots", "lines"), position=index)
        day["slots"] = self._list(entry, "slots", MOST_SLOTS, where, self._slot, required=True)
        day["lines"] = self._list(entry, "lines", MOST_LINES, where, self._line)
        return day

    def _slot(self, entry: Any, index: int, where: str) -> Record:
        title = entry.get("title") if isinstance(entry, dict) else None
        where = f"{where}, {title[:60]}" if isinstance(title, str) else where
        slot = self._fields(entry, SLOT, where, ("candidates",), position=index)
        slot["candidates"] = self._list(entry, "candidates", MOST_CANDIDATES, where, self._candidate)
        return slot

    def _candidate(self, entry: Any, index: int, where: str) -> Record:
        said = {"id": "", "seed_key": "", "name": "", "rank": index, "occurrence": 0}
        return self._fields({**said, **entry} if isinstance(entry, dict) else entry, CANDIDATE, where)

    def _line(self, entry: Any, index: int, where: str) -> Record:
        return self._fields(entry, LINE, where, position=index)

    def _fields(
        self, entry: Any, kinds: Mapping[str, Any], where: str, lists: tuple[str, ...] = (), **usual: Any
    ) -> Record:
        if not isinstance(entry, dict):
            self._problem("", "not_a_part", where)
            return {}
        record: Record = {}
        for name, kind in kinds.items():
            if name not in entry:
                if name in usual or name in USUAL:
                    record[name] = usual[name] if name in usual else USUAL[name]
                else:
                    self._problem(name, "needed", where)
                continue
            try:
                record[name] = kind.from_json(entry[name])
            except Bad as bad:
                self._problem(name, bad.code, where, bad.params)
        self._unknown.update((str(name)[:60], None) for name in entry if name not in kinds and name not in lists)
        return record

    def _list(
        self,
        entry: Any,
        name: str,
        most: int,
        where: str,
        read_one: Callable[[Any, int, str], Record],
        *,
        required: bool = False,
    ) -> list[Record]:
        value = entry.get(name, []) if isinstance(entry, dict) else []
        if not isinstance(value, list):
            self._problem(name, "list_wanted", where)
            return []
        if len(value) > most:
            self._problem(name, "too_many", where, {"most": most})
            return []
        if required and not value:
            self._problem(name, "needed", where)
        return [read_one(each, index, where) for index, each in enumerate(value)]

    def _check(self, record: Record) -> None:
        """What must be true of a template as a whole."""
        days = [day["key"] for day in record["days"]]
        if len(set(days)) < len(days) or "" in days:
            self._problem("key", "key_twice", "")
        slots = [slot["key"] for day in record["days"] for slot in day["slots"]]
        if len(set(slots)) < len(slots) or "" in slots:
            self._problem("key", "key_twice", "")
        if not record["order"]:
            self._problem("order", "needed", "")
        if not record["serves"]:
            self._problem("serves", "needed", "")
        for key in dict.fromkeys(record["order"]):
            if key not in days:
                self._problem("order", "unknown", "", {"value": key, "near": ""})
        if len(record["order"]) > record["cycle_days"]:
            self._problem("order", "cycle_full", "", {"days": record["cycle_days"]})
        offsets = record["offsets"]
        rolls = record["cycle_days"] != WEEK_DAYS
        fits = len(offsets) == len(record["order"]) and all(day < record["cycle_days"] for day in offsets)
        rises = all(one < other for one, other in pairwise(offsets))
        if (rolls or offsets) and not (fits and rises):
            self._problem("offsets", "offsets_wanted", "")

    def _problem(self, column: str, code: str, where: str, params: Mapping[str, Any] | None = None) -> None:
        self.problems.append(Problem(column, code, {**(params or {}), "where": where}))
