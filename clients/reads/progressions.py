"""How one exercise goes on for one client: what the coach has decided, what holds, and what it stands on now."""

from dataclasses import dataclass
from datetime import date
from functools import cached_property

from clients.clock import today_for
from clients.models import Block, Client, Prescription, Progression, Proposal, TrainingSession
from clients.reads.health import Standing, standing_of
from clients.reads.history import History, history_of
from clients.reads.library import exercise_term
from clients.reads.racks import PlaceLoads
from clients.reads.reckoning import USUAL_FACTOR, endurance_of, usual_policy, wave_of
from programs.engine import racks, terms
from programs.engine.progress import Wave, check_barred, strength_test_barred
from programs.engine.progress.history import Session, best_estimate, line_of, read
from programs.engine.progress.terms import Lever
from programs.engine.progress.waves import sets_of_week
from programs.engine.racks import Rack
from programs.engine.terms import Because
from programs.engine.vocabulary import SAME_ANYWHERE
from programs.models import Exercise
from programs.units import GRAMS_PER_UNIT

LAST_SESSIONS = 5


@dataclass(frozen=True, slots=True)
class WaveWeek:
    """One week of a wave as it would be prescribed now; ``next``: it comes next."""

    number: int
    sets: tuple[terms.TargetSet, ...]
    next: bool


class Going:
    """Everything on the page of one exercise of one client. A fixed number of queries, made when it is made."""

    def __init__(self, client: Client, exercise: Exercise) -> None:
        self.client, self.exercise = client, exercise
        self.today: date = today_for(client)
        self.term = exercise_term(exercise)
        rows = client.blocks.select_related("place").order_by("-number")
        self.block = next(iter(rows.filter(state=Block.State.ACTIVE)), None) or rows.first()
        self.place = self.block.place if self.block is not None else client.place
        found = Progression.objects.filter(client=client, exercise=exercise).first()
        self.steer = found or Progression(client=client, exercise=exercise)
        self.rack: Rack = (
            PlaceLoads(self.place, client, None).for_exercise(self.term).rack if self.place else racks.EMPTY
        )
        unit = self.place.unit if self.place else client.unit
        self.unit = self.rack.unit if self.rack.unit in GRAMS_PER_UNIT else unit
        self.history: History = history_of(client, self.unit)
        self.standing: Standing = standing_of(client, self.today)
        self.coming = self._coming()
        self.proposals = list(
            Proposal.objects.waiting()
            .filter(client=client, exercise=exercise)
            .select_related("exercise", "session__block")
            .order_by("pk")
        )

    def _coming(self) -> list[Prescription]:
        """The next lines with the exercise, one a day type and occurrence."""
        rows = Prescription.objects.filter(
            session__block__client=self.client,
            session__block__state=Block.State.ACTIVE,
            session__state=TrainingSession.State.PLANNED,
            exercise=self.exercise,
        )
        rows = rows.select_related("session__block").prefetch_related("target_sets")
        found: dict[tuple[str, int], Prescription] = {}
        for row in rows.order_by("session__cycle", "session__position", "position"):
            found.setdefault((row.session.day_key, row.session.occurrence), row)
        return list(found.values())

    @property
    def role(self) -> str:
        return self.coming[0].role if self.coming and self.coming[0].role else self.exercise.role

    @property
    def usual(self) -> str:
        """The policy that holds where the coach decided nothing."""
        return usual_policy(self.client.experience, self.role)

    @property
    def machine(self) -> bool:
        return self.term.implement not in SAME_ANYWHERE

    @property
    def trusted(self) -> bool:
        return self.client.ratings_count

    @property
    def takes_waves(self) -> bool:
        """Whether shares of a maximum mean anything for it."""
        weightless = self.rack.ordinal or self.term.load_entry in ("none", "band", "numbered_setting", "assisted")
        return self.term.rep_unit == "reps" and not weightless

    @property
    def moves_body(self) -> bool:
        return self.lever.moves_body

    @cached_property
    def lever(self) -> Lever:
        weight = self.history.bodyweight
        falls = self.term.load_entry == "assisted"
        return Lever(self.term.load_entry, weight, self.term.bodyweight_fraction, self.rack.ordinal, falls)

    @cached_property
    def past(self) -> tuple[terms.Exposure, ...]:
        """What counts: since the baseline, on this machine, nothing that stood in for a day."""
        place = str(self.place.pk) if self.place else ""
        rows = self.history.of(self.exercise.pk, place)
        line = line_of(rows, place=place, since=self.steer.baseline_on, machine=self.machine)
        return line.own

    @cached_property
    def sessions(self) -> list[Session]:
        return read(self.past, self.today, self.trusted, self.lever)

    @property
    def last(self) -> list[Session]:
        """The last ones, the newest first."""
        return self.sessions[: -LAST_SESSIONS - 1 : -1]

    @cached_property
    def factor(self) -> float:
        return endurance_of(self.term, self.past) if self.trusted else USUAL_FACTOR

    @cached_property
    def estimate(self) -> float | None:
        """The latest estimate of the maximum, of what is moved; None where nothing tells it or loads have no weight."""
        if self.term.rep_unit != "reps" or self.rack.ordinal:
            return None
        return best_estimate([one for one in self.sessions if not one.deload], self.lever, self.factor)

    @property
    def wave(self) -> Wave | None:
        return wave_of(self.steer, self.unit, self.steer.week, self.steer.rounds) if self.takes_waves else None

    def weeks(self) -> list[WaveWeek]:
        """The stored wave at loads on offer; nothing where there is none."""
        wave = self.wave
        if wave is None:
            return []
        found = []
        for number in range(len(wave.weeks)):
            at = Wave(wave.working_max, wave.weeks, number)
            sets = sets_of_week(at, wave.working_max, (), self.rack, self.lever)
            found.append(WaveWeek(number + 1, sets, number == wave.week))
        return found

    @property
    def check_barred(self) -> Because | None:
        return check_barred(self.standing.effort, self.role, machine=self.machine)

    @property
    def test_barred(self) -> Because | None:
        barred = strength_test_barred(self.standing.effort, self.client.experience, self.client.age_on(self.today))
        if barred is None and self.estimate is None:
            return Because("test_without_estimate")
        return barred
