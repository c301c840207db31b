"""The warm-up before working sets, and the way to a first load for somebody without history.

Shares of the working load are coaching practice on the basis of the specific warm-up trials (a few sets, the last
near 80 %): International Journal of Environmental Research and Public Health 2020, 17:6882; Iversen et al. 2021.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from programs.engine.constants import CURVE_MAX_RIR, FIRST_SESSION_SETS_SHARE
from programs.engine.racks import Rack
from programs.engine.strength import share_of_max
from programs.engine.terms import Because, Exercise

Step = tuple[float, int]

MAIN_HEAVY: Final[tuple[Step, ...]] = ((0.40, 5), (0.60, 4), (0.75, 3), (0.90, 1))
MAIN: Final[tuple[Step, ...]] = ((0.50, 8), (0.75, 4))
SECONDARY: Final[tuple[Step, ...]] = ((0.60, 6),)
LIGHT: Final[tuple[Step, ...]] = ((0.50, 8),)
USUAL_HEAVY: Final = tuple(reps for _share, reps in MAIN_HEAVY)
USUAL_MAIN: Final = tuple(reps for _share, reps in MAIN)
USUAL_SECONDARY: Final = tuple(reps for _share, reps in SECONDARY)
HEAVY_REPS: Final = 5
MAIN_REPS: Final = 12
NO_RAMP_ABOVE_REPS: Final = 20
HEAVY_AGAINST_LIGHTEST: Final = 2.0
EMPTY_BAR_REPS: Final = 8
EMPTY_BAR_FROM: Final = 1.75  # first step against the bar
CLOSEST: Final = {"kg": 5.0, "lb": 10.0}
CLOSEST_SHARE: Final = 0.10
MOST_SHARE: Final = 0.92

# Load entries that are ramped up to; bodyweight, bands and help taken off start where they are.
RAMPED: Final = frozenset(("total", "per_hand", "stack"))

FINDING_TRIES: Final = 4
FINDING_GO_ON_RIR: Final = 4  # rise while at least so many are left
FINDING_STOP_RIR: Final = 3
FINDING_RISE: Final = 1.2  # from try to try where clearly more than four are left; coaching practice


def usual_warm_ups(exercise: Exercise, reps_high: int) -> tuple[int, ...]:
    """Repetitions of each warm-up that the exercise's role usually gets before sets of so many; loads aside.

    For timing a session whose loads are not decided yet.
    """
    if exercise.load_entry not in RAMPED or exercise.rep_unit != "reps" or reps_high > MAIN_REPS:
        return ()
    if exercise.role == "main":
        return USUAL_HEAVY if reps_high <= HEAVY_REPS else USUAL_MAIN
    return USUAL_SECONDARY if exercise.role == "secondary" else ()


def warmup(load: float, reps: int, rack: Rack, role: str, first_for_regions: bool = True) -> list[tuple[float, int]]:
    """Warm-up sets (load, reps) before the first working set of ``reps`` at ``load``, all on the rack.

    Rounded down, never under the lightest load, none above 92 % of the working load, none closer to the one before
    than 5 kg (10 lb) or a tenth of the working load. The bar alone comes first on main lifts that start far above
    it. Nothing for ordinal racks and for help taken off bodyweight.
    """
    rack = rack.on_bar_of(load)
    lightest = rack.lightest
    if lightest is None or rack.ordinal or rack.falls or load <= 0 or reps > NO_RAMP_ABOVE_REPS:
        return []
    scheme = _scheme(load, reps, lightest, role, first_for_regions)
    closest = max(CLOSEST.get(rack.unit, 0.0), CLOSEST_SHARE * load)
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
    ``stop_rir`` are; the load reached is the baseline. ``because`` says why it is asked for."""

    loads: tuple[float, ...]
    reps: int
    go_on_rir: int = FINDING_GO_ON_RIR
    stop_rir: int = FINDING_STOP_RIR
    because: Because = field(default_factory=lambda: Because("load_not_known_yet"))


@dataclass(frozen=True, slots=True)
class NextTry:
    """What follows a try: another at ``load``, or with ``found`` the baseline. Neither where nothing is light
    enough here."""

    load: float | None
    found: bool
    because: Because


def load_finding(rack: Rack, reps: int, start: float | None = None) -> LoadFinding:
    """At most four tries of ``reps`` on the rack, for paper: the loads when each leaves plenty.

    From the lightest (on an assisted machine: from the most help), or from the coach's ``start`` rounded to the
    easier side; ``next_try`` follows what is really left.
    """
    first = rack.easiest if start is None else rack.not_harder(start)
    present = rack.easiest if first is None else first
    tries: list[float] = []
    while present is not None and len(tries) < FINDING_TRIES:
        tries.append(present)
        present = _rise(rack, present)
    return LoadFinding(tuple(tries), reps)


def next_try(rack: Rack, reps: int, tried: Sequence[tuple[float, float | None]]) -> NextTry:
    """After the tries so far, each (load, reps left after ``reps``; None not said): the next load, or the load found.

    Five or more left: a clear rise. Four: one step, unless by the curve it could not be done in full. Three ends
    it; fewer means that the load found is the one that the curve gives for three left, not harder than the last.
    ``tried`` is empty before the first try.
    """
    if not tried:
        return NextTry(rack.easiest, False, Because("finding_starts_light"))
    load, left = tried[-1]
    if left is None:
        return NextTry(load, False, Because("finding_effort_unknown"))
    if left < FINDING_STOP_RIR:
        return _too_hard(rack, reps, load, left)
    if left < FINDING_GO_ON_RIR:
        return NextTry(load, True, Because("finding_found", {"rir": left}))
    if len(tried) >= FINDING_TRIES:
        return NextTry(load, True, Because("finding_tries_done", {"tries": FINDING_TRIES, "rir": left}))
    harder = _rise(rack, load) if left > CURVE_MAX_RIR else rack.harder(load)
    if harder is None:
        return NextTry(load, True, Because("finding_load_ceiling", {"load": load}))
    if left <= CURVE_MAX_RIR and _weighed(rack) and _too_big(load, reps, left, harder):
        return NextTry(load, True, Because("finding_step_too_big", {"load": harder}))
    return NextTry(harder, False, Because("finding_goes_on", {"rir": left}))


def first_session_sets(sets: int) -> int:
    """Sets of a first session: about two thirds of the planned ones, at least one."""
    return max(1, round(sets * FIRST_SESSION_SETS_SHARE))


def _weighed(rack: Rack) -> bool:
    return not (rack.ordinal or rack.falls)


def _rise(rack: Rack, load: float) -> float | None:
    if not _weighed(rack) or load <= 0:
        return rack.harder(load)
    raised = rack.at_least(load * FINDING_RISE)
    return rack.harder(load) if raised is None else raised


def _too_big(load: float, reps: int, left: float, harder: float) -> bool:
    """By the curve's shape alone, which serves as a brake also where it is too flat to estimate from."""
    return harder * share_of_max(reps, left) > load * share_of_max(reps, 0) > 0


def _too_hard(rack: Rack, reps: int, load: float, left: float) -> NextTry:
    lighter = rack.easier(load)
    if _weighed(rack):
        lighter = rack.at_most(load * share_of_max(reps, FINDING_STOP_RIR) / share_of_max(reps, left))
    return NextTry(lighter, lighter is not None, Because("finding_too_heavy", {"load": load, "rir": left}))
