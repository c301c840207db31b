"""What finding an exercise costs the server, with the seeded library and with 5,000 exercises."""

import random
from collections.abc import Iterator
from typing import Any
from urllib.parse import urlencode

from django.test import Client as Browser
from django.urls import reverse

from clients import demo
from clients.models import Client
from coachdesk.benches import Result, Run, bench
from coachdesk.benches.scratch import browser_of, cpu_ms, database, page_ratio, queries
from coachdesk.practice.models import Coach
from programs.models import Exercise, ExerciseJoint, ExerciseRegion
from programs.services.rows import fresh

RUNS, RUNS_FULL = 15, 61
MANY = 5_000
SEED = 5
# What one types or chooses: the part of the page that htmx asks for at every key.
SEARCHES: dict[str, dict[str, Any]] = {
    "exact word": {"q": "deadlift"},
    "two words": {"q": "cable row"},
    "beginning": {"q": "s"},
    "typing mistake": {"q": "deadlfit"},
    "two typing mistakes": {"q": "hamstirngz"},
    "region by name": {"q": "hamstrings"},
    "nothing": {"q": "zzzzzzzzzz"},
    "region": {"region": "hams"},
    "group, spared joints, skill": {"group": "lats", "spare": ["elbow", "grip"], "skill": "basic"},
    "no filter": {},
}
# What sets one coach's variation of an exercise apart from another's.
MANNERS = ("paused", "slow", "tall", "half", "seated", "kneeling", "wide", "narrow", "heavy", "light", "long", "short")
MAKERS = ("oak", "elm", "ash", "birch", "alder", "rowan", "hazel", "maple", "larch", "cedar", "yew", "willow")


@bench("library", "server CPU time of searching the library, as a multiple of the empty page, at 197 and at 5,000")
def library(run: Run) -> Iterator[Result]:
    runs = RUNS_FULL if run.full else RUNS
    with database() as coach:
        run.say("loading the demo")
        demo.load_demo(coach)
        client = Client.objects.for_practice(coach.practice).get(name__startswith="Nadia")
        searches = {**SEARCHES, "what a client can do": {"client": str(client.public_id)}}
        browser = browser_of(coach)
        browser.defaults["HTTP_HX_REQUEST"] = "true"
        few = Exercise.objects.for_practice(coach.practice).count()
        run.say(f"searching {few} exercises")
        first = {}
        for name, asked in searches.items():
            cost, first[name] = _measured(browser, asked, runs)
            yield Result(f"{name}, seeded library", round(cost, 2), "x")
        run.say(f"writing {MANY} exercises")
        _multiply(coach, MANY)
        yield Result("first search after a change, 5,000", round(_afresh(browser, coach), 1), "ms")
        worst = 0.0
        for name, asked in searches.items():
            cost, asked_queries = _measured(browser, asked, runs)
            worst = max(worst, cost) if name in SEARCHES else worst
            run.say(f"{name}: {cost:.1f} x the empty page, {asked_queries} queries")
            yield Result(f"{name}, 5,000", round(cost, 2), "x")
            yield Result(f"{name}, more queries at 5,000", asked_queries - first[name], "queries")
        yield Result("dearest search, 5,000", round(worst, 2), "x")
        del browser.defaults["HTTP_HX_REQUEST"]
        yield Result("whole page, 5,000", round(page_ratio(browser, reverse("library"), runs), 2), "x")


def _measured(browser: Browser, asked: dict[str, Any], runs: int) -> tuple[float, int]:
    """The page as a multiple of the empty page, and its queries."""
    address = f"{reverse('library')}?{urlencode(asked, doseq=True)}"
    return page_ratio(browser, address, runs), queries(browser, address)


def _afresh(browser: Browser, coach: Coach) -> float:
    """CPU time of a search that has to read the library again, in ms."""

    def change_and_search() -> None:
        Exercise.objects.for_practice(coach.practice).filter(name__startswith="A").update(rest_s=90)
        browser.get(reverse("library"), {"q": "deadlift"})

    return cpu_ms(change_and_search, 5)


def _multiply(coach: Coach, wanted: int) -> None:
    """Variations of the seeded exercises until there are as many as wanted, each with its regions and joints."""
    chance = random.Random(SEED)
    seeded = list(Exercise.objects.for_practice(coach.practice).with_facts())
    manners = [f"{manner} {maker}" for manner in MANNERS for maker in MAKERS]
    regions, joints, made = [], [], []
    for number in range(wanted - len(seeded)):
        base = seeded[number % len(seeded)]
        name = f"{base.name}, {chance.choice(manners)} {number}"
        made.append((fresh(base, name=name), base))
    Exercise.objects.bulk_create([row for row, _base in made], batch_size=500)
    for row, base in made:
        regions += [
            ExerciseRegion(exercise=row, region=one.region, quarters=one.quarters) for one in base.regions.all()
        ]
        joints += [ExerciseJoint(exercise=row, joint=one.joint, severity=one.severity) for one in base.joints.all()]
    ExerciseRegion.objects.bulk_create(regions, batch_size=2000)
    ExerciseJoint.objects.bulk_create(joints, batch_size=2000)
