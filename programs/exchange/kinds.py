"""Kinds of values: how each is written in a cell and in JSON, and read from either.

``from_cell`` and ``from_json`` raise Bad with the code of what is wrong. Values are plain: text, whole numbers,
Decimal, lists of text, pairs, datetime with its zone.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from difflib import get_close_matches
from functools import lru_cache
from typing import Any, Protocol
from uuid import UUID

from programs.exchange.bounds import MOST_CELL, MOST_ITEMS, MOST_LINE, Bad
from programs.exchange.cells import join_commas, join_lines, join_pairs, split_commas, split_lines, split_pairs
from programs.units import read_number

YES = frozenset({"yes", "y", "true", "1", "x", "ja", "j", "wahr"})
NO = frozenset({"", "no", "n", "false", "0", "nein", "falsch"})
SHARES = {"1": 4, "1.0": 4, "1.00": 4, "½": 2, "1/2": 2, "0.5": 2, "0.50": 2, "¼": 1, "1/4": 1, "0.25": 1}
SHARE_TEXT = {4: "1", 2: "1/2", 1: "1/4"}  # signs that every code page has
SEVERITIES = (1, 2, 3)
PAIR = 2
LONGEST_CODE = 40  # what is longer is no slip of the pen
_REGION = re.compile(
    r"^(?P<name>.+?)[\s:=]+(?P<share>1|1[.,]0{1,2}|0[.,]50?|0[.,]25|½|¼|1/2|1/4)(?P<long>\s+stretched)?$"
)
_JOINT = re.compile(r"^(?P<name>.+?)[\s:=]+(?P<severity>[123])$")
_GROUP = re.compile(r"\s+or\s+|/|,")
_LINES = re.compile(r"[\r\n;]+")
_TEMPO = re.compile(r"^[0-9X]{4}$")
_SLUG = re.compile(r"^[-a-zA-Z0-9_]*$")


class Kind(Protocol):
    def to_cell(self, value: Any) -> str: ...
    def from_cell(self, cell: str) -> Any: ...
    def to_json(self, value: Any) -> Any: ...
    def from_json(self, value: Any) -> Any: ...


def sound(text: str) -> str:
    """The text, if a database and a file can hold it."""
    if "\x00" in text:
        raise Bad("unsound")
    try:
        text.encode()
    except UnicodeEncodeError:
        raise Bad("unsound") from None
    return text


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise Bad("text_wanted")
    return sound(value)


class Plain:
    """What JSON holds as it is."""

    def to_json(self, value: Any) -> Any:
        return value


@dataclass(frozen=True, slots=True)
class Text(Plain):
    """``trimmed`` for names and the like: no blanks round it."""

    most: int = MOST_CELL
    trimmed: bool = False
    needed: bool = False

    def to_cell(self, value: str) -> str:
        return value

    def from_cell(self, cell: str) -> str:
        return self.checked(cell)

    def from_json(self, value: Any) -> str:
        return self.checked(_text(value))

    def checked(self, text: str) -> str:
        text = sound(text.strip() if self.trimmed else text)
        if len(text) > self.most:
            raise Bad("too_long", most=self.most, length=len(text))
        if self.needed and not text.strip():
            raise Bad("needed")
        return text


@dataclass(frozen=True, slots=True)
class Slug(Plain):
    most: int

    def to_cell(self, value: str) -> str:
        return value

    def from_cell(self, cell: str) -> str:
        return self.from_json(cell.strip())

    def from_json(self, value: Any) -> str:
        text = _text(value)
        if len(text) > self.most or not _SLUG.match(text):
            raise Bad("key_wanted")
        return text


@dataclass(frozen=True, slots=True)
class Address(Plain):
    """A link that clients may open."""

    most: int

    def to_cell(self, value: str) -> str:
        return value

    def from_cell(self, cell: str) -> str:
        return self.from_json(cell.strip())

    def from_json(self, value: Any) -> str:
        text = _text(value)
        if len(text) > self.most:
            raise Bad("too_long", most=self.most, length=len(text))
        if text and not re.match(r"^https://[^\s/?#@\\]+\.[^\s/?#@\\]+(?:[/?#]\S*)?$", text):
            raise Bad("address_wanted")
        return text


@dataclass(frozen=True, slots=True)
class Code(Plain):
    """One of the vocabulary's codes; a cell may say it in words too. ``words``: code to what a person reads."""

    words: Mapping[str, Any]

    def to_cell(self, value: str) -> str:
        return value

    def from_cell(self, cell: str) -> str:
        said = cell.strip()
        if said in self.words:
            return said
        if not said:
            raise Bad("needed")
        wanted = said.casefold()
        spoken = _spoken(tuple((code, str(word).casefold()) for code, word in self.words.items()))
        if wanted in spoken:
            return spoken[wanted]
        near = get_close_matches(wanted, spoken, 1) if len(wanted) <= LONGEST_CODE else []
        raise Bad("unknown_near" if near else "unknown", value=said[:60], near=spoken[near[0]] if near else "")

    def from_json(self, value: Any) -> str:
        return self.from_cell(_text(value))


@lru_cache(maxsize=64)
def _spoken(words: tuple[tuple[str, str], ...]) -> dict[str, str]:
    """Everything that means a code: its word in the language that is spoken, the code with blanks, the code."""
    spoken = {word: code for code, word in words}
    return spoken | {code.replace("_", " "): code for code, _word in words} | {code: code for code, _word in words}


@dataclass(frozen=True, slots=True)
class Codes(Plain):
    of: Code

    def to_cell(self, value: list[str]) -> str:
        return ", ".join(value)

    def from_cell(self, cell: str) -> list[str]:
        return [self.of.from_cell(item) for item in split_commas(cell)]

    def from_json(self, value: Any) -> list[str]:
        return [self.of.from_json(item) for item in _list(value)]


@dataclass(frozen=True, slots=True)
class Groups(Plain):
    """Lists of codes of which one each must be there: "box or flat_bench", one a line."""

    of: Code

    def to_cell(self, value: list[list[str]]) -> str:
        return "\n".join(" or ".join(group) for group in value)

    def from_cell(self, cell: str) -> list[list[str]]:
        lines = filter(str.strip, _LINES.split(cell))
        return [[self.of.from_cell(item) for item in _GROUP.split(line.strip()) if item.strip()] for line in lines]

    def from_json(self, value: Any) -> list[list[str]]:
        return [[self.of.from_json(item) for item in _list(group)] for group in _list(value)]


@dataclass(frozen=True, slots=True)
class Whole(Plain):
    least: int
    most: int
    needed: bool = True

    def to_cell(self, value: int) -> str:
        return str(value)

    def from_cell(self, cell: str) -> int:
        said = cell.strip()
        if not said:
            if self.needed:
                raise Bad("needed")
            return 0
        # A spreadsheet may show a whole number with its decimals.
        whole = re.match(r"^\d{1,12}(?=(?:[.,]0+)?$)", said)
        if whole is None:
            raise Bad("whole_wanted", value=said[:40])
        return self.from_json(int(whole[0]))

    def from_json(self, value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise Bad("whole_wanted", value=str(value)[:40])
        if not self.least <= value <= self.most:
            raise Bad("out_of_range", least=self.least, most=self.most, value=str(value)[:40])
        return value


@dataclass(frozen=True, slots=True)
class Number:
    """A number with at most two places, or as many as ``step`` has."""

    least: Decimal
    most: Decimal
    step: Decimal = Decimal("0.01")

    def to_cell(self, value: Decimal) -> str:
        return short(value)

    def from_cell(self, cell: str) -> Decimal:
        said = cell.strip()
        if not said:
            raise Bad("needed")
        number = read_number(said)
        if number is None:
            raise Bad("number_wanted", value=said[:40])
        return self.checked(number)

    def to_json(self, value: Decimal) -> float:
        return float(value)

    def from_json(self, value: Any) -> Decimal:
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            raise Bad("number_wanted", value=str(value)[:40])
        return self.checked(Decimal(value))

    def checked(self, number: Decimal) -> Decimal:
        if not number.is_finite() or not self.least <= number <= self.most:
            raise Bad("out_of_range", least=short(self.least), most=short(self.most), value=str(number)[:40])
        places = number.quantize(self.step)
        if places != number:
            raise Bad("two_places", value=str(number)[:40])
        return places


@dataclass(frozen=True, slots=True)
class Tempo(Plain):
    """Written "2-0-1-0", which no spreadsheet takes for a number and robs of its first nought."""

    def to_cell(self, value: str) -> str:
        return "-".join(value)

    def from_cell(self, cell: str) -> str:
        return self.from_json(cell.strip())

    def from_json(self, value: Any) -> str:
        said = _text(value).replace("-", "").upper()
        if said and not _TEMPO.match(said):
            raise Bad("tempo_wanted", value=said[:40])
        return said


@dataclass(frozen=True, slots=True)
class Yes(Plain):
    def to_cell(self, value: bool) -> str:
        return "yes" if value else ""

    def from_cell(self, cell: str) -> bool:
        said = cell.strip().casefold()
        if said in YES or said in NO:
            return said in YES
        raise Bad("yes_wanted", value=cell[:40])

    def from_json(self, value: Any) -> bool:
        if not isinstance(value, bool):
            raise Bad("yes_wanted", value=str(value)[:40])
        return value


@dataclass(frozen=True, slots=True)
class Moment:
    """When something happened, with its zone; None for never."""

    def to_cell(self, value: datetime | None) -> str:
        return value.isoformat() if value else ""

    def from_cell(self, cell: str) -> datetime | None:
        said = cell.strip()
        if not said:
            return None
        try:
            found = datetime.fromisoformat(said)
        except ValueError:
            raise Bad("moment_wanted", value=said[:40]) from None
        if found.tzinfo is None:
            raise Bad("moment_wanted", value=said[:40])
        try:
            found.timestamp()
        except (OverflowError, ValueError, OSError):
            raise Bad("moment_wanted", value=said[:40]) from None
        return found

    def to_json(self, value: datetime | None) -> str | None:
        return value.isoformat() if value else None

    def from_json(self, value: Any) -> datetime | None:
        return None if value is None else self.from_cell(_text(value))


@dataclass(frozen=True, slots=True)
class Id(Plain):
    """A random id, "" for none."""

    def to_cell(self, value: str) -> str:
        return value

    def from_cell(self, cell: str) -> str:
        return self.from_json(cell.strip())

    def from_json(self, value: Any) -> str:
        if value in (None, ""):
            return ""
        try:
            return str(UUID(_text(value)))
        except ValueError:
            raise Bad("id_wanted") from None


@dataclass(frozen=True, slots=True)
class Lines(Plain):
    def to_cell(self, value: list[str]) -> str:
        return join_lines(value)

    def from_cell(self, cell: str) -> list[str]:
        return _items(split_lines(cell))

    def from_json(self, value: Any) -> list[str]:
        return _items(_list(value))


@dataclass(frozen=True, slots=True)
class Names(Plain):
    """A list of names, commas between."""

    def to_cell(self, value: list[str]) -> str:
        return join_commas(value)

    def from_cell(self, cell: str) -> list[str]:
        return _items(split_commas(cell))

    def from_json(self, value: Any) -> list[str]:
        return _items(_list(value))


@dataclass(frozen=True, slots=True)
class Pairs(Plain):
    """What goes wrong and what to say: "fault -> correction", one a line."""

    def to_cell(self, value: list[list[str]]) -> str:
        return join_pairs((left, right) for left, right in value)

    def from_cell(self, cell: str) -> list[list[str]]:
        return self.from_json(split_pairs(cell))

    def from_json(self, value: Any) -> list[list[str]]:
        pairs = [_items(_list(pair)) for pair in _list(value)]
        if any(len(pair) != PAIR for pair in pairs):
            raise Bad("pair_wanted")
        return pairs


@dataclass(frozen=True, slots=True)
class Regions:
    """Region to (quarters of a set, loaded while long): "hams 1 stretched", one a line."""

    of: Code

    def to_cell(self, value: Mapping[str, tuple[int, bool]]) -> str:
        return "\n".join(
            f"{region} {SHARE_TEXT[quarters]}{' stretched' if stretched else ''}"
            for region, (quarters, stretched) in value.items()
        )

    def from_cell(self, cell: str) -> dict[str, tuple[int, bool]]:
        found: dict[str, tuple[int, bool]] = {}
        for line in filter(str.strip, _LINES.split(cell)):
            read = _REGION.match(line.strip())
            if read is None:
                raise Bad("region_wanted", value=line.strip()[:40])
            self._put(found, read["name"], SHARES[read["share"].replace(",", ".")], bool(read["long"]))
        return found

    def to_json(self, value: Mapping[str, tuple[int, bool]]) -> list[dict[str, Any]]:
        return [
            {"region": region, "sets": quarters / 4, "stretched": stretched}
            for region, (quarters, stretched) in value.items()
        ]

    def from_json(self, value: Any) -> dict[str, tuple[int, bool]]:
        found: dict[str, tuple[int, bool]] = {}
        for entry in _list(value):
            if not isinstance(entry, dict):
                raise Bad("list_wanted")
            quarters = SHARES.get(str(entry.get("sets")))
            stretched = entry.get("stretched", False)
            if quarters is None or not isinstance(stretched, bool):
                raise Bad("region_wanted", value=str(entry.get("region"))[:40])
            self._put(found, _text(entry.get("region")), quarters, stretched)
        return found

    def _put(self, found: dict[str, tuple[int, bool]], name: str, quarters: int, stretched: bool) -> None:
        region = self.of.from_cell(name)
        if region in found:
            raise Bad("twice", value=region)
        found[region] = (quarters, stretched)


@dataclass(frozen=True, slots=True)
class Joints(Plain):
    """Joint to how much is asked of it, 1 to 3: "grip 2", one a line."""

    of: Code

    def to_cell(self, value: Mapping[str, int]) -> str:
        return "\n".join(f"{joint} {severity}" for joint, severity in value.items())

    def from_cell(self, cell: str) -> dict[str, int]:
        read: dict[str, int] = {}
        for line in filter(str.strip, _LINES.split(cell)):
            found = _JOINT.match(line.strip())
            if found is None:
                raise Bad("joint_wanted", value=line.strip()[:40])
            joint = self.of.from_cell(found["name"])
            if joint in read:
                raise Bad("twice", value=joint)
            read[joint] = int(found["severity"])
        return read

    def from_json(self, value: Any) -> dict[str, int]:
        if not isinstance(value, dict):
            raise Bad("list_wanted")
        read = {}
        for joint, severity in value.items():
            if isinstance(severity, bool) or severity not in SEVERITIES:
                raise Bad("joint_wanted", value=str(joint)[:40])
            read[self.of.from_json(joint)] = int(severity)
        return read


def short(number: Decimal) -> str:
    """A number without noughts at its end."""
    return f"{number:f}".rstrip("0").rstrip(".") if "." in f"{number:f}" else f"{number:f}"


def _list(value: Any) -> list[Any]:
    if not isinstance(value, list):
        raise Bad("list_wanted")
    if len(value) > MOST_ITEMS:
        raise Bad("too_many", most=MOST_ITEMS)
    return value


def _items(value: list[Any]) -> list[str]:
    if len(value) > MOST_ITEMS:
        raise Bad("too_many", most=MOST_ITEMS)
    items = [_text(item) for item in value]
    for item in items:
        if len(item) > MOST_LINE:
            raise Bad("too_long", most=MOST_LINE, length=len(item))
    return items
