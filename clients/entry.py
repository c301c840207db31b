"""Sets as a coach types them into the grid: one cell a set, in the trade's notation.

"72.5x8@2" is a load, reps and reps in reserve; "8" alone is eight reps with the planned load, "45" on a hold forty-five
seconds; a comma does for a point. What can be read in two ways is not taken, but asked about beside the cell.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from clients.doubts import doubt_sentence
from clients.models import LoggedPart
from clients.receiving import PartValues, SetValues
from clients.receiving.values import MOST_METRES, MOST_REPS, MOST_SECONDS, too_much
from clients.sheets import wording
from programs.engine.shorthand import ParsedSet, parse
from programs.units import Load, load_of, read_number

NOT_DONE = frozenset({"", "-", "–", "—", "x", "×"})
MOST_RIR = 5
MOST_AMOUNT = {"reps": MOST_REPS, "seconds": MOST_SECONDS, "metres": MOST_METRES}
WEIGHED = ("kg", "lb")

# "8", "8@2", "8 rir 2": an amount with the planned load.
AMOUNT_ALONE = re.compile(r"^(\d{1,4})(?:\s*(?:@|rir)\s*(\d(?:[.,]\d)?))?$", re.IGNORECASE)
# "72.5x8", "5 x 8@2", "135 lb x 5": in a cell of one set what stands before the cross is its load.
LOAD_AND_AMOUNT = re.compile(
    r"^(\d{1,4}(?:[.,]\d{1,3})?)\s*(kg|lb)?\s*[x×*]\s*(\d{1,4})(?:\s*(?:@|rir)\s*([0-5](?:[.,]\d)?))?$", re.IGNORECASE
)
# Doubts that a cell of one set settles by itself.
SETTLED_HERE = frozenset({"added_for_total", "each_for_total", "reps_high"})

Line = Mapping[str, Any]


class Unread(Exception):
    """A cell that can't be taken as it stands; ``sentence`` says why, ``readings`` what it might mean."""

    def __init__(self, sentence: str, readings: Sequence[str] = ()) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.readings = tuple(readings)


@dataclass(frozen=True, slots=True)
class Boxes:
    """A set typed into three boxes of its own."""

    load: str
    amount: str
    rir: str

    @property
    def empty(self) -> bool:
        return not (self.load.strip() or self.amount.strip() or self.rir.strip())

    @property
    def text(self) -> str:
        """The same in one cell: "72.5x8@2"."""
        load, amount, rir = (part.strip() for part in (self.load, self.amount, self.rir))
        return f"{load}{'x' if load else ''}{amount}{'@' if rir else ''}{rir}"


def read_cell(text: str, line: Line, target: Mapping[str, Any] | None, language: str) -> SetValues | None:
    """One set from a cell; None where nothing was done. Raises Unread.

    ``line`` is the sheet's; ``target`` the set that is answered, None for an extra one.
    """
    typed = text.strip()
    if typed.casefold() in NOT_DONE:
        return None
    facts = line["exercise"]
    if (match := AMOUNT_ALONE.match(typed)) is not None:
        rir = read_number(match[2]) if match[2] else None
        return _checked(_amount(facts, int(match[1])), _planned(line, target), rir, facts)
    if facts["load_entry"] not in ("none", "band") and (match := LOAD_AND_AMOUNT.match(typed)) is not None:
        number, rir = read_number(match[1]), read_number(match[4]) if match[4] else None
        unit = match[2].lower() if match[2] and line["unit"] in WEIGHED else line["unit"]
        load = None if number is None else Load(number, unit, typed)
        return _checked(_amount(facts, int(match[3])), load, rir, facts)
    unit = line["unit"] if line["unit"] in WEIGHED else "kg"
    parsed = parse(typed, unit, language, facts["load_entry"], facts["rep_unit"])
    doubt = next((doubt for doubt in parsed.doubts if doubt.code not in SETTLED_HERE), None)
    if doubt is not None:
        raise Unread(doubt_sentence(doubt.code, doubt.params), doubt.readings)
    if not parsed.sets:
        raise Unread(_("This can’t be read as a set. Type it as %s.") % example(line))
    if len(parsed.sets) > 1:
        raise Unread(_("These are %d sets: one cell holds one.") % len(parsed.sets))
    return values_of_parsed(parsed.sets[0], line, target, typed)


def read_boxes(boxes: Boxes, line: Line, target: Mapping[str, Any] | None) -> SetValues | None:
    """The same from three boxes. An empty load box is the planned load. Raises Unread."""
    if boxes.empty:
        return None
    facts = line["exercise"]
    amount = boxes.amount.strip()
    if not amount.isdecimal():
        raise Unread(_amount_sentence(facts))
    rir = None
    if boxes.rir.strip():
        rir = read_number(boxes.rir)
        if rir is None:
            raise Unread(_rir_sentence())
    load = _planned(line, target)
    if boxes.load.strip():
        number = read_number(boxes.load)
        if number is None or number < 0:
            raise Unread(_("Loads are numbers such as 62.5 or 62,5."))
        load = Load(number, line["unit"], boxes.load.strip())
    return _checked(_amount(facts, int(amount)), load, rir, facts)


def values_of_parsed(
    one: ParsedSet, line: Line, target: Mapping[str, Any] | None, typed: str = "", *, planned: bool = True
) -> SetValues:
    """A parsed set as values. Without a load of its own it takes the planned one, unless ``planned`` is False."""
    facts = line["exercise"]
    load = _load_of(one, line, typed)
    if load is None and planned:
        load = _planned(line, target)
    sides = [(LoggedPart.Sort.LEFT, one.left), (LoggedPart.Sort.RIGHT, one.right)]
    parts = tuple(PartValues(sort, reps) for sort, reps in sides if reps is not None)
    later = tuple(
        PartValues(
            LoggedPart.Sort.REST_PAUSE if part.load == one.load else LoggedPart.Sort.DROP,
            part.reps,
            load=None if part.load is None else load_of(part.load, part.unit or line["unit"]),
        )
        for part in one.parts
    )
    values = SetValues(
        reps=one.reps, seconds=one.seconds, metres=one.metres, kind=one.kind, parts=(*parts, *later), load=load
    )
    rir = None if one.rir is None else Decimal(str(one.rir))
    return _checked(values, load, rir, facts)


def _checked(values: SetValues, load: Load | None, rir: Decimal | None, facts: Mapping[str, Any]) -> SetValues:
    """The set once its numbers are possible. Raises Unread."""
    counted = {"reps": values.reps, "seconds": values.seconds, "metres": values.metres}[facts["rep_unit"]]
    of_parts = [part.reps or 0 for part in values.parts]
    if counted is None or not 1 <= counted <= MOST_AMOUNT[facts["rep_unit"]] or max(of_parts, default=0) > MOST_REPS:
        raise Unread(_amount_sentence(facts))
    if rir is not None and not 0 <= rir <= MOST_RIR:
        raise Unread(_rir_sentence())
    if facts["load_entry"] == "none":
        load = None
    elif load is None:
        raise Unread(_("No load is planned here: type it before the reps."))
    if too_much(load) or any(too_much(part.load) for part in values.parts):
        raise Unread(_("That is more than anybody lifts. Look at the load again."))
    return replace(values, load=load, rir=rir if facts["rep_unit"] == "reps" else None)


def _amount(facts: Mapping[str, Any], count: int) -> SetValues:
    unit = facts["rep_unit"]
    return SetValues(
        reps=count if unit == "reps" else None,
        seconds=count if unit == "seconds" else None,
        metres=count if unit == "metres" else None,
    )


def _amount_sentence(facts: Mapping[str, Any]) -> str:
    return {
        "reps": _("Reps are whole numbers, 1 to 100."),
        "seconds": _("Seconds are whole numbers up to 7200, or minutes and seconds such as 1:30."),
        "metres": _("Metres are whole numbers up to 10000."),
    }[facts["rep_unit"]]


def _rir_sentence() -> str:
    return _("Reps in reserve are 0 to 5.")


def _planned(line: Line, target: Mapping[str, Any] | None) -> Load | None:
    """The load the sheet asks for; for an extra set that of the last one."""
    asked = target if target is not None else next(iter(reversed(line["sets"])), None)
    load = asked["load"] if asked is not None else None
    return None if load is None else Load(Decimal(load["value"]), load["unit"])


def _load_of(one: ParsedSet, line: Line, typed: str) -> Load | None:
    """The typed load in the line's own way: a hole's number and a band have no weight."""
    if one.entry == "band":
        names = [str(name).casefold() for name in line.get("load_names") or []]
        if one.band.casefold() not in names:
            raise Unread(_("No band of that name is at this place."))
        return Load(Decimal(names.index(one.band.casefold()) + 1), "band", typed)
    if one.load is None:
        return None
    entry = line["exercise"]["load_entry"]
    unit = line["unit"] if line["unit"] not in WEIGHED else one.unit or line["unit"]
    # On one line from help through nothing to added load, what is against the exercise's own way is negative.
    against = (one.entry, entry) in (("assisted", "added"), ("added", "assisted")) and one.load > 0
    return load_of(-one.load if against else one.load, unit, typed)


def example(line: Line) -> str:
    """How a set of this line is written, with its own numbers."""
    target = next(iter(wording.working(line)), None)
    load = target["load"] if target else None
    figure = f"{wording.number(load['value'])}x" if load and load["unit"] != "band" and float(load["value"]) else ""
    unit = line["exercise"]["rep_unit"]
    if unit == "seconds":
        return f"{figure}45"
    if unit == "metres":
        return f"{figure}20"
    return f"{figure}8@2"


def cell_text(values: SetValues, line: Line) -> str:
    """A set in the notation of the grid, read back by ``read_cell`` to the same set."""
    facts = line["exercise"]
    sides = {part.sort: part.reps for part in values.parts}
    if values.seconds is not None:
        amount = f"{values.seconds} s"
    elif values.metres is not None:
        amount = f"{values.metres} m"
    elif LoggedPart.Sort.LEFT in sides and LoggedPart.Sort.RIGHT in sides:
        amount = f"L{sides[LoggedPart.Sort.LEFT]}/R{sides[LoggedPart.Sort.RIGHT]}"
    else:
        amount = f"{values.reps}{'+' if values.kind == 'open_ended' else ''}"
    for part in values.parts:
        if part.sort == LoggedPart.Sort.REST_PAUSE:
            amount += f"+{part.reps}"
        elif part.sort == LoggedPart.Sort.DROP and part.load is not None:
            amount += f" > {wording.number(part.load.value)}x{part.reps}"
    load = "" if values.load is None or facts["load_entry"] == "none" else _load_text(values.load, line)
    effort = "" if values.rir is None else f"@{wording.number(values.rir)}"
    # A name and the cross after it would run together.
    cross = "" if not load else " x " if values.load is not None and values.load.unit == "band" else "x"
    return f"{load}{cross}{amount}{effort}"


def _load_text(load: Load, line: Line) -> str:
    if load.unit == "band":
        return wording.band_name(line, load.value)
    facts = line["exercise"]
    figure = wording.number(load.value) + ("" if load.unit == line["unit"] else f" {load.unit}")
    if facts["load_entry"] == "added" and facts["bodyweight_fraction"]:
        return f"BW{'+' if load.value > 0 else ''}{figure}" if load.value else "BW"
    return figure
