"""What importing a file would do: one outcome an entry, and a digest that says whether it is still so."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

from programs.exchange.fields import Record
from programs.exchange.sheets import Problem

NEW, CHANGED, UNCHANGED, REFUSED = "new", "changed", "unchanged", "refused"
KINDS: Final = (REFUSED, CHANGED, NEW, UNCHANGED)


@dataclass(frozen=True, slots=True)
class Change:
    """One field that would be another: "rest_s", "regions", "set_up_en", "photo"."""

    name: str
    old: Any
    new: Any


@dataclass(frozen=True)
class Outcome:
    """What becomes of one entry of the file. ``record`` is the whole as it would be, ``present`` what the practice has
    of it; ``by`` says how that was found ("id", "seed_key" or "name"). Remarks tell what keeps nothing back."""

    number: int
    kind: str
    name: str
    record: Record
    present: Any = None
    by: str = ""
    changes: tuple[Change, ...] = ()
    problems: tuple[Problem, ...] = ()
    remarks: tuple[Problem, ...] = ()

    @cached_property
    def digest(self) -> str:
        """The same for the same outcome of the same entry: what would be written, over what."""
        said: list[Any] = [self.kind, self.name, self.by]
        said += [(one.name, _said(one.old), _said(one.new)) for one in self.changes]
        said += [(problem.column, problem.code, problem.params) for problem in (*self.problems, *self.remarks)]
        return hashlib.sha256(json.dumps(said, default=str).encode()).hexdigest()[:16]


@dataclass(frozen=True)
class Plan:
    outcomes: tuple[Outcome, ...]

    @cached_property
    def counts(self) -> dict[str, int]:
        found = [one.kind for one in self.outcomes]
        return {kind: found.count(kind) for kind in KINDS}

    @cached_property
    def digest(self) -> str:
        return hashlib.sha256("".join(one.digest for one in self.outcomes).encode()).hexdigest()

    @property
    def by_row(self) -> dict[str, str]:
        return {str(one.number): one.digest for one in self.outcomes}

    def otherwise(self, previewed: Mapping[str, str]) -> set[int]:
        """The entries that come out otherwise than they did in that preview."""
        return {one.number for one in self.outcomes if previewed.get(str(one.number)) != one.digest}


def _said(value: Any) -> Any:
    return hashlib.sha256(value["image"]).hexdigest() if isinstance(value, dict) and "image" in value else value
