"""Sets over the rounds of a block: flat, or a ramp under the guards, with easier rounds where they are planned.

A round is a week, or one turn of a rolling cycle. The composed week says what is trained; here it is said how many
sets each pick has in every round. A ramp adds a set to a pick within its slot's range, the first slots first, as long
as the session's minutes and ceilings, the group's weekly range and the guard against steep rises allow; what holds a
step back is told. Sets never fall from one round to the next except into an easier round.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from programs.engine.compose.evaluate import by_place
from programs.engine.compose.measures import (
    QUARTERS,
    ROUNDING,
    WEEK_DAYS,
    ceiling_quarters,
    day_seconds,
    group_quarters,
    judged,
    range_quarters,
    work_of,
)
from programs.engine.compose.request import DayType, GroupDose, SessionMinutes, Slot, WeekRequest
from programs.engine.constants import FIRST_SESSION_SETS_SHARE
from programs.engine.dose import Dose, Rise, rise_guard, weekly
from programs.engine.progress.steps import DELOAD_RIR, MOST_RIR, eased_sets, share_of_sets
from programs.engine.terms import Because, Params, Pick
from programs.engine.vocabulary import AUDITED_GROUPS, GROUPS

KINDS: Final = ("flat", "ramp")
EVERY_MOST: Final = 4  # a ramp with a longer step than a month is none
GUARD_DAYS: Final = 28  # a week is held against the mean of the four before it
LEAST_PLANNED_RIR: Final = 1.0  # a countdown stops here: no set to failure is planned
HARDER_BY: Final = 1.0

Place = tuple[str, int]  # slot key and occurrence


@dataclass(frozen=True, slots=True)
class SetsPlan:
    """How the sets run over a block.

    ``kind`` "flat" or "ramp"; a ramp adds a set ``every`` so many rounds and starts from the composed sets, or with
    ``below`` from one less. ``last_harder``: one less in reserve in the last round that is not an easier one.
    Raises ValueError for another kind or step.
    """

    kind: str = "flat"
    every: int = 1
    below: bool = False
    last_harder: bool = False

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"no such course of sets: {self.kind}")
        if not 1 <= self.every <= EVERY_MOST:
            raise ValueError(f"a step every {self.every} rounds")


FLAT: Final = SetsPlan()


@dataclass(frozen=True, slots=True)
class Round:
    """One round: the picks with its sets, what they come to in seven days, and the minutes of its sessions."""

    number: int
    deload: bool
    harder: bool
    picks: tuple[Pick, ...]
    dose: Mapping[str, GroupDose]
    minutes: tuple[SessionMinutes, ...]

    @property
    def sets(self) -> int:
        return sum(pick.sets for pick in self.picks)

    def rir(self, usual: float, least: float = LEAST_PLANNED_RIR) -> float:
        """Reps in reserve in this round: two more in an easier one, one less in a harder one, never below ``least``
        and one; what is already lower stays."""
        if self.deload:
            return min(usual + DELOAD_RIR, MOST_RIR)
        if self.harder:
            return min(usual, max(usual - HARDER_BY, least, LEAST_PLANNED_RIR))
        return usual


@dataclass(frozen=True, slots=True)
class Held:
    """A step of the ramp that was not taken in a round, and why."""

    round: int
    slot: str
    occurrence: int
    reason: Because


@dataclass(frozen=True, slots=True)
class Course:
    """The rounds of a block in order, the steps held back, and rises of its first round over the weeks before."""

    rounds: tuple[Round, ...]
    held: tuple[Held, ...] = ()
    cautions: tuple[Because, ...] = ()


def course(
    request: WeekRequest,
    picks: Collection[Pick],
    rounds: int,
    *,
    plan: SetsPlan = FLAT,
    deload: Collection[int] = (),
    before: Sequence[Mapping[str, float]] = (),
    fixed: Collection[Place] = (),
    careful: Place | None = None,
) -> Course:
    """The sets of every pick in every round.

    ``deload`` numbers the easier rounds, from 1: half of the sets, rounded up. ``before`` are counted sets by group
    of the weeks before the block, at most four count, the oldest first; without any, later rounds are held against
    the first. ``fixed`` are places whose sets stay as they are. ``careful`` is the session (day type, occurrence)
    that is a client's very first: about two thirds of its sets in round one, which the guard does not count as less.
    """
    return _Course(request, picks, plan, frozenset(fixed)).run(rounds, frozenset(deload), before, careful)


class _Course:
    def __init__(self, request: WeekRequest, picks: Collection[Pick], plan: SetsPlan, fixed: frozenset[Place]) -> None:
        self.request, self.plan = request, plan
        self.at = by_place(request, picks)
        self.slots: dict[str, tuple[DayType, Slot]] = {
            slot.key: (day, slot) for day in request.day_types for slot in day.slots
        }
        self.quarters = {pick.exercise: group_quarters(request.library[pick.exercise]) for pick in self.at.values()}
        self.ceilings, self.ranges = ceiling_quarters(request), range_quarters(request)
        self.start = {place: self._start(place, fixed) for place in self.at}
        self.sets = dict(self.start)
        self.most = {
            place: self.start[place] if place in fixed else max(self.start[place], self._slot(place).sets_high)
            for place in self.at
        }
        ranks = sorted({self._slot(place).priority for place in self.at})
        self.rank = {place: ranks.index(self._slot(place).priority) for place in self.at}
        self.trail: list[tuple[float, Mapping[str, float]]] = []
        self.held: list[Held] = []
        self._known: dict[tuple[int, ...], tuple[Mapping[str, GroupDose], tuple[SessionMinutes, ...]]] = {}

    def run(
        self, rounds: int, deload: frozenset[int], before: Sequence[Mapping[str, float]], careful: Place | None
    ) -> Course:
        self.trail = [(WEEK_DAYS, week) for week in before[-(GUARD_DAYS // WEEK_DAYS) :]]
        cautions = self._cautions() if before else ()
        last = max((number for number in range(1, rounds + 1) if number not in deload), default=0)
        found, done = [], 0
        for number in range(1, rounds + 1):
            easier = number in deload
            if not easier:
                if self.plan.kind == "ramp" and done:
                    self._climb(number, done // self.plan.every)
                done += 1
            sets = {place: eased_sets(n) if easier else n for place, n in self.sets.items()}
            self.trail.append((self.request.cycle_days, self._counted(sets)))
            if number == 1 and careful is not None:
                sets = self._careful(careful, easier=easier)
            found.append(self._round(number, sets, deload=easier, harder=self.plan.last_harder and number == last))
        return Course(tuple(found), tuple(self.held), cautions)

    def _start(self, place: Place, fixed: frozenset[Place]) -> int:
        composed = self.at[place].sets
        if self.plan.kind == "flat" or not self.plan.below or place in fixed:
            return composed
        return min(composed, max(1, composed - 1, self._slot(place).sets_low))

    def _slot(self, place: Place) -> Slot:
        return self.slots[place[0]][1]

    def _careful(self, session: Place, *, easier: bool) -> dict[Place, int]:
        """The first round with the sets of one session cut to what a first session holds."""
        found = {}
        for place, usual in self.sets.items():
            here = (self.slots[place[0]][0].key, place[1]) == session
            sets = share_of_sets(usual, FIRST_SESSION_SETS_SHARE) if here else usual
            found[place] = eased_sets(sets) if easier else sets
        return found

    # the ramp

    def _climb(self, number: int, step: int) -> None:
        """One set more wherever the step asks for it, the first slots first; lesser slots come a step later."""
        for place in sorted(self.at, key=lambda place: self.rank[place]):
            wanted = min(self.most[place], self.start[place] + max(0, step - self.rank[place]))
            if self.sets[place] >= wanted:
                continue
            against = self._against(place)
            if against is None:
                self.sets[place] += 1
            else:
                self.held.append(Held(number, *place, against))

    def _against(self, place: Place) -> Because | None:
        """What keeps a pick from one set more, or None."""
        day, occurrence = self.slots[place[0]][0], place[1]
        pick = self.at[place]
        here: Params = {
            "day": day.key,
            "occurrence": occurrence,
            "exercise": pick.exercise,
            "sets": self.sets[place],
        }
        more = {**self.sets, place: self.sets[place] + 1}
        cap = self.request.minutes_cap
        if cap is not None and self._seconds(day, occurrence, more) > cap * 60 + ROUNDING:
            return Because("course.held_minutes", {**here, "cap": cap})
        gained = {group: quarters for group, quarters in self.quarters[pick.exercise].items() if quarters}
        session = self._quarters(more, (day.key, occurrence))
        for group in gained:
            ceiling = self.ceilings.get(group)
            if ceiling is not None and session[group] > ceiling:
                return Because("course.held_ceiling", {**here, "group": group, "ceiling": ceiling / QUARTERS})
        week = self._quarters(more)
        for group in gained:
            limits = self.ranges.get(group)
            if limits is not None and week[group] > limits[1]:
                high = self._a_week(limits[1])
                return Because("course.held_range", {**here, "group": group, "high": round(high, 2)})
        for group in gained:
            found = self._rise(group, self._a_week(week[group]))
            if group in AUDITED_GROUPS and found is not None and found.verdict != "fine":
                return Because("course.held_guard", {**here, "group": group, **self._told(found, group)})
        return None

    # the guard

    def _mean(self, group: str) -> float | None:
        """A group's weekly sets over the last 28 days; of fewer the first that is known; None where nothing is."""
        if not self.trail:
            return None
        left, total = float(GUARD_DAYS), 0.0
        for days, counted in reversed(self.trail):
            taken = min(days, left)
            total += taken * counted.get(group, 0.0)
            left -= taken
            if left <= ROUNDING:
                return total / GUARD_DAYS
        return self.trail[0][1].get(group, 0.0)

    def _rise(self, group: str, now: float) -> Rise | None:
        mean = self._mean(group)
        return None if mean is None else rise_guard(now, mean)

    def _told(self, rise: Rise, group: str) -> Params:
        mean = self._mean(group) or 0.0
        percent = None if rise.share is None else round(100 * rise.share)
        return {"now": round(mean + rise.sets, 2), "mean": round(mean, 2), "percent": percent}

    def _cautions(self) -> tuple[Because, ...]:
        found = []
        for group, now in self._counted(self.sets).items():
            rise = self._rise(group, now)
            if rise is None or rise.verdict == "fine" or group not in AUDITED_GROUPS:
                continue
            told: Params = {"group": group, **self._told(rise, group)}
            if rise.verdict == "warn":
                found.append(Because("course.rise_warn", told))
            elif rise.verdict == "ask":
                found.append(Because("course.rise_ask", told))
            else:
                found.append(Because("course.rise_refuse", told))
        if found and not any(sets for _days, week in self.trail for sets in week.values()):
            return (Because("course.rise_from_nothing", {}),)
        return tuple(found)

    # sums

    def _quarters(self, sets: Mapping[Place, int], session: Place | None = None) -> dict[str, int]:
        """Quarter sets by group: of a round, or of one session (day type, occurrence)."""
        found: dict[str, int] = {}
        for (slot, occurrence), count in sets.items():
            if session is not None and (self.slots[slot][0].key, occurrence) != session:
                continue
            for group, each in self.quarters[self.at[slot, occurrence].exercise].items():
                found[group] = found.get(group, 0) + each * count
        return found

    def _a_week(self, quarters: int) -> float:
        return quarters / QUARTERS * WEEK_DAYS / self.request.cycle_days

    def _counted(self, sets: Mapping[Place, int]) -> dict[str, float]:
        found = self._quarters(sets)
        return {group: self._a_week(found[group]) for group in GROUPS if found.get(group)}

    def _seconds(self, day: DayType, occurrence: int, sets: Mapping[Place, int]) -> float:
        own = {slot.key for slot in day.slots}
        picks = [replace(self.at[place], sets=n) for place, n in sets.items() if place[0] in own]
        return day_seconds(self.request, day, occurrence, picks)

    def _round(self, number: int, sets: Mapping[Place, int], *, deload: bool, harder: bool) -> Round:
        picks = tuple(replace(self.at[place], sets=n) for place, n in sets.items())
        key = tuple(sets.values())
        if key not in self._known:
            self._known[key] = self._dose(picks), self._minutes(sets)
        dose, minutes = self._known[key]
        return Round(number, deload, harder, picks, dose, minutes)

    def _dose(self, picks: Sequence[Pick]) -> dict[str, GroupDose]:
        work = []
        for day in self.request.day_types:
            own = {slot.key for slot in day.slots}
            work += work_of(self.request, day.key, [pick for pick in picks if pick.slot in own])
        doses = weekly(work)
        return {
            group: GroupDose(doses.get(group, Dose()), judged(self.request, group, doses.get(group, Dose()).counted))
            for group in GROUPS
        }

    def _minutes(self, sets: Mapping[Place, int]) -> tuple[SessionMinutes, ...]:
        found = []
        for day in self.request.day_types:
            own = {slot.key for slot in day.slots}
            for occurrence in range(day.occurrences):
                count = sum(n for (slot, at), n in sets.items() if slot in own and at == occurrence)
                minutes = self._seconds(day, occurrence, sets) / 60
                found.append(SessionMinutes(day.key, occurrence, minutes, self.request.minutes_cap, count))
        return tuple(found)
