"""What the engine's modules pass each other: plain, frozen values.

Loads are floats in one unit per call (the unit is the caller's affair and named where it matters).
Times carry their unit in the name. A result that a person will read carries ``Because`` reasons:
a code with parameters, rendered and translated far away from here.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

Params = Mapping[str, "str | int | float | bool | None"]


@dataclass(frozen=True, slots=True)
class Because:
    """One reason: a stable code and the values its sentence needs."""

    code: str
    params: Params = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RegionShare:
    """How far one set of an exercise counts for a region: 1, 0.5 or 0.25."""

    region: str
    share: float
    stretched: bool = False


@dataclass(frozen=True, slots=True)
class JointStress:
    """What an exercise asks of a joint or movement; severity 1 (some) to 3 (high)."""

    joint: str
    severity: int


@dataclass(frozen=True, slots=True)
class Exercise:
    """The facts of an exercise that choosing, counting and timing need. ``key`` is stable and unique."""

    key: str
    name: str
    pattern: str
    role: str
    regions: tuple[RegionShare, ...]
    implement: str  # a loaded station kind, or "bodyweight"
    load_entry: str
    skill: str = "basic"
    angle: str = ""
    grip: str = ""
    limbs: str = "two"
    needs_all: tuple[str, ...] = ()  # station kinds that must all be there, the implement excepted
    needs_one: tuple[tuple[str, ...], ...] = ()  # of each inner tuple at least one must be there
    joints: tuple[JointStress, ...] = ()
    rep_unit: str = "reps"
    rep_low: int = 6
    rep_high: int = 12
    rest_s: int = 120
    tempo: str = ""
    load_step: float = 2.5
    bodyweight_fraction: float = 0.0

    @property
    def unilateral(self) -> bool:
        return self.limbs == "one"

    def primary_regions(self) -> tuple[str, ...]:
        return tuple(entry.region for entry in self.regions if entry.share == 1)


@dataclass(frozen=True, slots=True)
class TargetSet:
    """One set to do. Exactly one of reps, seconds or metres is asked for; no load is not zero."""

    kind: str = "work"
    reps_low: int | None = None
    reps_high: int | None = None
    open_ended: bool = False
    seconds: int | None = None
    metres: int | None = None
    load: float | None = None
    rir: float | None = None
    rest_s: int | None = None
    tempo: str = ""


@dataclass(frozen=True, slots=True)
class SetDone:
    """One set as it was done; ``rir`` None means unknown, which is not zero."""

    reps: int | None = None
    load: float | None = None
    rir: float | None = None
    kind: str = "work"
    seconds: int | None = None
    metres: int | None = None
    as_planned: bool = False
    stopped_for_pain: bool = False


@dataclass(frozen=True, slots=True)
class Exposure:
    """One exercise in one trained session: what was asked, what was done, in order.

    ``one_day`` marks what stood in for something else on that day only; ``position`` is the exercise's place in the
    session as it was trained, from 1.
    """

    day: date
    done: tuple[SetDone, ...]
    asked: tuple[TargetSet, ...] = ()
    deload: bool = False
    slot: str = ""
    place: str = ""
    bodyweight: float | None = None
    one_day: bool = False
    position: int | None = None


@dataclass(frozen=True, slots=True)
class Limit:
    """A joint or movement to spare. ``strict`` means avoid; otherwise go easy."""

    joint: str
    strict: bool = True
    side: str = "both"


@dataclass(frozen=True, slots=True)
class Pick:
    """The exercise that fills a slot on one occurrence of its day type, with its number of sets."""

    slot: str
    occurrence: int  # 0 for A, 1 for B, 2 for C
    exercise: str  # key
    sets: int
    reasons: tuple[Because, ...] = ()
    pinned: bool = False
