"""Loads of a place as a coach types them: "2–20 by 2, 22.5, 25", and written back the same way."""

import re
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.formats import number_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from programs.engine.shorthand import decimal_mark
from programs.units import read_number

MOST_LOADS = 200
HEAVIEST = 1000
SHORTEST_RUN = 4  # so many equal steps are written as a range
RANGE = re.compile(
    r"^(?P<low>[\d.,]+)\s*(?:-|–|—|\bto\b|\bbis\b)\s*(?P<high>[\d.,]+)"
    r"(?:\s*(?:\bby\b|\bin steps of\b|\bin\b|\bje\b|\bum\b|/|@)\s*(?P<step>[\d.,]+))?$",
    re.IGNORECASE,
)
COUNTED = re.compile(r"^(?P<weight>[\d.,]+)\s*(?P<unit>kg|lbs?)?\s*(?:[x×*]\s*(?P<count>\d{1,3}))?$", re.IGNORECASE)


def read_loads(text: str) -> list[Decimal]:
    """Loads in ascending order, each once. ValidationError says which word can't be read, and how to write it."""
    found: set[Decimal] = set()
    for word in _words(text):
        stretch = RANGE.match(word)
        if stretch:
            found.update(_stretch(word, stretch))
        else:
            found.add(_load(word))
        if len(found) > MOST_LOADS:
            raise ValidationError(_("These are more than %d loads.") % MOST_LOADS)
    return sorted(found)


def write_loads(loads: Iterable[str | Decimal]) -> str:
    """The shortest way to type these loads, with the reader's decimal mark."""
    numbers = sorted({Decimal(load) for load in loads})
    parts = []
    at = 0
    while at < len(numbers):
        run = _run(numbers, at)
        if run >= SHORTEST_RUN:
            step = numbers[at + 1] - numbers[at]
            words = {"low": _plain(numbers[at]), "high": _plain(numbers[at + run - 1]), "step": _plain(step)}
            parts.append(_("%(low)s–%(high)s by %(step)s") % words)
            at += run
        else:
            parts.append(_plain(numbers[at]))
            at += 1
    return ", ".join(parts) if _mark() == "." else "; ".join(parts)


def read_plates(text: str, unit: str) -> list[dict[str, Any]]:
    """“0.5 × 2, 1.25 × 4” as rows {"weight", "unit", "count"}; without a count a pair is meant."""
    rows = []
    for word in _words(text):
        match = COUNTED.match(word)
        if match is None:
            raise ValidationError(_("“%s” can’t be read. Write weight and number: 0.5 × 2.") % word)
        weight = _load(match["weight"])
        written = (match["unit"] or unit).lower()
        rows.append(
            {
                "weight": text_of(weight),
                "unit": "lb" if written.startswith("lb") else "kg",
                "count": int(match["count"] or 2),
            }
        )
    return rows


def text_of(number: Decimal) -> str:
    """A number as it is stored: a point, no idle noughts."""
    return f"{number.normalize():f}"


def _plain(number: Decimal) -> str:
    return number_format(number.normalize(), use_l10n=True) if number != number.to_integral() else f"{number:.0f}"


def _mark() -> str:
    return decimal_mark(get_language() or "en")


def _words(text: str) -> list[str]:
    """Split at ; and new lines, and at commas, where a comma is no decimal mark."""
    words: list[str] = []
    for piece in re.split(r"[;\n]", text):
        if _mark() == ",":
            # "2,5" is one number; "2, 5" and "2,4,6" are lists.
            for part in re.split(r",\s+", piece):
                words.extend(part.split(",") if part.count(",") > 1 else [part])
        else:
            words.extend(piece.split(","))
    return [" ".join(word.split()) for word in words if word.strip()]


def _load(word: str) -> Decimal:
    number = read_number(word)
    if number is None:
        raise ValidationError(_("“%s” can’t be read. Write loads like this: 2–20 by 2, 22.5, 25.") % word)
    if not 0 < number <= HEAVIEST:
        raise ValidationError(
            _("“%(word)s”: loads are above 0 and at most %(most)d.") % {"word": word, "most": HEAVIEST}
        )
    return number


def _stretch(word: str, match: re.Match[str]) -> list[Decimal]:
    low, high = _load(match["low"]), _load(match["high"])
    if match["step"] is None:
        raise ValidationError(_("“%s”: in which steps? Write 2–20 by 2.") % word)
    step = _load(match["step"])
    if high <= low:
        raise ValidationError(_("“%s”: the lighter load comes first.") % word)
    count = (high - low) / step
    if count != count.to_integral():
        words = {"step": match["step"], "low": match["low"], "high": match["high"]}
        raise ValidationError(_("Steps of %(step)s from %(low)s never come to %(high)s.") % words)
    if count > MOST_LOADS:
        raise ValidationError(_("These are more than %d loads.") % MOST_LOADS)
    return [low + step * number for number in range(int(count) + 1)]


def _run(numbers: Sequence[Decimal], at: int) -> int:
    """How many numbers from here on lie evenly apart."""
    if at + 1 >= len(numbers):
        return 1
    step = numbers[at + 1] - numbers[at]
    end = at + 1
    while end + 1 < len(numbers) and numbers[end + 1] - numbers[end] == step:
        end += 1
    return end - at + 1
