"""The warm-up before working sets, and the way to a first load for somebody without history.

Shares of the working load are coaching practice on the basis of the specific warm-up trials (a few sets, the last
near 80 %): International Journal of Environmental Research and Public Health 2020, 17:6882; Iversen et al. 2021.
"""

from dataclasses import dataclass
from typing import Final

from programs.engine.constants import KILOGRAMS_PER_POUND
from programs.engine.racks import Rack

Step = tuple[float, int]

MAIN_HEAVY: Final[tuple[Step, ...]] = ((0.40, 5), (0.60, 4), (0.75, 3), (0.90, 1))
MAIN: Final[tuple[Step, ...]] = ((0.50, 8), (0.75, 4))
SECONDARY: Final[tuple[Step, ...]] = ((0.60, 6),)
LIGHT: Final[tuple[Step, ...]] = ((0.50, 8),)
HEAVY_REPS: Final = 5
MAIN_REPS: Final = 12
NO_RAMP_ABOVE_REPS: Final = 20
HEAVY_AGAINST_LIGHTEST: Final = 2.0
EMPTY_BAR_REPS: Final = 8
EMPTY_BAR_FROM: Final = 1.75  # first step against the bar
CLOSEST_KG: Final = 5.0
CLOSEST_SHARE: Final = 0.10
MOST_SHARE: Final = 0.92

FINDING_TRIES: Final = 4
FINDING_GO_ON_RIR: Final = 4  # rise while at least so many are left
FINDING_STOP_RIR: Final = 3
FINDING_RISE: Final = 1.2  # from try to try; coaching practice


def warmup(load: float, reps: int, rack: Rack, role: str, first_for_regions: bool = True) -> list[tuple[float, int]]:
    """Warm-up sets (load, reps) before the first working set of ``reps`` at ``load``, all on the rack.

    Rounded down, never under the lightest load, none above 92 % of the working load, none closer to the one before
    than 5 kg or a tenth of the working load. Nothing for ordinal racks and for help taken off bodyweight.
    """
    lightest = rack.lightest
    if lightest is None or rack.ordinal or rack.falls or load <= 0 or reps > NO_RAMP_ABOVE_REPS:
        return []
    scheme = _scheme(load, reps, lightest, role, first_for_regions)
    closest = max(CLOSEST_KG if rack.unit == "kg" else CLOSEST_KG / KILOGRAMS_PER_POUND, CLOSEST_SHARE * load)
    steps: list[tuple[float, int]] = []
    for share, repetitions in scheme:
        step = rack.at_most(share * load)
        steps.append((lightest if step is None else step, repetitions))
    bar = rack.loading(lightest)
    if (
        role == "main"
        and bar is not None
        and bar.bar is not None
        and steps
        and steps[0][0] >= EMPTY_BAR_FROM * lightest
    ):
        steps.insert(0, (lightest, EMPTY_BAR_REPS))
    kept: list[tuple[float, int]] = []
    for step, repetitions in steps:
        too_close = bool(kept) and step - kept[-1][0] < closest - 1e-9
        if step <= 0 or too_close or step > MOST_SHARE * load:
            continue
        kept.append((step, repetitions))
    return kept


def _scheme(load: float, reps: int, lightest: float, role: str, first: bool) -> tuple[Step, ...]:
    if role == "main" and reps <= MAIN_REPS:
        return MAIN_HEAVY if reps <= HEAVY_REPS else MAIN
    if role == "secondary" and reps <= MAIN_REPS:
        heavy = lightest > 0 and load >= HEAVY_AGAINST_LIGHTEST * lightest
        return SECONDARY if first or heavy else ()
    return LIGHT if first else ()


@dataclass(frozen=True, slots=True)
class LoadFinding:
    """How to find a first working load: try these in turn, rise while ``go_on_rir`` or more are left, stop when
    ``stop_rir`` are; the load reached is the baseline."""

    loads: tuple[float, ...]
    reps: int
    go_on_rir: int = FINDING_GO_ON_RIR
    stop_rir: int = FINDING_STOP_RIR


def load_finding(rack: Rack, reps: int) -> LoadFinding:
    """At most four tries on the rack, from the lightest (on an assisted machine: from the most help)."""
    tries: list[float] = []
    present = rack.heaviest if rack.falls else rack.lightest
    while present is not None and len(tries) < FINDING_TRIES:
        tries.append(present)
        if rack.ordinal or rack.falls or present <= 0:
            present = rack.harder(present)
        else:
            wanted = rack.at_least(present * FINDING_RISE)
            present = wanted if wanted is not None else rack.harder(present)
    return LoadFinding(tuple(tries), reps)
