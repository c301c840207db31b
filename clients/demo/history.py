"""Twelve weeks of training that never happened: simulated lifters do what the engine asks of them, week by week."""

from collections import defaultdict
from dataclasses import asdict, replace
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from random import Random
from zoneinfo import ZoneInfo

from clients.demo.people import MAXIMA, ONE_LIMB, PER_HAND, USUAL_MAXIMUM, DemoClient
from clients.models import (
    Block,
    Client,
    LoggedSet,
    Prescription,
    SessionNote,
    TargetSet,
    TrainingSession,
)
from clients.reads.history import slot_of, target_term
from clients.reads.library import exercise_term
from clients.reads.racks import Loads, PlaceLoads
from clients.services.proposals import target_row
from programs.engine import ramp, terms
from programs.engine.cohort import Lifter, attends, find_load, perform, strength_after
from programs.engine.progress import next_prescription
from programs.engine.progress.terms import Lever
from programs.units import columns, load_of

WEEK_DAYS = 7
LIST_DAYS = ((0, 2, 5), (1, 3, 6), (0, 3, 4), (1, 4, 6))  # how a rota falls, week by week
POUNDS = 2.20462262


class Rehearsal:
    """Plays a block up to a day: what was asked, what was done, written in bulk at the end."""

    def __init__(self, client: Client, person: DemoClient, block: Block, rng: Random) -> None:
        self.client = client
        self.person = person
        self.block = block
        self.rng = rng
        self.lifter = Lifter(
            person.experience,
            attendance=person.attendance,
            taps_through=person.taps_through,
            rates_effort=person.rates_effort,
        )
        self.loads = PlaceLoads(block.place, client, None)
        self.unit = block.place.unit
        self.weight = person.weight * (POUNDS if self.unit == "lb" else 1)
        self.past: dict[tuple[str, int], list[terms.Exposure]] = defaultdict(list)
        self.usual: dict[str, tuple[terms.TargetSet, ...]] = {}
        self.targets: list[TargetSet] = []
        self.replaced: list[int] = []
        self.sets: list[LoggedSet] = []
        self.lines: list[Prescription] = []
        self.notes: list[SessionNote] = []

    def run(self, until: date) -> None:
        """Every session before ``until`` is trained or missed; those after it stay planned."""
        sessions = list(
            TrainingSession.objects.filter(block=self.block)
            .with_lines()
            .prefetch_related("prescriptions__exercise__regions", "prescriptions__exercise__joints")
            .order_by("cycle", "position")
        )
        done = []
        for session in sessions:
            day = self._day(session)
            if day >= until:
                continue
            session.planned_on = session.planned_on or day
            done.append(session)
            if session.cycle in self.person.away or not attends(self.lifter, self.rng):
                session.state = TrainingSession.State.MISSED
                session.state_reason = "away" if session.cycle in self.person.away else ""
                continue
            session.state = TrainingSession.State.TRAINED
            session.trained_on = day
            self._train(session, day)
        TrainingSession.objects.bulk_update(done, ["state", "state_reason", "trained_on", "planned_on"])
        TargetSet.objects.filter(pk__in=self.replaced).delete()
        TargetSet.objects.bulk_create(self.targets)
        Prescription.objects.bulk_update(self.lines, ["finds_load", "reasons"])
        LoggedSet.objects.bulk_create(self.sets)
        SessionNote.objects.bulk_create(self.notes)

    def _day(self, session: TrainingSession) -> date:
        if session.planned_on is not None:
            return session.planned_on
        week = self.block.starts_on + timedelta(days=WEEK_DAYS * (session.cycle - 1))
        return week + timedelta(days=LIST_DAYS[session.cycle % len(LIST_DAYS)][session.position % 3])

    def _train(self, session: TrainingSession, day: date) -> None:
        started = datetime.combine(day, time(18, 0), ZoneInfo(self.client.time_zone))
        minute = 8
        order = 0
        for line in session.prescriptions.all():
            if line.exercise is None:
                continue
            term = exercise_term(line.exercise)
            offered = self.loads.for_exercise(term)
            asked = self._asked(session, line, term, offered, day)
            done = self._done(line, term, offered, asked, day)
            key = slot_of(line.slot_key, session.occurrence)
            self.past[key, line.exercise.pk].append(
                terms.Exposure(day=day, done=done, asked=asked, deload=session.deload, slot=key, bodyweight=self.weight)
            )
            for number, one in enumerate(done, start=1):
                order += 1
                minute += 3
                self.sets.append(
                    self._logged(session, line, offered, one, number, order, day, started + timedelta(minutes=minute))
                )
        self.notes.append(
            SessionNote(
                session=session,
                sleep=self.rng.choice((1, 2, 2, 3)),
                energy=self.rng.choice((1, 2, 2, 3)),
                effort=self.rng.choice((5, 6, 6, 7, 7, 8)),
                started_at=started,
                ended_at=started + timedelta(minutes=minute + 5),
            )
        )

    def _asked(
        self, session: TrainingSession, line: Prescription, term: terms.Exercise, offered: Loads, day: date
    ) -> tuple[terms.TargetSet, ...]:
        """The week's sets: as assigned in the first week, then as the engine proposes and the coach accepts."""
        present = list(line.target_sets.all())
        current = tuple(target_term(row, offered.rack.unit) for row in present)
        slot = slot_of(line.slot_key, session.occurrence)
        exercise = line.exercise
        if exercise is None:
            return current
        history = self.past[slot, exercise.pk]
        if not session.deload:
            self.usual[slot] = current
        if not history:
            return current
        policy = "fixed_steps" if self.client.experience == "novice" and line.role == "main" else "double_progression"
        step = next_prescription(
            history,
            self.usual.get(slot, current),
            policy,
            offered.rack,
            role=line.role,
            experience=self.client.experience,
            load_entry=term.load_entry,
            on=day,
            pattern=term.pattern,
            rep_unit=term.rep_unit,
            bodyweight=self.weight,
            bodyweight_fraction=term.bodyweight_fraction,
            age=self.client.age_on(day),
            rir_trusted=self.person.rates_effort,
            deload=session.deload,
        )
        self.replaced.extend(row.pk for row in present)
        self.targets.extend(_rows(line, step.sets, offered.rack.unit))
        line.finds_load = step.find_load
        line.reasons = [{"code": reason.code, "params": dict(reason.params)} for reason in step.reasons]
        self.lines.append(line)
        return step.sets

    def _done(
        self,
        line: Prescription,
        term: terms.Exercise,
        offered: Loads,
        asked: tuple[terms.TargetSet, ...],
        day: date,
    ) -> tuple[terms.SetDone, ...]:
        weeks = (day - self.block.starts_on).days / WEEK_DAYS
        maximum = strength_after(self._maximum(term), self.client.experience, weeks)
        lever = Lever(term.load_entry, self.weight, term.bodyweight_fraction, offered.rack.ordinal, offered.rack.falls)
        if asked and asked[0].load is None and asked[0].reps_low is not None and offered.rack.loads:
            return self._found(maximum, asked, offered, lever)
        return perform(self.lifter, maximum, asked, self.rng, moved=lever.moved)

    def _found(
        self, maximum: float, asked: tuple[terms.TargetSet, ...], offered: Loads, lever: Lever
    ) -> tuple[terms.SetDone, ...]:
        """The tries up to a first load, as warm-ups, and the planned sets at the load that was found."""
        steps = ramp.load_finding(offered.rack, asked[0].reps_low or 1)
        tries = find_load(self.lifter, maximum, steps.loads, steps.reps, self.rng, moved=lever.moved)
        if not tries:
            return ()
        work = tuple(replace(one, load=tries[-1].load) for one in asked)
        ramped = tuple(replace(one, kind="warm_up") for one in tries)
        return (*ramped, *perform(self.lifter, maximum, work, self.rng, moved=lever.moved))

    def _maximum(self, term: terms.Exercise) -> float:
        return true_maximum(self.person, term, self.unit, self.weight)

    def _logged(
        self,
        session: TrainingSession,
        line: Prescription,
        offered: Loads,
        one: terms.SetDone,
        number: int,
        order: int,
        day: date,
        at: datetime,
    ) -> LoggedSet:
        return LoggedSet(
            client=self.client,
            key=f"demo-{session.public_id.hex[:12]}-{line.position}-{number}",
            session=session,
            line=line.position + 1,
            number=number,
            exercise=line.exercise,
            station=offered.station,
            place=self.block.place,
            slot_key=line.slot_key,
            occurrence=session.occurrence,
            kind=one.kind,
            reps=one.reps,
            seconds=one.seconds,
            metres=one.metres,
            rir=None if one.rir is None else Decimal(str(one.rir)),
            bodyweight_grams=round(self.person.weight * 1000),
            as_planned=one.as_planned,
            order=order,
            performed_on=day,
            performed_at=at,
            way="paper" if self.person.by_paper else "phone",
            **columns(None if one.load is None else load_of(one.load, offered.rack.unit)),
        )


def true_maximum(person: DemoClient, term: terms.Exercise, unit: str, weight: float) -> float:
    """What the person could move once of an exercise at the start, in ``unit`` (``weight`` too)."""
    base = MAXIMA.get(term.pattern, USUAL_MAXIMUM) * person.strength
    if unit == "lb":
        base *= POUNDS
    if term.load_entry in ("added", "assisted") and term.bodyweight_fraction > 0:
        return max(base, weight * term.bodyweight_fraction * (0.9 + 0.4 * person.strength))
    if term.load_entry == "per_hand":
        base *= PER_HAND
    return base * ONE_LIMB if term.unilateral and term.load_entry != "per_hand" else base


def _rows(line: Prescription, sets: tuple[terms.TargetSet, ...], unit: str) -> list[TargetSet]:
    return [
        target_row(line, number, asdict(one), None if one.load is None else load_of(one.load, unit))
        for number, one in enumerate(sets, start=1)
    ]
