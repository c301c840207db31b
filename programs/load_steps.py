"""An exercise's usual load step as a practice reads and types it: kept in kilograms, shown in the practice's unit.

A gym in pounds has other plates, not the same ones in other figures: the common steps in kilograms stand for the
common steps in pounds. Any other step is the same weight, to the twentieth of a pound.
"""

from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from programs.units import GRAMS_PER_UNIT

LEAST_KG, MOST_KG = Decimal("0.05"), Decimal(50)
LEAST_LB, MOST_LB = Decimal("0.1"), Decimal(110)
_HUNDREDTH: Final = Decimal("0.01")
_TWENTIETH: Final = Decimal("0.05")
# Pairs of the plates and of the steps between dumbbells as gyms of either unit have them; coaching practice.
_COMMON: Final = {
    Decimal("1"): Decimal("2.5"),
    Decimal("1.25"): Decimal("2.5"),
    Decimal("2"): Decimal("5"),
    Decimal("2.5"): Decimal("5"),
    Decimal("4"): Decimal("10"),
    Decimal("5"): Decimal("10"),
}
_KILOS_PER_POUND: Final = GRAMS_PER_UNIT["lb"] / GRAMS_PER_UNIT["kg"]


def shown(kilograms: Decimal, unit: str) -> Decimal:
    """A step kept in kilograms, in the unit of a practice ("kg" or "lb")."""
    if unit != "lb":
        return kilograms
    common = _COMMON.get(kilograms.normalize())
    if common is not None:
        return common
    return (kilograms / _KILOS_PER_POUND / _TWENTIETH).quantize(Decimal(1), ROUND_HALF_UP) * _TWENTIETH


def kept(typed: Decimal, unit: str) -> Decimal:
    """A step as it was typed, in kilograms to two places, so that it is shown as it was typed."""
    if unit != "lb":
        return typed
    nearest = (typed * _KILOS_PER_POUND).quantize(_HUNDREDTH, ROUND_HALF_UP)
    near = (nearest, nearest - _HUNDREDTH, nearest + _HUNDREDTH)
    return next((one for one in near if shown(one, unit) == typed), nearest)
