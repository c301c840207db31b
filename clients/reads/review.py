"""What a client was asked for and did over the last weeks: gathered at a fixed number of queries, as engine terms.

The window is bounded, so that three years of history cost no more than four months.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from itertools import pairwise
from typing import Any

from django.db.models import Count, Q

from clients.clock import today_for
from clients.cycles import first_day
from clients.models import Block, Client, LoggedPart, LoggedSet, Proposal, TargetSet, TrainingSession
from clients.reads.block_work import NOT_WORK
from clients.reads.history import GRAMS_PER_KILOGRAM, History, history_of
from programs.engine import dose, terms
from programs.engine.progress.honesty import Checked, habits, last_check
from programs.engine.sides import SideSession, SideSet, side_session
from programs.engine.trend import (
    Adherence,
    BodyweightTrend,
    Honesty,
    Trend,
    adherence,
    bodyweight_trend,
    honesty,
    trend,
)
from programs.engine.vocabulary import AUDITED_GROUPS, SAME_ANYWHERE
from programs.models import Exercise

WEEKS = 16  # drawn and judged
DOSE_WEEKS = 8
RECENT = timedelta(days=27)
GONE_AFTER = timedelta(weeks=5)  # a lift not done for so long is no longer listed
LIFTS_SHOWN = 12
AWAY_FROM_DAYS = 11
GRAMS = {"kg": GRAMS_PER_KILOGRAM, "lb": 453.59237}

State = TrainingSession.State


@dataclass(frozen=True, slots=True)
class Near:
    """A session of the window: where it belongs and what became of it."""

    pk: int
    day: date  # as planned, else as trained, else the first day of its week
    state: str
    trained_on: date | None
    deload: bool


@dataclass(frozen=True, slots=True)
class Lift:
    """One exercise with its exposures and what can be said of them."""

    exercise: Exercise
    exposures: tuple[terms.Exposure, ...]
    trend: Trend
    honesty: Honesty
    habits: tuple[terms.Because, ...] = ()  # of how it is logged; for the coach's eyes alone
    checked: Checked | None = None


@dataclass(frozen=True, slots=True)
class GroupWeek:
    """Counted sets of one group in one week; the judgement is None for weeks that are not judged.

    ``aside``: an easier week, or one away. The weeks of a rolling block are no less weeks, but hold what falls in
    them, four sessions one time and three the next: they are not judged either.
    """

    done: float
    judgement: dose.Judgement | None
    aside: bool = False


@dataclass(frozen=True, slots=True)
class GroupRow:
    """One audited group: its range, the weeks before, and this week planned and done."""

    group: str
    range: dose.Range
    weeks: tuple[GroupWeek, ...]
    planned: dose.Dose
    done: float
    judgement: dose.Judgement | None  # of this week as planned; None in a rolling block


@dataclass(frozen=True, slots=True)
class Week:
    start: date
    deload: bool
    away: bool


class Review:
    """One client's last weeks. Everything is read when it is made; the rest is reckoned from memory."""

    def __init__(self, client: Client) -> None:
        self.client = client
        self.today = today_for(client)
        self.block = client.blocks.filter(state=Block.State.ACTIVE).select_related("place").defer("document").first()
        self.unit = self.block.place.unit if self.block else client.unit
        self.week_start = self._first_day(self.today)
        self.since = self.week_start - timedelta(weeks=WEEKS - 1)
        self.history: History = history_of(client, self.unit, since=self.since)
        self.sessions = self._sessions()
        self.planned_sets = self._planned_sets()
        needed = set(self.history.by_exercise) | {exercise for _session, exercise in self.planned_sets}
        rows = Exercise.objects.filter(pk__in=needed).prefetch_related("regions")
        self.exercises: dict[int, Exercise] = {row.pk: row for row in rows}
        self.priorities = {row.group: row.priority for row in client.priorities.all()}
        self.weights = {
            row.measured_on: row.grams / GRAMS[client.unit]
            for row in client.bodyweights.filter(measured_on__gt=self.since)
        }
        self.sides = self._sides()
        self.proposals = list(
            Proposal.objects.waiting().filter(client=client).select_related("exercise", "session__block").order_by("pk")
        )

    @property
    def rolling(self) -> bool:
        """Whether the block that runs goes by a cycle of its own rather than by weeks."""
        return self.block is not None and self.block.rolling

    def _first_day(self, day: date) -> date:
        return day - timedelta(days=(day.weekday() - self.client.practice.week_start) % 7)

    def _sessions(self) -> list[Near]:
        until = self.week_start + timedelta(days=6)
        window = Q(planned_on__range=(self.since, until)) | Q(planned_on=None, trained_on__range=(self.since, until))
        undated = Q(planned_on=None, trained_on=None, block__starts_on__gte=self.since - timedelta(weeks=WEEKS))
        rows = TrainingSession.objects.for_client(self.client).filter(window | undated)
        found = []
        for pk, planned, trained, state, deload, starts, cycle, cycle_days in rows.values_list(
            "pk", "planned_on", "trained_on", "state", "deload", "block__starts_on", "cycle", "block__cycle_days"
        ):
            day = planned or trained or first_day(starts, cycle, cycle_days)
            if self.since <= day <= until:
                found.append(Near(pk, day, state, trained, deload))
        return sorted(found, key=lambda one: (one.day, one.pk))

    def _planned_sets(self) -> dict[tuple[int, int], int]:
        """Working sets asked for, by session and exercise: of the last four weeks and of this one."""
        first = min(self.today - RECENT, self.week_start)
        keys = [one.pk for one in self.sessions if one.day >= first]
        rows = (
            TargetSet.objects.filter(prescription__session__in=keys, prescription__exercise__isnull=False)
            .exclude(kind__in=NOT_WORK)
            .order_by()
            .values_list("prescription__session", "prescription__exercise")
            .annotate(count=Count("pk"))
        )
        return {(session, exercise): count for session, exercise, count in rows}

    def _sides(self) -> dict[int, list[SideSession]]:
        """One-sided work by exercise, session by session, where both sides were written down."""
        parts = LoggedPart.objects.filter(
            logged_set__client=self.client,
            logged_set__state=LoggedSet.State.COUNTS,
            logged_set__performed_on__gte=self.since,
            sort__in=(LoggedPart.Sort.LEFT, LoggedPart.Sort.RIGHT),
            reps__isnull=False,
        ).order_by("logged_set__performed_on", "logged_set__order", "number")
        sets: dict[tuple[int, date], list[SideSet]] = defaultdict(list)
        for exercise, day, side, reps, grams, own in parts.values_list(
            "logged_set__exercise",
            "logged_set__performed_on",
            "sort",
            "reps",
            "load_grams",
            "logged_set__load_grams",
        ):
            sets[exercise, day].append(SideSet(side, reps or 0, float(own or 0) if grams is None else float(grams)))
        found: dict[int, list[SideSession]] = defaultdict(list)
        for (exercise, day), done in sets.items():
            session = side_session(day, done)
            if session is not None:
                found[exercise].append(session)
        return found

    # lifts

    @cached_property
    def lifts(self) -> list[Lift]:
        """Lifts that are trained at present, main ones first, then by how often."""
        share = self.adherence.sessions
        rows = []
        for pk, exposures in self.history.by_exercise.items():
            exercise = self.exercises[pk]
            if exercise.implement not in SAME_ANYWHERE:
                exposures = self.history.on_latest_machine(pk)
            if self.today - exposures[-1].day > GONE_AFTER:
                continue
            rows.append((exercise, exposures))
        rows.sort(key=lambda row: (row[0].role != "main", row[0].role != "secondary", -len(row[1]), row[0].name))
        return [self._lift(exercise, exposures, share) for exercise, exposures in rows[:LIFTS_SHOWN]]

    def _lift(self, exercise: Exercise, exposures: tuple[terms.Exposure, ...], share: float | None) -> Lift:
        return Lift(
            exercise,
            exposures,
            trend(
                exposures,
                today=self.today,
                experience=self.client.experience,
                adherence=share,
                load_entry=exercise.load_entry,
                bodyweight_fraction=float(exercise.bodyweight_fraction),
                window=timedelta(weeks=WEEKS),
            ),
            honesty(exposures, self.today),
            habits(exposures, self.today, rest_s=exercise.rest_s),
            last_check(exposures),
        )

    # sessions

    @cached_property
    def recent(self) -> list[Near]:
        """Sessions of the last four weeks that were due."""
        first = self.today - RECENT
        return [
            one
            for one in self.sessions
            if first <= one.day <= self.today
            and (one.state in (State.TRAINED, State.MISSED) or (one.state == State.PLANNED and one.day < self.today))
        ]

    @cached_property
    def adherence(self) -> Adherence:
        """Sessions and working sets, done of planned, in four weeks."""
        done, planned = self.sets_recent
        trained = sum(one.state == State.TRAINED for one in self.recent)
        return adherence(trained, len(self.recent), min(done, planned), planned)

    @cached_property
    def sets_recent(self) -> tuple[int, int]:
        keys = {one.pk for one in self.recent}
        planned = sum(count for (session, _exercise), count in self.planned_sets.items() if session in keys)
        first = self.today - RECENT
        done = sum(
            one.kind not in NOT_WORK
            for exposures in self.history.by_exercise.values()
            for exposure in exposures
            if exposure.day >= first
            for one in exposure.done
        )
        return done, planned

    @cached_property
    def as_planned(self) -> tuple[int, int]:
        """Working sets of the last four weeks that were confirmed in one tap, of all."""
        first = self.today - RECENT
        sets = [
            one
            for exposures in self.history.by_exercise.values()
            for exposure in exposures
            if exposure.day >= first
            for one in exposure.done
            if one.kind not in NOT_WORK
        ]
        return sum(one.as_planned for one in sets), len(sets)

    @cached_property
    def effort(self) -> Honesty:
        """Over all lifts."""
        all_lifts = [honesty(exposures, self.today) for exposures in self.history.by_exercise.values()]
        return Honesty(
            sum(one.pairs for one in all_lifts),
            sum(one.too_easy for one in all_lifts),
            sum(one.too_hard for one in all_lifts),
        )

    @cached_property
    def bodyweight(self) -> BodyweightTrend:
        return bodyweight_trend(self.weights, self.today)

    @cached_property
    def away(self) -> list[tuple[date, date]]:
        """Stretches of eleven days and more between sessions."""
        days = sorted({exposure.day for rows in self.history.by_exercise.values() for exposure in rows})
        return [(before, after) for before, after in pairwise(days) if (after - before).days >= AWAY_FROM_DAYS]

    @cached_property
    def deload_spans(self) -> list[tuple[date, date]]:
        """First and last day of runs of easier sessions."""
        runs: list[list[date]] = []
        last = False
        for one in self.sessions:
            if one.deload and last:
                runs[-1].append(one.day)
            elif one.deload:
                runs.append([one.day])
            last = one.deload
        return [(run[0], run[-1]) for run in runs]

    # dose

    @cached_property
    def weeks(self) -> list[Week]:
        """The weeks whose dose is shown, this one last."""
        found = []
        for back in range(DOSE_WEEKS - 1, -1, -1):
            start = self.week_start - timedelta(weeks=back)
            here = [one for one in self.sessions if start <= one.day < start + timedelta(days=7)]
            found.append(
                Week(
                    start,
                    deload=any(one.deload for one in here),
                    away=not any(one.state == State.TRAINED for one in here),
                )
            )
        return found

    @cached_property
    def groups(self) -> list[GroupRow]:
        """Every audited group by week: what was done, judged; and this week as planned and so far."""
        done: dict[date, list[dose.Work]] = defaultdict(list)
        for pk, exposures in self.history.by_exercise.items():
            regions = self._regions(pk)
            for exposure in exposures:
                counted = dose.counted_sets(exposure.done)
                done[self._first_day(exposure.day)].append(dose.Work(regions, counted, (exposure.day, exposure.slot)))
        by_week = {start: dose.weekly(work) for start, work in done.items()}
        planned = dose.weekly(self._planned_work())
        rows = []
        for group in AUDITED_GROUPS:
            priority, age = self.priorities.get(group, "usual"), self.client.age_on(self.today)
            applies = dose.target_range(group, self.client.experience, priority, age)
            if applies is None:
                continue
            this = planned.get(group, dose.Dose())
            rows.append(
                GroupRow(
                    group,
                    applies,
                    tuple(self._group_week(group, week, by_week, priority, age) for week in self.weeks[:-1]),
                    this,
                    by_week.get(self.week_start, {}).get(group, dose.Dose()).counted,
                    None if self.rolling else dose.judge(this, group, self.client.experience, priority, age),
                )
            )
        return rows

    def _group_week(
        self,
        group: str,
        week: Week,
        by_week: Mapping[date, Mapping[str, dose.Dose]],
        priority: str,
        age: int | None,
    ) -> GroupWeek:
        counted = by_week.get(week.start, {}).get(group, dose.Dose()).counted
        if week.deload or week.away:
            return GroupWeek(counted, None, aside=True)
        if self.rolling and self.block is not None and week.start + timedelta(days=6) >= self.block.starts_on:
            return GroupWeek(counted, None)
        return GroupWeek(counted, dose.judge(counted, group, self.client.experience, priority, age))

    def _planned_work(self) -> Sequence[dose.Work]:
        end = self.week_start + timedelta(days=7)
        here = {
            one.pk
            for one in self.sessions
            if self.week_start <= one.day < end and one.state in (State.PLANNED, State.TRAINED)
        }
        return [
            dose.Work(self._regions(exercise), count, session)
            for (session, exercise), count in self.planned_sets.items()
            if session in here
        ]

    def _regions(self, exercise_id: int) -> tuple[terms.RegionShare, ...]:
        if exercise_id not in self._shares:
            rows: Any = self.exercises[exercise_id].regions
            self._shares[exercise_id] = tuple(
                terms.RegionShare(row.region, row.share, row.stretched) for row in rows.all()
            )
        return self._shares[exercise_id]

    @cached_property
    def _shares(self) -> dict[int, tuple[terms.RegionShare, ...]]:
        return {}

    # columns of attendance

    @cached_property
    def attendance(self) -> list[list[str]]:
        """A list a week of what became of its sessions: done, missed, excused, ahead."""
        weeks: list[list[str]] = []
        for back in range(WEEKS - 1, -1, -1):
            start = self.week_start - timedelta(weeks=back)
            here = [one for one in self.sessions if start <= one.day < start + timedelta(days=7)]
            weeks.append([self._attended(one) for one in here])
        while weeks and not weeks[0]:
            weeks.pop(0)
        return weeks

    def _attended(self, one: Near) -> str:
        if one.state == State.TRAINED:
            return "done"
        if one.state in (State.DROPPED, State.HELD):
            return "excused"
        if one.state == State.MISSED or one.day < self.today:
            return "missed"
        return "ahead"
