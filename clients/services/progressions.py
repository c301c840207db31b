"""What a coach decides of how an exercise goes on for one client, and what a decision on a proposal writes back."""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.db import transaction

from clients.models import Block, Client, Progression, Proposal, TrainingSession
from clients.reads.reckoning import Inputs, shape_of
from clients.services.logs import reviewed_later
from clients.tasks import review_clients
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry, Practice
from programs.engine.progress import NextStep
from programs.models import Exercise
from programs.units import GRAMS_PER_UNIT, Load, load_of

ACT = "progression.save"
THOUSANDTH = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Waves:
    """Weeks of sets ({"share", "reps", "open_ended"}) on a working max, taken as typed or as a share of the estimate.

    ``week`` is the one that comes next, from 0.
    """

    weeks: list[list[dict[str, Any]]]
    working_max: Load
    fraction: Decimal = Decimal("0.90")
    week: int = 0


def save_policy(
    client: Client, exercise: Exercise, coach: Coach, policy: str, waves: Waves | None = None
) -> JournalEntry | None:
    """How the exercise progresses from now on. New weeks of a wave, or another working max, start at the week that
    the coach names; what was decided already stays as it is. None where nothing changed."""
    if (waves is None) == (policy == Progression.Policy.WAVES):
        raise ValueError("waves go with the policy of waves")
    with _saving(client, exercise, coach) as (row, entry):
        row.policy = policy
        if waves is not None:
            fresh = row.weeks != waves.weeks or row.week != waves.week
            row.weeks, row.week = waves.weeks, waves.week
            row.working_max, row.working_max_unit = _exact(waves.working_max.value), waves.working_max.unit
            row.fraction = waves.fraction
            if fresh:
                row.rounds = 0
    return entry.entry


def save_baseline(
    client: Client, exercise: Exercise, coach: Coach, since: date | None, reason: str = ""
) -> JournalEntry | None:
    """What was done before that day says nothing any more; None takes it back."""
    with _saving(client, exercise, coach) as (row, entry):
        row.baseline_on = since
        row.baseline_reason = reason if since is not None else ""
    return entry.entry


def ask_test(client: Client, exercise: Exercise, coach: Coach, test: str) -> JournalEntry | None:
    """A check set or a test day in the next session that comes; "none" takes it back."""
    with _saving(client, exercise, coach) as (row, entry):
        row.test = test
    return entry.entry


@contextmanager
def _saving(client: Client, exercise: Exercise, coach: Coach) -> Iterator[tuple[Progression, journal.Recording]]:
    """The client's row for the exercise, to be changed as one act; what comes next is reckoned again."""
    about = f"client:{client.public_id}"
    with journal.act(client.practice, coach, ACT, about=about, client=client.name, exercise=exercise.name) as entry:
        row = Progression.objects.select_for_update().filter(client=client, exercise=exercise).first()
        if row is not None:
            entry.change(row)
            yield row, entry
            row.save()
        else:
            row = Progression(client=client, exercise=exercise)
            yield row, entry
            if _says_something(row):
                row.save()
                entry.made(row)
    if entry.entry is not None:
        reviewed_later(client.pk)


def _says_something(row: Progression) -> bool:
    return bool(row.policy or row.baseline_on or row.test != Progression.Test.NONE)


def wave_of_step(steer: Progression | None, inputs: Inputs, step: NextStep) -> dict[str, Any] | None:
    """What accepting a week of a wave writes back, kept with the proposal; None for all other steps."""
    wave = inputs.options["wave"]
    if wave is None or steer is None or step.change != "wave":
        return None
    after = step.working_max or wave.working_max
    return {
        "week": wave.week,
        "of": len(wave.weeks),
        "before": round(wave.working_max, 3),
        "after": round(after, 3),
        "unit": inputs.unit,
        "shape": shape_of(steer),
    }


def follow_accepted(proposal: Proposal, entry: journal.Recording) -> None:
    """An accepted week of a wave moves the wave on: the next week, and the working max that was judged. A part of the
    act, so that one undo takes both back. The other sessions of the week train it too and move nothing."""
    wave: Mapping[str, Any] | None = proposal.new.get("wave")
    if not wave:
        return
    row = (
        Progression.objects.select_for_update().filter(client=proposal.client_id, exercise=proposal.exercise_id).first()
    )
    if row is None or row.policy != Progression.Policy.WAVES or shape_of(row) != wave["shape"]:
        return
    if row.week != wave["week"] or row.working_max is None:
        return
    entry.change(row)
    row.week = (row.week + 1) % len(row.weeks)
    row.rounds += row.week == 0
    if wave["after"] != wave["before"]:
        judged = load_of(wave["after"], wave["unit"])
        own = judged.in_unit(row.working_max_unit) if wave["unit"] in GRAMS_PER_UNIT else None
        row.working_max = _exact(Decimal(str(own)) if own is not None else judged.value)
    row.save(update_fields=["week", "rounds", "working_max"])
    reviewed_later(proposal.client_id)


def settle_tests(decided: Iterable[Proposal], progressions: Mapping[int, Progression]) -> None:
    """A test is asked for once: when the session with it has been trained, nothing is asked any more."""
    for proposal in decided:
        row = progressions.get(proposal.exercise_id)
        done = proposal.session.state == TrainingSession.State.TRAINED
        if row is None or not done or not proposal.new.get("test"):
            continue
        row.test = Progression.Test.NONE
        row.save(update_fields=["test"])
        proposal.new = {**proposal.new, "test": ""}
        proposal.save(update_fields=["new"])


def follow_undo(entry: JournalEntry, _actor: Coach | None) -> None:
    """What comes next is reckoned again when how it goes on was put back."""
    rows = [row["before"] or row["after"] for row in entry.rows if row["model"] == "clients.progression"]
    for client in sorted({row["client"] for row in rows}):
        reviewed_later(client)


def review_practice(practice: Practice) -> None:
    """What waits of every client with a block in hand is reckoned again, once the change is in."""
    active = Block.objects.for_practice(practice).active().order_by("client")
    clients = list(active.values_list("client", flat=True))
    if clients:
        transaction.on_commit(lambda: review_clients.enqueue(clients))


def _exact(value: Decimal) -> Decimal:
    return value.quantize(THOUSANDTH, ROUND_HALF_UP)
