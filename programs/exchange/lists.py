"""Kinds of values with several parts: how each is written in a cell and in JSON, and read from either."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from programs.exchange.bounds import MOST_ITEMS, MOST_LINE, Bad
from programs.exchange.cells import join_commas, join_lines, join_pairs, split_commas, split_lines, split_pairs
from programs.exchange.kinds import Code, Plain, text_of

SHARES = {"1": 4, "1.0": 4, "1.00": 4, "½": 2, "1/2": 2, "0.5": 2, "0.50": 2, "¼": 1, "1/4": 1, "0.25": 1}
SHARE_TEXT = {4: "1", 2: "1/2", 1: "1/4"}  # signs that every code page has
SEVERITIES = (1, 2, 3)
PAIR = 2
_REGION = re.compile(
    r"^(?P<name>.+?)[\s:=]+(?P<share>1|1[.,]0{1,2}|0[.,]50?|0[.,]25|½|¼|1/2|1/4)(?P<long>\s+stretched)?$"
)
_JOINT = re.compile(r"^(?P<name>.+?)[\s:=]+(?P<severity>[123])$")
_GROUP = re.compile(r"\s+or\s+|/|,")
_LINES = re.compile(r"[\r\n;]+")


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
            self._put(found, text_of(entry.get("region")), quarters, stretched)
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


def _list(value: Any) -> list[Any]:
    if not isinstance(value, list):
        raise Bad("list_wanted")
    if len(value) > MOST_ITEMS:
        raise Bad("too_many", most=MOST_ITEMS)
    return value


def _items(value: list[Any]) -> list[str]:
    if len(value) > MOST_ITEMS:
        raise Bad("too_many", most=MOST_ITEMS)
    items = [text_of(item) for item in value]
    for item in items:
        if len(item) > MOST_LINE:
            raise Bad("too_long", most=MOST_LINE, length=len(item))
    return items
