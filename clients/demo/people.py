"""Who is in the demo. Everybody and everything here is invented; Harrowmouth is on no map."""

from dataclasses import dataclass, field
from typing import Any

PLATES = ("25", "20", "15", "10", "5", "2.5", "1.25")


def _steps(start: float, stop: float, step: float) -> list[str]:
    count = round((stop - start) / step)
    return [f"{start + index * step:g}" for index in range(count + 1)]


def _bar(weight: str, unit: str = "kg") -> list[dict[str, Any]]:
    return [{"name": "bar", "weight": weight, "unit": unit}]


def _plates(sizes: tuple[str, ...], count: int, unit: str = "kg") -> list[dict[str, Any]]:
    return [{"weight": size, "unit": unit, "count": count} for size in sizes]


def _stack(step: float, top: float) -> dict[str, Any]:
    return {"holes": _steps(step, top, step)}


def _plate_loaded(bar: str | None = None) -> dict[str, Any]:
    return {"bars": _bar(bar) if bar else [], "plates": _plates(PLATES, 12), "collars": "0"}


NET_LOFT: dict[str, dict[str, Any]] = {
    "barbell": _plate_loaded("20"),
    "trap_bar": _plate_loaded("25"),
    "curl_bar": _plate_loaded("10"),
    "smith_machine": _plate_loaded("15"),
    "dumbbell": {"list": [*_steps(2, 10, 1), *_steps(12, 40, 2)]},
    "kettlebell": {"list": ["8", "12", "16", "20", "24"]},
    "plate": {"list": ["1.25", "2.5", "5", "10", "15", "20"]},
    "cable": _stack(2.5, 80),
    "chest_press_machine": _stack(5, 100),
    "shoulder_press_machine": _stack(5, 80),
    "chest_fly_machine": _stack(5, 90),
    "assisted_pull_up_machine": _stack(5, 70),
    "row_machine": _plate_loaded(),
    "t_bar_row": _plate_loaded(),
    "leg_press": _plate_loaded(),
    "leg_extension_machine": _stack(5, 110),
    "seated_leg_curl": _stack(5, 90),
    "lying_leg_curl": _stack(5, 80),
    "standing_calf_machine": _stack(5, 160),
    "seated_calf_machine": _plate_loaded(),
    "hip_abduction_machine": _stack(5, 90),
}
ROOM_HAS = (
    "flat_bench",
    "incline_bench",
    "preacher_bench",
    "squat_stand",
    "pull_up_bar",
    "low_bar",
    "parallel_bars",
    "box",
    "low_bench_or_step",
    "back_extension_bench",
    "bar_anchor",
    "stability_ball",
    "space_to_walk",
)
KITCHEN: dict[str, dict[str, Any]] = {"dumbbell": {"list": _steps(2, 20, 2)}}
KITCHEN_HAS = ("flat_bench", "low_bench_or_step", "box", "foot_anchor")
# A garage where the old pound plates and the new kilogram ones hang on the same peg.
GARAGE: dict[str, dict[str, Any]] = {
    "barbell": {
        "bars": _bar("45", "lb"),
        "plates": [
            *_plates(("45", "25", "10", "5", "2.5"), 4, "lb"),
            {"weight": "20", "unit": "kg", "count": 2},
            {"weight": "10", "unit": "kg", "count": 2},
        ],
        "collars": "0",
    },
    "dumbbell": {"list": _steps(5, 75, 5)},
    "cable": _stack(10, 200),
    "leg_press": {"bars": [], "plates": _plates(("45", "25", "10", "5"), 8, "lb"), "collars": "0"},
    "lying_leg_curl": _stack(10, 150),
    "standing_calf_machine": _stack(10, 300),
}
GARAGE_HAS = ("flat_bench", "incline_bench", "squat_stand", "pull_up_bar", "low_bar", "low_bench_or_step", "box")


@dataclass(frozen=True)
class DemoPlace:
    name: str
    unit: str
    loaded: dict[str, dict[str, Any]]
    has: tuple[str, ...]


PLACES = {
    "loft": DemoPlace("Net Loft", "kg", NET_LOFT, ROOM_HAS),
    "kitchen": DemoPlace("Ilse, at home", "kg", KITCHEN, KITCHEN_HAS),
    "garage": DemoPlace("Dale’s garage", "lb", GARAGE, GARAGE_HAS),
}


@dataclass(frozen=True)
class DemoClient:
    """``strength`` scales the usual maxima; ``days`` are weekdays, Monday 0; ``away`` are weeks not trained."""

    name: str
    born: tuple[int, int, int]
    experience: str
    outline: str
    place: str = "loft"
    days: tuple[int, ...] = ()
    minutes: int = 75
    strength: float = 1.0
    weight: float = 75.0
    unit: str = "kg"
    order_mode: str = "fixed"
    training_years: float = 1.0
    goal: str = ""
    yes: tuple[str, ...] = ()
    cleared_by: str = ""
    guardian: str = ""
    limits: tuple[tuple[str, bool], ...] = ()
    more: tuple[str, ...] = ()
    away: tuple[int, ...] = ()
    attendance: float = 0.94
    rates_effort: bool = True
    taps_through: float = 0.05
    by_paper: bool = False
    large_print: bool = False
    pain: tuple[tuple[int, str, str, int], ...] = field(default=())  # days ago, part, side, score
    sends_sheets: bool = True
    # So many weeks ago they paused, to be back in the second number of weeks; or left.
    paused: tuple[int, int] | None = None
    left: int = 0
    note: str = ""


CLIENTS = (
    DemoClient(
        "Ilse Marlow",
        (1994, 3, 11),
        "novice",
        "dumbbells-two-days",
        place="kitchen",
        days=(1, 4),
        minutes=50,
        strength=0.55,
        weight=63,
        training_years=0.3,
        goal="Carry her own kayak up the slip.",
        rates_effort=False,
    ),
    DemoClient(
        "Rafa Gillow",
        (1989, 10, 2),
        "intermediate",
        "full-body-three-days",
        days=(),
        minutes=85,
        strength=0.95,
        weight=78,
        order_mode="list",
        training_years=2,
        attendance=0.8,
        taps_through=0.35,
        goal="Stay strong through rotating nights on the ward.",
        note="Rota comes out on the 20th; never fixed days.",
    ),
    DemoClient(
        "Wim Pollard",
        (1968, 1, 23),
        "intermediate",
        "full-body-three-days",
        days=(0, 2, 5),
        minutes=90,
        strength=0.85,
        weight=84,
        training_years=2.5,
        yes=("treated_blood_pressure",),
        cleared_by="Dr Anneke Sund, general practice",
        goal="Row the autumn regatta without his back complaining.",
    ),
    DemoClient(
        "Nadia Ferrow",
        (1991, 6, 30),
        "advanced",
        "upper-lower-four-days",
        days=(0, 1, 3, 4),
        minutes=90,
        strength=1.25,
        weight=69,
        training_years=6,
        limits=(("elbow", False),),
        more=("upper_back", "glutes"),
        pain=((24, "elbow", "right", 2), (3, "elbow", "right", 3)),
        goal="Bring up back and hips, keep the elbow quiet.",
    ),
    DemoClient(
        "Colm Brandt",
        (1983, 8, 19),
        "intermediate",
        "upper-lower-four-days",
        days=(0, 1, 3, 5),
        minutes=80,
        strength=1.05,
        weight=88,
        training_years=3,
        away=(7, 8, 9, 10),
        goal="Get back to where he was before the move.",
    ),
    DemoClient(
        "Dale Hartley",
        (1986, 12, 5),
        "intermediate",
        "full-body-three-days",
        place="garage",
        days=(0, 2, 4),
        minutes=90,
        strength=1.15,
        weight=92,
        unit="lb",
        training_years=2,
        goal="Press his own bodyweight.",
        by_paper=True,
    ),
    DemoClient(
        "Juno Tarn",
        (2011, 4, 14),
        "novice",
        "full-body-three-days",
        days=(1, 3, 5),
        minutes=65,
        strength=0.5,
        weight=58,
        training_years=0.2,
        guardian="Marit Tarn",
        goal="Get stronger for the sailing squad.",
        attendance=0.9,
    ),
    DemoClient(
        "Sefa Lindqvist",
        (1979, 2, 8),
        "intermediate",
        "upper-lower-four-days",
        days=(0, 2, 3, 5),
        minutes=80,
        strength=0.8,
        weight=71,
        training_years=4,
        large_print=True,
        sends_sheets=False,
        goal="Steady progress, sheets that read aloud well.",
        note="Uses a screen reader; sheets by link, not PDF.",
    ),
)

# One who pauses and one who has left: nothing of theirs waits on the desk.
GONE = (
    DemoClient(
        "Yrsa Halden",
        (1990, 9, 17),
        "intermediate",
        "full-body-three-days",
        days=(0, 2, 4),
        minutes=85,
        strength=0.75,
        weight=66,
        training_years=2,
        paused=(3, 2),
        goal="Haul all day and sleep well after it.",
        note="At sea with the relief crew; no gym on board.",
    ),
    DemoClient(
        "Zeno Karst",
        (1976, 5, 29),
        "novice",
        "full-body-three-days",
        days=(1, 3, 5),
        minutes=70,
        strength=0.8,
        weight=81,
        training_years=0.5,
        left=2,
        goal="Lift his grandchildren without thinking about it.",
    ),
)

# Usual maxima in kilograms of what is moved, for a lifter of strength 1, by pattern and load entry.
MAXIMA = {
    "horizontal_push": 85.0,
    "incline_push": 70.0,
    "decline_push": 95.0,
    "chest_fly": 40.0,
    "vertical_push": 52.0,
    "shoulder_abduction": 22.0,
    "shoulder_flexion": 24.0,
    "rear_delt_raise": 28.0,
    "shoulder_external_rotation": 12.0,
    "vertical_pull": 78.0,
    "shoulder_extension": 40.0,
    "horizontal_pull": 80.0,
    "scapular_elevation": 110.0,
    "scapular_upward_rotation": 10.0,
    "elbow_flexion": 36.0,
    "elbow_extension": 38.0,
    "squat": 120.0,
    "lunge": 70.0,
    "knee_extension": 75.0,
    "hinge": 140.0,
    "trunk_extension": 70.0,
    "hip_extension": 75.0,
    "hip_bridge": 150.0,
    "knee_flexion": 60.0,
    "hip_abduction": 60.0,
    "hip_adduction": 60.0,
    "hip_flexion": 25.0,
    "calf_raise": 130.0,
    "trunk_flexion": 50.0,
    "trunk_rotation": 25.0,
}
USUAL_MAXIMUM = 40.0
PER_HAND = 0.42  # one hand's share of the two-handed maximum
ONE_LIMB = 0.55
