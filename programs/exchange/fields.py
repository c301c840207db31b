"""The fields of an exercise in a file: their names, in the order of the columns, and their kinds.

A record is a dict from these names to plain values; ``texts`` is a dict from language to the words in it. What a
record does not name is left as it is.
"""

import re
from decimal import Decimal
from typing import Any, Final

from programs import labels
from programs.engine import vocabulary
from programs.exchange.kinds import Address, Code, Id, Kind, Moment, Number, Slug, Tempo, Text, Whole, Yes
from programs.exchange.lists import Codes, Groups, Joints, Lines, Names, Pairs, Regions

Record = dict[str, Any]

MOST_REPS: Final = 600
MOST_REST_S: Final = 900
LARGEST_NUMBER: Final = 2**31 - 1
KEY_LENGTH: Final = 80
PROSE: Final = 10_000
_STATIONS = Code(labels.STATIONS)


def _of(codes: tuple[str, ...]) -> Code:
    return Code(dict(labels.choices(codes)))


FACTS: Final[dict[str, Kind]] = {
    "name": Text(120, trimmed=True, needed=True),
    "aliases": Names(),
    "pattern": _of(vocabulary.PATTERNS),
    "angle": Text(30, trimmed=True),
    "grip": Text(30, trimmed=True),
    "limbs": _of(vocabulary.LIMBS),
    "role": _of(vocabulary.ROLES),
    "skill": _of(vocabulary.SKILLS),
    "implement": _of((*vocabulary.LOADED_STATIONS, *vocabulary.EVERYWHERE)),
    "needs_all": Codes(_STATIONS),
    "needs_one": Groups(_STATIONS),
    "load_entry": _of(vocabulary.LOAD_ENTRIES),
    "rep_unit": _of(vocabulary.REP_UNITS),
    "bodyweight_fraction": Number(Decimal(0), Decimal(1)),
    "rep_low": Whole(1, MOST_REPS),
    "rep_high": Whole(1, MOST_REPS),
    "rest_s": Whole(0, MOST_REST_S),
    "tempo": Tempo(),
    "load_step": Number(Decimal("0.05"), Decimal(50)),
    "figure": Text(60, trimmed=True),
    "clip_url": Address(400),
}
PARTS: Final[dict[str, Kind]] = {
    "regions": Regions(_of(vocabulary.REGIONS)),
    "joints": Joints(_of(vocabulary.JOINT_TAGS)),
}
MARKS: Final[dict[str, Kind]] = {
    "hidden_at": Moment(),
    "favourite": Yes(),
    "merged_into": Id(),
}
# Where a row comes from: taken over by a new row alone, never written over a present one.
ORIGIN: Final[dict[str, Kind]] = {
    "seed_key": Slug(KEY_LENGTH),
    "seed_version": Whole(0, LARGEST_NUMBER, needed=False),
    "edited_fields": Names(),
}
WORDS: Final[dict[str, Kind]] = {
    "name": Text(120, trimmed=True),
    "set_up": Lines(),
    "execution": Lines(),
    "faults": Pairs(),
    "cautions": Text(PROSE),
    "reason": Text(PROSE),
    "evidence": Text(200, trimmed=True),
    "range_note": Text(PROSE),
    "regression": Text(PROSE),
    "progression": Text(PROSE),
}
NO_WORDS: Final[dict[str, Any]] = {name: [] if isinstance(kind, Lines | Pairs) else "" for name, kind in WORDS.items()}
ID: Final = Id()
FIELDS: Final[dict[str, Kind]] = {"id": ID, **FACTS, **PARTS, **MARKS, **ORIGIN}
# What a new exercise must say; the rest has a usual value.
NEEDED: Final = ("name", "pattern", "role", "implement", "load_entry", "rep_unit", "rep_low", "rep_high", "rest_s")
USUAL: Final[dict[str, Any]] = {
    "aliases": [],
    "angle": "",
    "grip": "",
    "limbs": "two",
    "skill": "basic",
    "needs_all": [],
    "needs_one": [],
    "bodyweight_fraction": Decimal("0.00"),
    "tempo": "",
    "load_step": Decimal("2.50"),
    "figure": "",
    "clip_url": "",
    "regions": {},
    "joints": {},
    "hidden_at": None,
    "favourite": False,
    "merged_into": "",
    "seed_key": "",
    "seed_version": 0,
}
LANGUAGE: Final = re.compile(r"[a-z]{2,3}(-[a-z0-9]{2,6})?")
WORD_COLUMN: Final = re.compile(rf"^({'|'.join(WORDS)})_([a-z]{{2,3}}(?:-[a-z0-9]{{2,6}})?)$")
