"""The drawings on file: which poses and which equipment, read from the TOML files beside this module.

An entry: `start` and `end` poses (no end where a single picture says it all), `props` of both pictures,
`start_props` and `end_props` of one, an `arrow` of two or three points in the second picture, `view` "front"
where the movement is seen better from there.

A pose is words parted by spaces: `joint@x,y` puts a joint at a point, `segment=degrees` points a segment,
`joint>x,y` reaches for a point, `joint^forward,up` for one seen from the shoulder along the trunk,
`segment*share` shortens what points to or from the viewer. A prop is a kind, then points (`x,y`, a joint's
name, or `joint:x,y` beside it) and numbers.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from programs.drawings.figures.skeleton import Body, Pose, from_the_front, from_the_side
from programs.drawings.svg import Point

FOLDER = Path(__file__).resolve().parent / "poses"


@dataclass(frozen=True)
class Prop:
    """A piece of equipment: its kind, and its words not yet turned into points."""

    kind: str
    words: tuple[str, ...]

    def points(self, body: Body) -> list[Point]:
        """The points among the words, joints looked up. Raises ValueError for what is neither."""
        return [_point(word, body) for word in self.words if not _is_number(word)]

    def numbers(self) -> list[float]:
        return [float(word) for word in self.words if _is_number(word)]

    def held_by(self) -> set[str]:
        """Joints that the prop hangs on."""
        return {word.split(":")[0] for word in self.words if word[0].isalpha()}


@dataclass(frozen=True)
class Picture:
    body: Body
    props: tuple[Prop, ...]


@dataclass(frozen=True)
class Entry:
    """One drawing: its pictures in order, seen from the "side" or the "front", and the arrow's points."""

    view: str
    pictures: tuple[Picture, ...]
    arrow: tuple[Point, ...]


@cache
def keys() -> tuple[str, ...]:
    """Keys of all drawings in alphabetical order."""
    return tuple(sorted(_written()))


@cache
def entry(key: str) -> Entry:
    """A drawing by its key. Raises KeyError for a key that is not on file, ValueError for one written wrongly."""
    return read(_written()[key])


def pictures(key: str) -> int:
    """How many pictures a drawing has: two, or one of a position that is only held. Raises KeyError."""
    return len(entry(key).pictures)


def read(written: Mapping[str, Any]) -> Entry:
    """An entry from its written form."""
    view = written.get("view", "side")
    pose_of = {"side": from_the_side, "front": from_the_front}[view]
    shared = [_prop(text) for text in written.get("props", ())]
    pictures = []
    for name in ("start", "end"):
        if name in written:
            own = [_prop(text) for text in written.get(f"{name}_props", ())]
            pictures.append(Picture(pose_of(pose(written[name])), (*shared, *own)))
    arrow = tuple(_pair(word) for word in written.get("arrow", "").split())
    if arrow and len(arrow) not in (2, 3):
        raise ValueError("an arrow has two or three points")
    return Entry(view, tuple(pictures), arrow)


def pose(text: str) -> Pose:
    """A pose from its words. Raises ValueError for a word that says nothing, or without an anchor."""
    anchor: tuple[str, Point] | None = None
    angles: dict[str, float] = {}
    seen: dict[str, float] = {}
    targets: dict[str, tuple[Point, bool]] = {}
    for word in text.split():
        mark = next((sign for sign in "@=>^*" if sign in word), None)
        if mark is None:
            raise ValueError(f"not part of a pose: {word}")
        name, value = word.split(mark)
        if mark == "@":
            anchor = (name, _pair(value))
        elif mark == "=":
            angles[name] = float(value)
        elif mark == "*":
            seen[name] = float(value)
        else:
            targets[name] = (_pair(value), mark == "^")
    if anchor is None:
        raise ValueError(f"no joint is put anywhere: {text}")
    elbow = angles.pop("elbow", 1.0)
    return Pose(*anchor, angles, seen, targets, elbow)


@cache
def _written() -> dict[str, Any]:
    found: dict[str, Any] = {}
    for path in sorted(FOLDER.glob("*.toml")):
        for key, value in tomllib.loads(path.read_text(encoding="utf-8")).items():
            if key in found:
                raise ValueError(f"{key} stands twice among the figures")
            found[key] = value
    return found


def _prop(text: str) -> Prop:
    kind, *words = text.split()
    return Prop(kind, tuple(words))


def _point(word: str, body: Body) -> Point:
    if word[0].isalpha():
        name, _, beside = word.partition(":")
        if name not in body.joints:
            raise ValueError(f"no such joint: {name}")
        dx, dy = _pair(beside) if beside else (0.0, 0.0)
        x, y = body.joints[name]
        return (x + dx, y + dy)
    return _pair(word)


def _pair(text: str) -> Point:
    x, y = text.split(",")
    return (float(x), float(y))


def _is_number(word: str) -> bool:
    return not word[0].isalpha() and "," not in word
