"""Kinds of single values: how each is written in a cell and in JSON, and read from either.

``from_cell`` and ``from_json`` raise Bad with the code of what is wrong. Values are plain: text, whole numbers,
Decimal, datetime with its zone.
"""

import re
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from difflib import get_close_matches
from functools import lru_cache
from typing import Any, Protocol
from uuid import UUID

from programs.exchange.bounds import MOST_CELL, Bad
from programs.units import read_number

YES = frozenset({"yes", "y", "true", "1", "x", "ja", "j", "wahr"})
NO = frozenset({"", "no", "n", "false", "0", "nein", "falsch"})
LONGEST_CODE = 40  # what is longer is no slip of the pen
_TEMPO = re.compile(r"[0-9X]{4}")
_SLUG = re.compile(r"[-a-zA-Z0-9_]*")


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


def text_of(value: Any) -> str:
    if not isinstance(value, str):
        raise Bad("text_wanted")
    return sound(value)


class Plain:
    """What JSON holds as it is."""

    def to_json(self, value: Any) -> Any:
        return value


class Word(Plain, ABC):
    """What a cell holds as JSON does, but for blanks round it."""

    def to_cell(self, value: str) -> str:
        return value

    def from_cell(self, cell: str) -> str:
        return self.from_json(cell.strip())

    @abstractmethod
    def from_json(self, value: Any) -> str: ...


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
        return self.checked(text_of(value))

    def checked(self, text: str) -> str:
        text = sound(text.strip() if self.trimmed else text)
        if len(text) > self.most:
            raise Bad("too_long", most=self.most, length=len(text))
        if self.needed and not text.strip():
            raise Bad("needed")
        return text


@dataclass(frozen=True, slots=True)
class Slug(Word):
    most: int

    def from_json(self, value: Any) -> str:
        text = text_of(value)
        if len(text) > self.most or not _SLUG.fullmatch(text):
            raise Bad("key_wanted")
        return text


@dataclass(frozen=True, slots=True)
class Address(Word):
    """A link that clients may open."""

    most: int

    def from_json(self, value: Any) -> str:
        text = text_of(value)
        if len(text) > self.most:
            raise Bad("too_long", most=self.most, length=len(text))
        if text and not re.fullmatch(r"https://[^\s/?#@\\]+\.[^\s/?#@\\]+(?:[/?#]\S*)?", text):
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
        return self.from_cell(text_of(value))


@lru_cache(maxsize=64)
def _spoken(words: tuple[tuple[str, str], ...]) -> dict[str, str]:
    """Everything that means a code: its word in the language that is spoken, the code with blanks, the code."""
    spoken = {word: code for code, word in words}
    return spoken | {code.replace("_", " "): code for code, _word in words} | {code: code for code, _word in words}


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
class Tempo(Word):
    """Written "2-0-1-0", which no spreadsheet takes for a number and robs of its first nought."""

    def to_cell(self, value: str) -> str:
        return "-".join(value)

    def from_json(self, value: Any) -> str:
        said = text_of(value).replace("-", "").upper()
        if said and not _TEMPO.fullmatch(said):
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
        return None if value is None else self.from_cell(text_of(value))


@dataclass(frozen=True, slots=True)
class Id(Word):
    """A random id, "" for none."""

    def from_json(self, value: Any) -> str:
        if value in (None, ""):
            return ""
        try:
            return str(UUID(text_of(value)))
        except ValueError:
            raise Bad("id_wanted") from None


def short(number: Decimal) -> str:
    """A number without noughts at its end."""
    return f"{number:f}".rstrip("0").rstrip(".") if "." in f"{number:f}" else f"{number:f}"
