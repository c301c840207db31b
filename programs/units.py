"""Loads as they were typed, and the integers beside them.

What was typed (number, unit, raw text) is kept for ever; grams are derived from it for queries and totals.
A number without a unit that can be weighed (a pin hole, a band) has no grams. No value is not zero.
"""

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Any, Final

GRAMS_PER_UNIT: Final = {"kg": Decimal(1000), "lb": Decimal("453.59237")}  # the pound is exact by definition
LARGEST: Final = Decimal("99999.999")
NUMBER = re.compile(r"^[+\-−]?\d{1,5}([.,]\d{1,3})?$")


@dataclass(frozen=True, slots=True)
class Load:
    """One typed load: value with at most three places, its unit, and the characters that were typed."""

    value: Decimal
    unit: str
    text: str = ""

    @property
    def grams(self) -> int | None:
        factor = GRAMS_PER_UNIT.get(self.unit)
        if factor is None:
            return None
        return int((self.value * factor).quantize(Decimal(1), ROUND_HALF_UP))

    def in_unit(self, unit: str) -> float | None:
        """The load as a float in another unit of weight; None where it has no weight."""
        if unit == self.unit:
            return float(self.value)
        if self.unit not in GRAMS_PER_UNIT or unit not in GRAMS_PER_UNIT:
            return None
        return float(self.value * GRAMS_PER_UNIT[self.unit] / GRAMS_PER_UNIT[unit])


def columns(load: "Load | None", prefix: str = "load") -> dict[str, Any]:
    """The four columns of a load, for ``create`` and ``bulk_create`` alike."""
    if load is None:
        return {f"{prefix}_value": None, f"{prefix}_unit": "", f"{prefix}_text": "", f"{prefix}_grams": None}
    return {
        f"{prefix}_value": load.value,
        f"{prefix}_unit": load.unit,
        f"{prefix}_text": load.text[:40],
        f"{prefix}_grams": load.grams,
    }


def load_of(value: float | Decimal | int | str, unit: str, text: str = "") -> Load:
    """A load from a number the engine gave, at most three places."""
    exact = Decimal(str(value)).quantize(Decimal("0.001"), ROUND_HALF_UP).normalize()
    return Load(exact + Decimal(0), unit, text)


def read_number(text: str) -> Decimal | None:
    """A typed number with point or comma as decimal mark; None when it is not one."""
    cleaned = text.strip().replace("\u00a0", "").replace("\u202f", "")
    if not NUMBER.match(cleaned):
        return None
    try:
        number = Decimal(cleaned.replace(",", ".").replace("−", "-"))
    except InvalidOperation:
        return None
    return number if abs(number) <= LARGEST else None
