"""What reading set notation gives back."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from programs.engine.terms import SetDone

# Every doubt that a reading may raise. The sentence for each lives with the other labels.
DOUBT_CODES: Final = (
    "added_for_total",  # "+10" where the exercise is logged by its whole load
    "as_planned",  # a tick or "as planned": counts only after the coach says so
    "bare_number",  # one number alone: repetitions or a load?
    "cannot_read",  # "same as last time" and the like
    "comma_unclear",  # decimal mark or list?
    "date_in_cell",  # a list of repetitions that a spreadsheet turned into a date
    "day_fraction",  # a time that a spreadsheet turned into a share of a day
    "each_for_total",  # "each" where the exercise is logged by its whole load
    "effort_count",  # not as many efforts as sets
    "effort_not_rated",  # RPE below 5 says light, not how many were left
    "effort_of_parts",  # an effort behind a set of several parts
    "effort_or_load",  # a small number behind "@"
    "effort_out_of_range",
    "effort_range",  # "rir 1-2"
    "left_over_number",  # the part that was not read holds a number
    "list_unclear",  # two numbers beside each other
    "loads_and_reps_disagree",  # lists of unequal length
    "metres_or_minutes",
    "number_too_large",
    "one_side_only",
    "plates_need_place",  # "2 plates", "bar": what they weigh depends on the place
    "plates_per_side",
    "range_not_result",  # "8-10" is a target
    "reps_high",
    "reps_missing",
    "reps_not_whole",
    "reps_or_sets",  # "5 x 100 kg"
    "sets_disagree",  # "3 x 8,8" : the count and the list differ
    "sets_or_load",  # "12 x 12"
    "sides_or_sets",  # "8/6" alone
    "sign_unclear",  # "-15" where help is not expected
    "thousands_mark",  # "1.250"
    "total_for_per_hand",  # "44 total" where one of two is logged
    "two_implements_or_sets",  # "2x22"
    "unexpected_measure",  # repetitions where time is counted
    "units_mixed",
    "zero_reps",
)


@dataclass(frozen=True, slots=True)
class Part:
    """A later part of a set, done without a rest: a drop part, or the next burst at the same load."""

    reps: int
    load: float | None = None
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class ParsedSet:
    """One set as it was written.

    ``number`` counts from 1 along the line and skips what was marked as not done. ``entry`` is how the
    load was said to be meant (a code of LOAD_ENTRIES), None when nothing was said. Help is a positive
    load with entry "assisted". ``left`` and ``right`` hold repetitions per side; ``reps`` is then the
    lesser, which is what progress reads.
    """

    number: int
    reps: int | None = None
    seconds: int | None = None
    metres: int | None = None
    load: float | None = None
    unit: str | None = None
    entry: str | None = None
    band: str = ""
    rir: float | None = None
    kind: str = "work"
    left: int | None = None
    right: int | None = None
    failure: bool = False
    parts: tuple[Part, ...] = ()
    text: str = field(default="", compare=False)

    def as_done(self, load_entry: str | None = None) -> tuple[SetDone, ...]:
        """The set and its later parts in the engine's terms, in this set's own unit.

        On an exercise logged as added load, help counts below zero; on one logged as help, added load
        does: the line from help through nothing to added load has no break.
        """
        load = self.load
        if load is not None and (self.entry, load_entry) in (("assisted", "added"), ("added", "assisted")):
            load = -load if load else load
        first = SetDone(
            reps=self.reps,
            load=load,
            rir=self.rir,
            kind=self.kind,
            seconds=self.seconds,
            metres=self.metres,
        )
        later = (SetDone(reps=part.reps, load=part.load, kind="drop") for part in self.parts)
        return (first, *later)


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something to ask about. ``readings`` are unmistakable rewordings to choose from, likeliest first."""

    code: str
    text: str
    readings: tuple[str, ...] = ()
    params: Mapping[str, str | int | float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.code not in DOUBT_CODES:
            raise ValueError(f"unknown doubt: {self.code}")


@dataclass(frozen=True, slots=True)
class Parsed:
    """Sets in the order written, what was doubtful, the unit of their loads, and what was left as a note.

    With doubts, the sets are the likeliest reading and nothing to store unasked.
    """

    sets: tuple[ParsedSet, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    unit: str | None = None
    note: str = ""

    @property
    def clear(self) -> bool:
        return not self.doubts

    def done(self, load_entry: str | None = None) -> tuple[SetDone, ...]:
        return tuple(one for parsed in self.sets for one in parsed.as_done(load_entry))


def renumber(sets: tuple[ParsedSet, ...], start: int) -> tuple[ParsedSet, ...]:
    """The same sets counted on from ``start``, gaps kept."""
    return tuple(replace(parsed, number=parsed.number + start - 1) for parsed in sets)
