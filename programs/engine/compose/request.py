"""What composing a week is asked, and what it answers: plain, frozen values."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from programs.engine.compose.weights import USUAL, Weights
from programs.engine.constants import GENERAL_WARM_UP_S
from programs.engine.dose import Dose, Judgement
from programs.engine.terms import Because, Exercise, Limit, Pick


@dataclass(frozen=True, slots=True)
class Slot:
    """One line of a day type: an intent that an exercise fills.

    ``regions`` names the target first and then what is equally accepted. ``reps`` and ``candidates`` hold one
    entry an occurrence; an occurrence beyond the last entry starts again with the first. ``priority`` 1 is
    kept longest when minutes are short. Slots of one day type with the same ``superset`` are done in turns.
    """

    key: str
    day: str
    regions: tuple[str, ...]
    role: str
    sets_low: int
    sets_high: int
    title: str = ""
    patterns: tuple[str, ...] = ()  # preferred; empty means any
    reps: tuple[tuple[int, int], ...] = ((8, 12),)
    rir: float | None = 2
    rest_s: int | None = None  # None: the exercise's own
    tempo: str = ""  # empty: the exercise's own
    superset: str = ""
    priority: int = 2
    candidates: tuple[tuple[str, ...], ...] = ()

    def reps_on(self, occurrence: int) -> tuple[int, int]:
        return self.reps[occurrence % len(self.reps)]

    def ranked_on(self, occurrence: int) -> tuple[str, ...]:
        return self.candidates[occurrence % len(self.candidates)] if self.candidates else ()

    @property
    def usual_sets(self) -> int:
        return (self.sets_low + self.sets_high) // 2


@dataclass(frozen=True, slots=True)
class DayType:
    """A kind of training day. It comes round ``occurrences`` times a cycle: A, B, C."""

    key: str
    name: str
    occurrences: int
    slots: tuple[Slot, ...]
    extra_minutes: float = 0.0  # free lines: mobility, conditioning


@dataclass(frozen=True, slots=True)
class WeekRequest:
    """A client's week to fill.

    ``stations`` are the station kinds at the place ("bodyweight" is always there). ``skill_allowed`` is the
    highest skill the coach lets the client use; None: what the experience allows. ``ranges`` (group to lowest
    and highest counted weekly sets) and ``session_ceilings`` (group to counted sets) replace the published
    figures wholly where the practice has set its own. ``cycle_days`` is how long one round of all the day
    types takes; the dose is reckoned for seven days. ``previous`` are exercises of the last block that still
    serve, ``stalled`` those that no longer do, ``due`` those that were done long enough to be rotated.
    ``weights`` are what the practice lets each rule weigh.
    """

    day_types: tuple[DayType, ...]
    library: Mapping[str, Exercise]
    experience: str = "intermediate"
    priorities: Mapping[str, str] = field(default_factory=dict)
    age: int | None = None
    stations: frozenset[str] = frozenset()
    limits: tuple[Limit, ...] = ()
    excluded: frozenset[str] = frozenset()
    skill_allowed: str | None = None
    minutes_cap: float | None = None
    pins: tuple[Pick, ...] = ()
    likes: frozenset[str] = frozenset()
    dislikes: frozenset[str] = frozenset()
    previous: frozenset[str] = frozenset()
    stalled: frozenset[str] = frozenset()
    due: frozenset[str] = frozenset()
    ranges: Mapping[str, tuple[float, float]] | None = None
    session_ceilings: Mapping[str, float] | None = None
    cycle_days: float = 7.0
    general_warm_up_s: float = GENERAL_WARM_UP_S
    weights: Weights = USUAL


@dataclass(frozen=True, slots=True)
class Freeing:
    """One way to get an empty slot filled: every step is needed. ``opens`` are the exercises it lets in.

    ``needs_tick`` marks a step that loads a spared joint: never to be taken without the coach's explicit tick.
    """

    steps: tuple[Because, ...]
    opens: tuple[str, ...]
    cost: int
    needs_tick: bool = False


@dataclass(frozen=True, slots=True)
class Unfilled:
    """A slot left empty: why, and what would free it, cheapest for the coach first."""

    slot: str
    occurrence: int
    reasons: tuple[Because, ...]
    frees: tuple[Freeing, ...] = ()


@dataclass(frozen=True, slots=True)
class GroupDose:
    """A group's sets for seven days, and what they are against the range that applies."""

    dose: Dose
    judged: Judgement


@dataclass(frozen=True, slots=True)
class SessionMinutes:
    """One session's length in minutes and working sets, with the cap that applies."""

    day: str
    occurrence: int
    minutes: float
    cap: float | None
    sets: int


@dataclass(frozen=True, slots=True)
class Audit:
    """A week as it stands, whoever put it together."""

    dose: Mapping[str, GroupDose]
    minutes: tuple[SessionMinutes, ...]
    session_dose: Mapping[tuple[str, int], Mapping[str, Dose]]  # (day, occurrence) -> group -> dose
    working_sets: int  # a cycle, all exercises
    patterns_missing: tuple[str, ...]
    pull_to_push: float | None
    warnings: tuple[Because, ...]


@dataclass(frozen=True, slots=True)
class RunnerUp:
    """The next best exercise for a pick, all else the same, and how much worse it scores."""

    exercise: str
    behind_by: int


@dataclass(frozen=True, slots=True)
class Explanation:
    """Why a pick was taken: what spoke for it, what against, and who came next."""

    slot: str
    occurrence: int
    exercise: str
    decided_by: tuple[Because, ...]
    despite: tuple[Because, ...]
    runners_up: tuple[RunnerUp, ...]
    facts: tuple[Because, ...] = ()


@dataclass(frozen=True, slots=True)
class Proof:
    """How good a week is known to be.

    ``kind``: "proven" (no week costs less), "best_found" (the solver's limit came first: at most ``off_by`` points
    from the best), "settled" (the best around a change, all else kept) or "searched" (found without the solver,
    nothing proven). ``solver`` is its name and version. ``among``: where slots have very many exercises to choose
    from, how many of them, the best by themselves, the proof looked at; None for all.
    """

    kind: str = "searched"
    off_by: int | None = None
    solver: str = ""
    among: int | None = None


@dataclass(frozen=True, slots=True)
class ComposedWeek:
    """A filled week with its audit; the picks stand in the order of the day types and their slots."""

    picks: tuple[Pick, ...]
    unfilled: tuple[Unfilled, ...]
    dose: Mapping[str, GroupDose]
    minutes: tuple[SessionMinutes, ...]
    warnings: tuple[Because, ...]
    explanations: Mapping[tuple[str, int], Explanation]
    cost: int
    audit: Audit
    proof: Proof = Proof()


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another exercise for one slot and what the week would become with it."""

    exercise: str
    sets: int
    behind_by: int  # negative where it would even be better by the rules
    dose_changes: Mapping[str, float]  # group -> counted sets a week, changed ones only
    minutes_change: float
    verdict_changes: Mapping[str, tuple[str, str]]  # group -> verdict before and after
    reasons: tuple[Because, ...]
    picks: tuple[Pick, ...]  # what to change to have it: the place itself and, in exchange, a sibling
    swaps_with: int | None = None  # the occurrence that takes the present exercise in exchange


@dataclass(frozen=True, slots=True)
class LeftOut:
    """An exercise for the slot's region that a rule keeps out."""

    exercise: str
    reasons: tuple[Because, ...]


@dataclass(frozen=True, slots=True)
class Alternatives:
    ranked: tuple[Alternative, ...]
    left_out: tuple[LeftOut, ...]
