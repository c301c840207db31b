"""Progression: what a client's next week costs, whether pages ask more with more clients, and how simulated lifters
fare with what is proposed: caps kept, sets that land, strength gained."""

import hashlib
import json
import random
import statistics
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from functools import partial
from pathlib import Path

from django.urls import reverse

from clients import demo
from clients.demo import remove_demo
from clients.models import Client
from coachdesk.benches import Result, Run, bench
from coachdesk.benches.scratch import browser_of, database, queries, twins
from coachdesk.practice.models import Coach
from programs import engine
from programs.engine.cohort import Compared, Lifter, compare, gained, landing, perform, strength_after
from programs.engine.cohort.lifts import Lift, lifts
from programs.engine.progress import next_prescription
from programs.engine.strength import load_for
from programs.engine.terms import Exposure, TargetSet
from programs.engine.vocabulary import EXPERIENCES

SEED = 7
CLIENTS, CLIENTS_FULL = 200, 1000
EXERCISES = 6
WEEKS_LOGGED = 26
POLICIES = ("fixed_steps", "double_progression", "effort_led")
LIFTERS, LIFTERS_FULL = 60, 1000
FEW, MANY = 1, 30
PAGES = ("client", "client-progress", "client-proposals")
BODYWEIGHT = 78.0
LAST_DAY = date(2026, 3, 2)


@dataclass(frozen=True)
class Line:
    """One exercise of a client's week: its past, what is planned, how it progresses."""

    lift: Lift
    history: tuple[Exposure, ...]
    current: tuple[TargetSet, ...]
    policy: str
    experience: str


@bench("progress", "CPU time of a client's next week, queries of client pages, a year of simulated lifters")
def progress(run: Run) -> Iterator[Result]:
    yield from _speed(run)
    yield from _queries(run)
    yield from _lifters(run)


def _speed(run: Run) -> Iterator[Result]:
    count = CLIENTS_FULL if run.full else CLIENTS
    run.say(f"{count} clients, {EXERCISES} exercises each, {WEEKS_LOGGED} weeks logged")
    taken = []
    for number in range(count):
        week = _logged(number)
        begun = time.process_time()
        for line in week:
            _next(line)
        taken.append(1000 * (time.process_time() - begun))
    yield Result("next week of a client, p50", round(statistics.median(taken), 2), "ms")
    yield Result("next week of a client, p95", round(sorted(taken)[int(0.95 * len(taken))], 2), "ms")


def _logged(number: int) -> list[Line]:
    """Half a year of six exercises, each once a week, with loads that rose as strength did."""
    rng = random.Random(repr((SEED, number)))
    experience = EXPERIENCES[number % len(EXPERIENCES)]
    lifter = Lifter(experience)
    return [
        Line(lift, *_half_a_year(lift, lifter, rng), rng.choice(POLICIES), experience)
        for lift in rng.sample(lifts(), EXERCISES)
    ]


def _half_a_year(lift: Lift, lifter: Lifter, rng: random.Random) -> tuple[tuple[Exposure, ...], tuple[TargetSet, ...]]:
    """What was logged of a lift, and what was asked for the last time."""
    maximum = lift.maximum(BODYWEIGHT) * rng.uniform(0.7, 1.3)
    moved = partial(lift.moved, bodyweight=BODYWEIGHT)
    exposures = []
    asked = lift.asked(None)
    for week in range(WEEKS_LOGGED):
        true = strength_after(maximum, lifter.experience, week)
        asked = lift.asked(_nearest(lift, load_for(true, (lift.low + lift.high) / 2, lift.rir)))
        done = perform(lifter, true, asked, rng, moved=moved)
        day = LAST_DAY - timedelta(weeks=WEEKS_LOGGED - 1 - week)
        exposures.append(Exposure(day, done, asked, bodyweight=BODYWEIGHT if lift.fraction else None))
    return tuple(exposures), asked


def _nearest(lift: Lift, wanted: float) -> float:
    return min(lift.rack.loads, key=lambda load: abs(lift.moved(load, BODYWEIGHT) - wanted))


def _next(line: Line) -> None:
    lift = line.lift
    next_prescription(
        line.history,
        line.current,
        line.policy,
        lift.rack,
        role=lift.role,
        experience=line.experience,
        load_entry=lift.load_entry,
        on=LAST_DAY + timedelta(weeks=1),
        pattern=lift.pattern,
        rep_range=(lift.low, lift.high),
        bodyweight=BODYWEIGHT,
        bodyweight_fraction=lift.fraction,
        machine=lift.machine,
    )


def _queries(run: Run) -> Iterator[Result]:
    """Pages of one client, who is the practice's only one, and then one of thirty."""
    with database() as coach:
        run.say("loading the demo")
        demo.load_demo(coach)
        client = _only_one(coach)
        browser = browser_of(coach)
        addresses = {name: reverse(name, args=[client.public_id]) for name in PAGES}
        alone = {name: queries(browser, address) for name, address in addresses.items()}
        twins(client, MANY - FEW)
        for name, address in addresses.items():
            asked = queries(browser, address)
            run.say(f"{name}: {alone[name]} queries with {FEW} client, {asked} with {MANY}")
            yield Result(f"{name}, more queries with {MANY} clients", asked - alone[name], "queries")


def _only_one(coach: Coach) -> Client:
    client = Client.objects.for_practice(coach.practice).get(name__startswith="Nadia")
    Client.objects.filter(pk=client.pk).update(is_demo=False)
    remove_demo(coach.practice)
    client.refresh_from_db()
    return client


def _lifters(run: Run) -> Iterator[Result]:
    rows = _lived(run, LIFTERS_FULL if run.full else LIFTERS)
    broken = [one for row in rows for one in row.broken]
    for one in broken[:20]:
        run.say(f"broken: {one}")
    yield Result("prescriptions that break a cap, a rack or a limit", len(broken), "")
    ours, known, freely = landing(rows)
    by_hand, prescribed = sum(row.by_hand for row in rows), sum(row.prescribed for row in rows)
    run.say(f"{len(rows)} lifters, {prescribed} prescriptions, {by_hand} other ways taken by the coach")
    run.say(
        f"landed: {ours:.3f} as proposed, {known:.3f} knowing the day's strength, {freely:.3f} and free in the reps"
    )
    yield Result("first sets that land, against knowing the day's strength", round(ours / known, 3), "x")
    yield Result("first sets that land, against knowing it and free in the reps", round(ours / freely, 3), "x")
    others: dict[str, Callable[[Compared], float]] = {
        "fixed steps": lambda row: row.gain_fixed,
        "always repeating": lambda row: row.gain_repeating,
    }
    for experience in EXPERIENCES:
        mine = [row for row in rows if row.experience == experience]
        ours, known, freely = landing(mine)
        heedless = gained(mine, lambda row: row.gain_textbook)
        run.say(f"{experience}: landed {ours:.3f} of {known:.3f}, {freely:.3f} free in the reps")
        run.say(f"{experience}: gain against fixed steps that heed neither pain nor time off: {heedless:.4f}")
        for name, other in others.items():
            yield Result(f"gain against {name}, {experience}", round(gained(mine, other), 4), "x")


def _lived(run: Run, count: int) -> Sequence[Compared]:
    """The lifters' years, a line each, kept in the folder while the engine is the same: a broken run goes on."""
    kept = run.folder / f"lifters-{_engine_as_it_is()}.jsonl"
    rows: dict[int, Compared] = {}
    for line in kept.read_text().splitlines() if kept.exists() else ():
        found = json.loads(line)
        rows[found["number"]] = Compared(**{**found, "broken": tuple(found["broken"])})
    with kept.open("a") as file:
        for number in range(count):
            if number not in rows:
                rows[number] = compare(number)
                print(json.dumps(asdict(rows[number])), file=file, flush=True)
            if (number + 1) % 50 == 0:
                run.say(f"{number + 1} of {count} lifters")
    return [rows[number] for number in range(count)]


def _engine_as_it_is() -> str:
    """A short name for the engine's sources, so that years lived with another one are not mixed in."""
    digest = hashlib.sha256()
    for folder in engine.__path__:
        for path in sorted(Path(folder).rglob("*.py")):
            digest.update(path.read_bytes())
    return digest.hexdigest()[:12]
