"""What one set says, once it has been read: the same for every way in."""

from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from programs.units import Load

# What is beyond is a slip of the finger, whoever types it; a stack has not so many holes, nor a drawer so many bands.
MOST_REPS, MOST_SECONDS, MOST_METRES = 100, 7200, 10_000
MOST_LOAD = {"kg": Decimal(700), "lb": Decimal(1500), "setting": Decimal(100), "band": Decimal(100)}


def too_much(load: Load | None) -> bool:
    """Whether a load, or the help that a minus stands for, is more than there is anywhere."""
    return load is not None and abs(load.value) > MOST_LOAD[load.unit]


@dataclass(frozen=True, slots=True)
class PartValues:
    """A later part of a set (drop, rest-pause) or one of its sides."""

    sort: str
    reps: int | None = None
    seconds: int | None = None
    load: Load | None = None


@dataclass(frozen=True, slots=True)
class SetValues:
    """One set as typed. Unknown effort is None, and so is a load that nobody gave: neither is zero."""

    reps: int | None = None
    seconds: int | None = None
    metres: int | None = None
    load: Load | None = None
    rir: Decimal | None = None
    kind: str = "work"
    parts: tuple[PartValues, ...] = ()
    as_planned: bool = False
    stopped_for_pain: bool = False
    note: str = ""

    def content(self) -> dict[str, Any]:
        """What makes two sets the same set: everything but the key and the time of arrival."""
        return {
            "reps": self.reps,
            "seconds": self.seconds,
            "metres": self.metres,
            "load": _load_text(self.load),
            "rir": _number_text(self.rir),
            "kind": self.kind,
            "parts": [[part.sort, part.reps, part.seconds, _load_text(part.load)] for part in self.parts],
            "note": self.note,
        }

    def amounts(self) -> tuple[Any, ...]:
        """What was lifted, for telling whether two answers to one line agree."""
        content = self.content()
        return tuple(str(content[name]) for name in ("reps", "seconds", "metres", "load", "rir", "parts"))


@dataclass(frozen=True, slots=True)
class Arrival:
    """How, when and by whom a set came in. ``order`` is its place in the session, whatever the sheet says."""

    way: str
    performed_on: date
    performed_at: datetime | None = None
    recorded_by: Any = None  # a Coach, or None when the client typed it
    original: Any = None
    order: int = 0
    exercise: Any = None  # the exercise really done, when it is not the line's own (a swap)
    doubts: tuple[dict[str, Any], ...] = field(default=())


def _load_text(load: Load | None) -> str | None:
    return None if load is None else f"{load.value.normalize():f} {load.unit}"


def _number_text(number: Decimal | None) -> str | None:
    return None if number is None else f"{Decimal(number).normalize():f}"
