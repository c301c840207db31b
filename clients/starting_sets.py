"""Ready-made sets of stations to start a place from. Usual equipment, named by kind; a coach corrects what differs.

Each has its loads in kilograms and in pounds, as rooms really have them, not converted.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy, pgettext_lazy

from clients.forms.loads import text_of

Loads = dict[str, Any]


@dataclass(frozen=True, slots=True)
class StationSet:
    """``loaded`` maps a kind to (how many, loads by unit); ``apparatus`` lists what only has to be there."""

    title: str | Promise
    summary: str | Promise
    loaded: Mapping[str, tuple[int, Mapping[str, Loads]]]
    apparatus: tuple[str, ...]

    def stations(self, unit: str) -> list[tuple[str, int, Loads]]:
        """(kind, how many, loads) in that unit."""
        found = [(kind, count, _named(loads[unit])) for kind, (count, loads) in self.loaded.items()]
        return [*found, *((kind, 1, {}) for kind in self.apparatus)]


def _named(loads: Loads) -> Loads:
    """The loads with bars and bands named in the coach's language."""
    named = dict(loads)
    if "bars" in loads:
        named["bars"] = [{**bar, "name": str(bar["name"])} for bar in loads["bars"]]
    if "bands" in loads:
        named["bands"] = [str(band) for band in loads["bands"]]
    return named


def _every(low: str, high: str, step: str) -> list[str]:
    first, last, by = Decimal(low), Decimal(high), Decimal(step)
    return [text_of(first + by * number) for number in range(int((last - first) / by) + 1)]


def _plates(unit: str, **counts: int) -> list[dict[str, Any]]:
    """Plates from keywords such as ``w2_5=4``."""
    return [
        {"weight": name.removeprefix("w").replace("_", "."), "unit": unit, "count": count}
        for name, count in counts.items()
    ]


def _bar(name: Any, weight: str | None, unit: str) -> dict[str, Any]:
    return {"name": name, "weight": weight, "unit": unit}


_KILO_PLATES: Final = _plates("kg", w25=4, w20=6, w15=2, w10=4, w5=4, w2_5=4, w1_25=4)
_POUND_PLATES: Final = _plates("lb", w45=8, w35=2, w25=4, w10=4, w5=4, w2_5=4)


def _bar_loads(name: Any, kilos: str | None, pounds: str | None) -> Mapping[str, Loads]:
    return {
        "kg": {"bars": [_bar(name, kilos, "kg")], "plates": _KILO_PLATES, "collars": "0"},
        "lb": {"bars": [_bar(name, pounds, "lb")], "plates": _POUND_PLATES, "collars": "0"},
    }


def _list(kilos: list[str], pounds: list[str]) -> Mapping[str, Loads]:
    return {"kg": {"list": kilos}, "lb": {"list": pounds}}


def _stack(kilos: list[str], pounds: list[str]) -> Mapping[str, Loads]:
    return {"kg": {"holes": kilos}, "lb": {"holes": pounds}}


_CABLE: Final = _stack(_every("5", "75", "5"), _every("10", "160", "10"))
_MACHINE: Final = _stack(_every("5", "100", "5"), _every("10", "220", "10"))
_BANDS: Final[Loads] = {
    "bands": [
        pgettext_lazy("band", "very light"),
        pgettext_lazy("band", "light"),
        pgettext_lazy("band", "medium"),
        pgettext_lazy("band", "strong"),
    ]
}

SETS: Final[Mapping[str, StationSet]] = {
    "strength-room": StationSet(
        gettext_lazy("Strength room"),
        gettext_lazy("Barbells and plates, dumbbells to 40, cable, leg press, benches, squat stand."),
        {
            "barbell": (2, _bar_loads(gettext_lazy("long bar"), "20", "45")),
            "trap_bar": (1, _bar_loads(gettext_lazy("trap bar"), "25", "55")),
            "curl_bar": (1, _bar_loads(gettext_lazy("curl bar"), "10", "20")),
            "dumbbell": (
                1,
                _list([*_every("2", "10", "1"), *_every("12", "40", "2")], _every("5", "90", "5")),
            ),
            "kettlebell": (1, _list(_every("8", "32", "4"), ["18", "26", "35", "44", "53", "62", "70"])),
            "plate": (1, _list(["2.5", "5", "10", "15", "20"], ["2.5", "5", "10", "25", "35", "45"])),
            "cable": (2, _CABLE),
            "leg_press": (1, _bar_loads(gettext_lazy("sled"), None, None)),
            "leg_extension_machine": (1, _MACHINE),
            "seated_leg_curl": (1, _MACHINE),
            "standing_calf_machine": (1, _MACHINE),
        },
        (
            *("flat_bench", "incline_bench", "squat_stand", "bar_anchor", "pull_up_bar", "low_bar", "parallel_bars"),
            *("box", "low_bench_or_step", "back_extension_bench", "foot_anchor", "dip_belt", "space_to_walk"),
        ),
    ),
    "home-dumbbells": StationSet(
        gettext_lazy("Home, dumbbells"),
        gettext_lazy("Dumbbells to 20, bands, a bench, a bar in the door frame."),
        {
            "dumbbell": (1, _list(_every("2", "20", "2"), _every("5", "45", "5"))),
            "band": (1, {"kg": _BANDS, "lb": _BANDS}),
        },
        ("flat_bench", "incline_bench", "pull_up_bar", "low_bench_or_step", "space_to_walk"),
    ),
    "hotel-gym": StationSet(
        gettext_lazy("Hotel gym"),
        gettext_lazy("Dumbbells to 24, one cable, a few machines, a bench."),
        {
            "dumbbell": (1, _list(_every("2", "24", "2"), _every("5", "50", "5"))),
            "cable": (1, _CABLE),
            "chest_press_machine": (1, _MACHINE),
            "leg_extension_machine": (1, _MACHINE),
        },
        ("flat_bench", "incline_bench", "stability_ball", "low_bench_or_step"),
    ),
    "hotel-room": StationSet(
        gettext_lazy("Hotel room"),
        gettext_lazy("Bands with a door anchor, two or three pairs of light dumbbells, a chair, a step."),
        {
            "dumbbell": (1, _list(["4", "6", "8"], ["10", "15", "20"])),
            "band": (1, {"kg": _BANDS, "lb": _BANDS}),
        },
        ("band_anchor", "chair", "low_bench_or_step"),
    ),
}
