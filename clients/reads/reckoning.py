"""Everything that bears on a client's next prescriptions, gathered once, and asked of the engine line by line."""

import hashlib
import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from django.db.models import Q

from clients.models import (
    Block,
    Client,
    Illness,
    Place,
    Prescription,
    Progression,
    Proposal,
    TargetSet,
    TrainingSession,
)
from clients.reads.estimates import Estimates
from clients.reads.health import Standing, standing_of
from clients.reads.history import History, history_of, slot_of, target_term
from clients.reads.illness import illness_term
from clients.reads.library import exercise_term
from clients.reads.racks import PlaceLoads
from clients.reads.sore_spots import SoreSpots
from programs.engine import terms
from programs.engine.compose.measures import reps_within
from programs.engine.endurance import efforts_of, fit_endurance
from programs.engine.progress import Caps, NextStep, Wave, WaveSet, illness_stage, next_prescription
from programs.engine.progress import Illness as Ill
from programs.engine.progress.history import line_of
from programs.engine.racks import Rack
from programs.engine.vocabulary import SAME_ANYWHERE
from programs.models import OutlineSlot
from programs.reads import caps_of
from programs.units import GRAMS_PER_UNIT, load_of

NEWCOMER = timedelta(weeks=4)
USUAL_FACTOR = 1.0
STRICTEST_FIRST = ("professional", "rest", "easy", "after")  # stages of an illness that bear on training
DECIDED = (Proposal.State.ACCEPTED, Proposal.State.EDITED)


@dataclass(frozen=True, slots=True)
class Inputs:
    """One question to the engine: all that decides the answer, and nothing else."""

    history: tuple[terms.Exposure, ...]
    current: tuple[terms.TargetSet, ...]
    policy: str
    rack: Rack
    unit: str  # of weight, in which everything is reckoned
    options: Mapping[str, Any]

    def step(self) -> NextStep:
        return next_prescription(self.history, self.current, self.policy, self.rack, **self.options)

    @property
    def digest(self) -> str:
        """The same for the same inputs, however the logs arrived; another one where any input differs."""
        history = sorted(self.history, key=lambda one: (one.day, repr(one)))
        rack = (self.rack.loads, self.rack.unit, self.rack.ordinal, self.rack.falls)
        known = (history, self.current, self.policy, rack, sorted(self.options.items()))
        return hashlib.sha256(repr(known).encode()).hexdigest()


@dataclass
class Bearing:
    """What bears on the lines of a block, for one client: read when it is gathered, asked from memory."""

    client: Client
    today: date
    block: Block
    standing: Standing
    loads: dict[int, PlaceLoads]
    progressions: dict[int, Progression]
    ranges: dict[tuple[str, str], list[tuple[int, int]]]
    sore: SoreSpots
    illness: Ill | None
    caps: Caps
    levers: tuple[str, ...]
    decided: list[Proposal]
    _tested: set[int] = field(default_factory=set)  # exercises whose test is in this turn's lines already
    _histories: dict[str, History] = field(default_factory=dict)
    _estimates: Estimates | None = None
    _factors: dict[tuple[int, str, int | None], float] = field(default_factory=dict)

    @classmethod
    def gather(cls, client: Client, block: Block, places: Collection[Place], today: date) -> "Bearing":
        """A number of queries that does not grow with the history."""
        caps, levers = caps_of(client.practice)
        progressions = {row.exercise_id: row for row in client.progressions.all()}
        return cls(
            client=client,
            today=today,
            block=block,
            standing=standing_of(client, today),
            loads={place.pk: PlaceLoads(place, client, None) for place in {block.place, *places}},
            progressions=progressions,
            ranges=_ranges(block),
            sore=SoreSpots.of(client, today),
            illness=illness_of(client, today),
            caps=caps,
            levers=levers,
            decided=_decided(client, block, progressions.values()),
        )

    def history_in(self, unit: str) -> History:
        if unit not in self._histories:
            self._histories[unit] = history_of(self.client, unit)
        return self._histories[unit]

    @property
    def history(self) -> History:
        return self.history_in(self.block.place.unit)

    @property
    def newcomer(self) -> bool:
        """Whether the client's first session lies less than four weeks back, or is still to come."""
        first = self.history.first_day
        return first is None or self.today - first < NEWCOMER

    def rack(self, session: TrainingSession, exercise: terms.Exercise, *, helped: bool = False) -> Rack:
        return self.loads[session.place.pk].for_exercise(exercise, helped=helped).rack

    def inputs(
        self,
        session: TrainingSession,
        line: Prescription,
        planned: Iterable[TargetSet],
        before: Iterable[TargetSet] = (),
    ) -> Inputs:
        """The line's next step is to start from ``planned``; ``before`` are the sets of the slot's last usual session
        as they were decided then."""
        exercise = line.exercise
        if exercise is None:
            raise ValueError("a free line has nothing to progress")
        client, place = self.client, session.place
        term = exercise_term(exercise)
        rack = self.rack(session, term)
        unit = rack.unit if rack.unit in GRAMS_PER_UNIT else place.unit
        history = self.history_in(unit)
        on = session.planned_on or self.today
        steer = self.progressions.get(exercise.pk)
        since = steer.baseline_on if steer is not None else None
        machine = term.implement not in SAME_ANYWHERE
        past = history.of(exercise.pk, str(place.pk), line.station_id if machine else None)
        planned = list(planned)
        if _helped(past, planned):
            rack = self.rack(session, term, helped=True)
        policy, wave = self._policy(session, line, steer, unit)
        reach = self._range(session, line, term)
        trusted = client.ratings_count
        own = [one for one in past if not one.one_day and (since is None or one.day >= since)]
        # What says nothing for this exercise is left out, so that a change to it does not ask the coach again.
        on_body = term.load_entry in ("added", "assisted") and term.bodyweight_fraction > 0
        weighed = history.bodyweight_on if on_body else None
        slot, here = slot_of(line.slot_key, session.occurrence), str(place.pk)
        lifted = line_of(past, slot=slot, place=here, since=since, machine=machine).own
        pain, return_to = self.sore.bears_on(term, lifted, on)
        options: dict[str, Any] = {
            "role": line.role,
            "experience": client.experience,
            "load_entry": term.load_entry,
            "on": on,
            "pattern": term.pattern,
            "rep_unit": term.rep_unit,
            "rep_range": reach,
            "bodyweight": history.bodyweight if on_body else None,
            "bodyweight_fraction": term.bodyweight_fraction,
            "bodyweight_days": 0 if weighed is None else max(0, (on - weighed).days),
            "k": self._factor(exercise.pk, term, own, here if machine else "", line.station_id)
            if trusted
            else USUAL_FACTOR,
            "age": client.age_on(on),
            "rir_trusted": trusted,
            "deload": session.deload,
            "pain": pain,
            "return_to": return_to,
            "estimate": None,
            "new_client": not own and self.newcomer,
            "floor": self.standing.effort,
            "caps": self.caps,
            "levers": self.levers,
            "every_days": self.block.cycle_days,
            "slot": slot,
            "place": here,
            "machine": machine,
            "since": since,
            "wave": wave,
            "test": self._test(session, exercise.pk, steer),
            "illness": self.illness,
        }
        if not own and not machine and not rack.ordinal:
            self._estimates = self._estimates or Estimates(client, self.history_in)
            options["estimate"] = self._estimates.of(exercise, term, unit, on, fresh=since is not None)
        current = tuple(target_term(row, unit) for row in planned)
        carried = _carried(current, [target_term(row, unit) for row in before], reach, line)
        return Inputs(past, carried, policy, rack, unit, options)

    def _policy(
        self, session: TrainingSession, line: Prescription, steer: Progression | None, unit: str
    ) -> tuple[str, Wave | None]:
        if steer is not None and steer.policy == Progression.Policy.WAVES:
            wave = self._wave(session, steer, unit)
            if wave is not None:
                return "percentage_waves", wave
        elif steer is not None and steer.policy:
            return steer.policy, None
        return usual_policy(self.client.experience, line.role), None

    def _wave(self, session: TrainingSession, steer: Progression, unit: str) -> Wave | None:
        """The week that comes next. One that was decided for a session which was never trained comes again; the
        other sessions of a round train the week that was decided for the first of them."""
        week, rounds = steer.week, steer.rounds
        state, shape = TrainingSession.State, shape_of(steer)
        known = [
            row.new["wave"] | {"session": row.session}
            for row in self.decided
            if row.exercise_id == steer.exercise_id and row.new.get("wave", {}).get("shape") == shape
        ]
        others = [one for one in known if one["session"].pk != session.pk]
        same = [
            one
            for one in others
            if (one["session"].block_id, one["session"].cycle) == (session.block_id, session.cycle)
        ]
        if same:
            again = same[0]
        elif others and others[-1]["session"].state in (state.MISSED, state.DROPPED) and _follows(others[-1], steer):
            again = others[-1]
        else:
            return wave_of(steer, unit, week, rounds)
        # Its working max has been judged already.
        return wave_of(steer, unit, again["week"], 0)

    def _test(self, session: TrainingSession, exercise: int, steer: Progression | None) -> str:
        """Asked for once: in the first line that comes, and not while one is planned already."""
        if steer is None or steer.test == Progression.Test.NONE or exercise in self._tested or session.deload:
            return "none"
        planned = any(
            row.exercise_id == exercise and row.new.get("test") and row.session.state == TrainingSession.State.PLANNED
            for row in self.decided
        )
        if planned:
            return "none"
        self._tested.add(exercise)
        return steer.test

    def _range(self, session: TrainingSession, line: Prescription, term: terms.Exercise) -> tuple[int, int] | None:
        """The slot's own range on this occurrence; None where the coach fixed the line's reps."""
        wanted = self.ranges.get((session.day_key, line.slot_key))
        if not wanted or "reps" in line.pinned:
            return None
        return reps_within(wanted[session.occurrence % len(wanted)], term)

    def _factor(
        self, exercise: int, term: terms.Exercise, own: Sequence[terms.Exposure], place: str, station: int | None
    ) -> float:
        """The client's own endurance factor on the exercise, where their sets tell it; else the usual one. ``place``
        and ``station`` are named for a machine."""
        key = (exercise, place, station if place else None)
        if key not in self._factors:
            self._factors[key] = endurance_of(term, own, place)
        return self._factors[key]


def endurance_of(term: terms.Exercise, past: Sequence[terms.Exposure], place: str = "") -> float:
    """The factor that the sets tell, as far as it can be trusted; else the usual one."""
    rows = [one for one in past if not one.deload and (not place or one.place in (place, ""))]
    fitted = fit_endurance(efforts_of(rows, load_entry=term.load_entry, fraction=term.bodyweight_fraction))
    if fitted is None or fitted.confidence == "weak":
        return USUAL_FACTOR
    return round(fitted.believed, 4)


def _helped(past: Iterable[terms.Exposure], planned: Iterable[TargetSet]) -> bool:
    """Whether help was taken, or is asked for, on what is otherwise loaded: then the line goes on below nothing."""
    return any(row.load_value is not None and row.load_value < 0 for row in planned) or any(
        done.load is not None and done.load < 0 for one in past for done in one.done
    )


def usual_policy(experience: str, role: str) -> str:
    """What holds without a decision of the coach."""
    return "fixed_steps" if experience == "novice" and role == "main" else "double_progression"


def wave_of(steer: Progression, unit: str, week: int, rounds: int) -> Wave | None:
    """The stored wave as the engine's, its working max in the asked unit; None where it is none."""
    if steer.working_max is None or not steer.weeks:
        return None
    own = load_of(steer.working_max, steer.working_max_unit)
    maximum = own.in_unit(unit) if unit in GRAMS_PER_UNIT else float(own.value)
    weeks = tuple(
        tuple(WaveSet(float(one["share"]), int(one["reps"]), bool(one.get("open_ended"))) for one in sets)
        for sets in steer.weeks
    )
    if not maximum:
        return None
    return Wave(maximum, weeks, week % len(weeks), rounds)


def illness_of(client: Client, on: date) -> Ill | None:
    """The illness that bears on training most, with one before it that is still being recovered from. One query.

    Of several the strictest counts: a cold does not take away what chest pain asks for.
    """
    known: list[Illness] = [row for row in client.illnesses.all() if row.since <= on]
    rows = sorted(known, key=lambda one: (one.well_on or one.since, one.since, one.pk))
    stages = [(illness_stage(term, on), term) for term in (illness_term(row, on) for row in rows)]
    for stage in STRICTEST_FIRST:
        found = next((term for own, term in reversed(stages) if own == stage), None)
        if found is not None and stage == "easy":
            earlier = next((term for own, term in reversed(stages) if own == "after"), None)
            return replace(found, earlier=earlier)
        if found is not None:
            return found
    return None


def _ranges(block: Block) -> dict[tuple[str, str], list[tuple[int, int]]]:
    """The range of each slot by day type and key: from the template, and from the slots that the block has of its
    own. One query."""
    rows = OutlineSlot.objects.filter(day__outline=block.outline_id).values_list("day__key", "key", "reps")
    found = {(day, key): [(low, high) for low, high in reps] for day, key, reps in rows}
    for own in block.document.get("added_slots", ()):
        found[own["day"], own["key"]] = [(own["reps"][0], own["reps"][1])]
    return found


def _decided(client: Client, block: Block, progressions: Iterable[Progression]) -> list[Proposal]:
    """What was accepted of exercises with a wave (in this block) or a test, in the order of the sessions. One query,
    or none."""
    waves = [row.exercise_id for row in progressions if row.policy == Progression.Policy.WAVES]
    tests = [row.exercise_id for row in progressions if row.test != Progression.Test.NONE]
    if not waves and not tests:
        return []
    asked = Q(exercise__in=tests, new__test__in=[Progression.Test.CHECK_SET, Progression.Test.TEST_DAY])
    rows = Proposal.objects.filter(Q(exercise__in=waves, session__block=block) | asked, client=client)
    rows = rows.filter(state__in=DECIDED).select_related("session")
    return list(rows.order_by("session__planned_on", "session__cycle", "session__position", "pk"))


def shape_of(steer: Progression) -> str:
    """Names the weeks of a wave: other weeks have another name."""
    return hashlib.sha256(json.dumps(steer.weeks, sort_keys=True).encode()).hexdigest()[:12]


def _follows(decided: Mapping[str, Any], steer: Progression) -> bool:
    """Whether the week that comes next is the one after the decided one: nothing was set otherwise since."""
    return (int(decided["week"]) + 1) % len(steer.weeks) == steer.week


def _carried(
    current: tuple[terms.TargetSet, ...],
    before: Sequence[terms.TargetSet],
    reach: tuple[int, int] | None,
    line: Prescription,
) -> tuple[terms.TargetSet, ...]:
    """The planned sets with what the last session's decision had outgrown: seconds or metres, and repetitions above
    the slot's own range. A block is written ahead, and what was reached in it since stands in its last session."""
    last = next((one for one in before if one.kind == "work"), None)
    if last is None or reach is None or "reps" in line.pinned:
        return current
    low, high = reach
    out = []
    for one in current:
        if one.kind != "work":
            out.append(one)
        elif one.seconds is not None and last.seconds is not None:
            out.append(replace(one, seconds=max(low, min(last.seconds, high))))
        elif one.metres is not None and last.metres is not None:
            out.append(replace(one, metres=max(low, min(last.metres, high))))
        elif one.reps_high == high and last.reps_high is not None and last.reps_high > high:
            out.append(replace(one, reps_high=last.reps_high))
        else:
            out.append(one)
    return tuple(out)
