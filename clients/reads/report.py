"""What a client has come to, from the first session to the last: gathered for the report that they are given."""

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from statistics import median

from django.db.models import Count, Q

from clients.clock import today_for
from clients.cycles import WEEK_DAYS, first_day
from clients.models import Client, TrainingSession
from clients.reads.block_work import NOT_WORK
from clients.reads.history import GRAMS_PER_KILOGRAM, history_of
from programs.engine.terms import Exposure
from programs.engine.trend import Point, Trend, estimates, trend
from programs.models import Exercise
from programs.units import GRAMS_PER_UNIT

LIFTS = 10
WEEKS_DRAWN = 26
ENDS = 3  # sessions that the first and the last level are the middle of
ROLES = ("main", "secondary")

State = TrainingSession.State


@dataclass(frozen=True, slots=True)
class BlockDone:
    """A block's sessions that were due by now, and how many of them were trained."""

    number: int
    name: str
    starts_on: date
    ends_on: date
    due: int
    trained: int


@dataclass(frozen=True, slots=True)
class LiftDone:
    """One exercise from its first sessions to its last: levels are estimated maxima of what was moved."""

    exercise: Exercise
    points: tuple[Point, ...]
    trend: Trend

    @property
    def first(self) -> float:
        return median(point.e1rm for point in self.points[:ENDS])

    @property
    def last(self) -> float:
        return median(point.e1rm for point in self.points[-ENDS:])


class Report:
    """Read when it is made, in a fixed number of queries however long the history; the rest is reckoned from memory."""

    def __init__(self, client: Client) -> None:
        self.client = client
        self.today = today_for(client)
        self.unit = client.unit
        self.history = history_of(client, self.unit)
        exercises = Exercise.objects.filter(pk__in=self.history.by_exercise)
        self.exercises = {row.pk: row for row in exercises}
        self._lapsed: Counter[int] = Counter()  # by block: sessions without a day whose round is over
        self.weeks = self._weeks()
        self.blocks = self._blocks()
        grams = GRAMS_PER_UNIT.get(self.unit, GRAMS_PER_KILOGRAM)
        rows = client.bodyweights.order_by("measured_on").values_list("measured_on", "grams")
        self.weights = [(day, float(weight / grams)) for day, weight in rows]

    @property
    def minor(self) -> bool:
        return self.client.is_minor_on(self.today)

    def _blocks(self) -> list[BlockDone]:
        open_ones = Q(sessions__state=State.PLANNED, sessions__planned_on__lt=self.today)
        trained = Q(sessions__state=State.TRAINED)
        rows = (
            self.client.blocks.select_related("outline")
            .defer("document")
            .annotate(
                trained=Count("sessions", filter=trained),
                due=Count("sessions", filter=trained | Q(sessions__state=State.MISSED) | open_ones),
            )
            .order_by("number")
        )
        done = [
            BlockDone(
                row.number,
                row.outline.name,
                row.starts_on,
                row.last_day,
                row.due + self._lapsed[row.pk],
                row.trained,
            )
            for row in rows
        ]
        return [block for block in done if block.due]

    def _weeks(self) -> list[list[str]]:
        """What became of the sessions, a list a week, up to the last week with one that was due.

        Of those without a day, what a round still lacked when it was over was due in it.
        """
        since = self._week_of(self.today) - timedelta(weeks=WEEKS_DRAWN - 1)
        rows = TrainingSession.objects.for_client(self.client).filter(
            Q(planned_on__range=(since, self.today)) | Q(planned_on=None, block__starts_on__lte=self.today)
        )
        ordered = list(
            rows.order_by("planned_on", "cycle", "position").values_list(
                "block", "planned_on", "trained_on", "state", "block__starts_on", "cycle", "block__cycle_days"
            )
        )
        enough = self.client.week_minimum
        settled = Counter(
            (block, cycle)
            for block, planned, _trained, state, _starts, cycle, _days in ordered
            if planned is None and state in (State.TRAINED, State.MISSED)
        )
        found: dict[date, list[str]] = {}
        for block, planned, trained, state, starts, cycle, days in ordered:
            day = planned or trained or first_day(starts, cycle, days)
            over = planned < self.today if planned is not None else first_day(starts, cycle + 1, days) <= self.today
            word = _became(state, over=over)
            if planned is None and state == State.PLANNED and over:
                if enough is not None and settled[block, cycle] >= enough:
                    continue
                settled[block, cycle] += 1
                self._lapsed[block] += 1
            if since <= day <= self.today and word:
                found.setdefault(self._week_of(day), []).append(word)
        if not found:
            return []
        first, last = min(found), max(found)
        return [found.get(first + timedelta(weeks=n), []) for n in range((last - first).days // 7 + 1)]

    def _week_of(self, day: date) -> date:
        """The first day of its week."""
        return day - timedelta(days=(day.weekday() - self.client.practice.week_start) % WEEK_DAYS)

    @property
    def first_day(self) -> date | None:
        return min((exposures[0].day for exposures in self.history.by_exercise.values()), default=None)

    @property
    def last_day(self) -> date | None:
        return max((exposures[-1].day for exposures in self.history.by_exercise.values()), default=None)

    @property
    def sessions(self) -> tuple[int, int]:
        """Trained, of those that were due."""
        return sum(block.trained for block in self.blocks), sum(block.due for block in self.blocks)

    @property
    def sets(self) -> int:
        """Working sets done."""
        return sum(
            one.kind not in NOT_WORK
            for exposures in self.history.by_exercise.values()
            for exposure in exposures
            for one in exposure.done
        )

    @cached_property
    def lifts(self) -> list[LiftDone]:
        """Exercises with two sessions or more that give an estimate: main ones first, then the most trained."""
        found = []
        for pk, exposures in self.history.by_exercise.items():
            exercise = self.exercises[pk]
            points = estimates(
                exposures,
                load_entry=exercise.load_entry,
                bodyweight_fraction=float(exercise.bodyweight_fraction),
            )
            if len(points) > 1:
                found.append((exercise, points, exposures))
        found.sort(key=lambda row: (*(row[0].role != role for role in ROLES), -len(row[1]), row[0].name))
        return [LiftDone(exercise, points, self._trend(exercise, rows)) for exercise, points, rows in found[:LIFTS]]

    def _trend(self, exercise: Exercise, exposures: tuple[Exposure, ...]) -> Trend:
        """Over the whole time, up to its last session."""
        last = exposures[-1].day
        return trend(
            exposures,
            today=last,
            experience=self.client.experience,
            load_entry=exercise.load_entry,
            bodyweight_fraction=float(exercise.bodyweight_fraction),
            window=last - exposures[0].day + timedelta(days=1),
        )


def _became(state: str, *, over: bool) -> str:
    """``over`` is whether its day, or its round, has passed."""
    if state == State.TRAINED:
        return "done"
    if state in (State.DROPPED, State.HELD):
        return "excused"
    if state == State.MISSED or over:
        return "missed"
    return ""
