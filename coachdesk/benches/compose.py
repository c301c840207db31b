"""Composing: how many weeks are proven best, what that costs beside the search and the bare solver, and the sweep of
every template, level, place and cap."""

import json
import random
import resource
import statistics
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from clients.starting_sets import SETS
from coachdesk.benches import Result, Run, bench
from coachdesk.benches.scratch import database
from coachdesk.practice.models import Practice
from programs.engine import vocabulary
from programs.engine.compose import WeekRequest, alternatives, assess, clashes, ways_out
from programs.engine.compose.evaluate import Rules, by_place
from programs.engine.compose.solver import rows
from programs.engine.compose.week import best_picks, settled_picks
from programs.engine.terms import Pick
from programs.models import Outline
from programs.reads import day_types_of, library_of

SEED = 11
SOME, SOME_FULL = 60, 300
PLACES = {"full gym": "", "small gym": "strength-room", "home": "home-dumbbells", "hotel": "hotel-gym"}
CAPS = (None, 60, 40)


@dataclass(frozen=True)
class Scenario:
    template: str
    level: str
    place: str
    cap: int | None
    request: WeekRequest

    def __str__(self) -> str:
        return f"{self.template}, {self.level}, {self.place}, {self.cap or 'any'} min"


class Stopwatch:
    """CPU seconds spent inside the bare solver, beside everything around it."""

    def __init__(self) -> None:
        self.spent = 0.0
        self._made = rows.Rows.solver

    def __enter__(self) -> "Stopwatch":
        watch = self

        class Timed:
            def __init__(self, inner: Any) -> None:
                self.inner = inner

            def __getattr__(self, name: str) -> Any:
                return getattr(self.inner, name)

            def solve(self, model: Any) -> Any:
                begun = time.process_time()
                status = self.inner.solve(model)
                watch.spent += time.process_time() - begun
                return status

        made = self._made
        rows.Rows.solver = lambda asked, effort: Timed(made(asked, effort))  # type: ignore[assignment, method-assign]
        return self

    def __exit__(self, *_: object) -> None:
        rows.Rows.solver = self._made  # type: ignore[method-assign]


@bench("compose", "weeks proven best, CPU time beside the search and the bare solver, what is left unfilled")
def compose(run: Run) -> Iterator[Result]:
    with database() as coach:
        every = scenarios(coach.practice)
        some = random.Random(SEED).sample(every, SOME_FULL if run.full else SOME)
        run.say(f"{len(some)} of {len(every)} weeks")
        best_picks(Rules.of(some[0].request))  # loads the solver
        yield from _measured(run, some)
        if run.full:
            yield from _sweep(run, every)


def scenarios(practice: Practice) -> list[Scenario]:
    """Every seeded template for every level, at four places, under three caps."""
    library = library_of(practice)
    found = []
    for outline in Outline.objects.for_practice(practice).current().with_week():
        for level in vocabulary.EXPERIENCES:
            days = day_types_of(outline, level)
            for place, key in PLACES.items():
                for cap in CAPS:
                    asked = WeekRequest(
                        day_types=days,
                        library=library,
                        experience=level,
                        stations=stations_of(key),
                        minutes_cap=cap,
                        cycle_days=float(outline.cycle_days),
                    )
                    found.append(Scenario(outline.seed_key, level, place, cap, asked))
    return found


def stations_of(key: str) -> frozenset[str]:
    """Station kinds of a ready-made place; without a key all there are."""
    if not key:
        return frozenset(vocabulary.STATION_KINDS)
    return frozenset(SETS[key].loaded) | frozenset(SETS[key].apparatus)


def _measured(run: Run, some: Sequence[Scenario]) -> Iterator[Result]:
    whole, around, solved, searched, gaps, swaps = [], [], [], [], [], []
    proven = 0
    chance = random.Random(SEED)
    with Stopwatch() as watch:
        for number, scenario in enumerate(some, 1):
            rules = Rules.of(scenario.request)
            quick, (rough, _proof) = _timed(partial(best_picks, rules, proven=False))
            watch.spent = 0.0
            taken, (picks, proof) = _timed(partial(_from_nothing, scenario.request))
            whole.append(taken)
            solved.append(watch.spent)
            around.append(taken - watch.spent)
            searched.append(quick)
            proven += proof.kind == "proven"
            gaps.append(_cost(rules, rough) - _cost(rules, picks))
            swaps += _swapped(scenario.request, picks, watch, chance)
            if number % 10 == 0:
                run.say(f"{number} of {len(some)}")
    alone = [(taken, bare) for taken, bare in swaps]
    yield Result("weeks proven best", round(100 * proven / len(some), 1), "%")
    for name, share in (("p50", 0.5), ("p95", 0.95), ("most", 1.0)):
        yield Result(f"composing, {name}", round(1000 * _at(whole, share)), "ms")
    yield Result("composing against the search, p50", round(_at(whole, 0.5) / _at(searched, 0.5), 2), "x")
    yield Result("around the bare solver, p50", round(100 * _at(around, 0.5) / _at(solved, 0.5), 1), "%")
    yield Result("a swap, p50", round(1000 * _at([taken for taken, _ in alone], 0.5)), "ms")
    yield Result("a swap, p95", round(1000 * _at([taken for taken, _ in alone], 0.95)), "ms")
    bare = _at([bare for _, bare in alone], 0.95)
    yield Result("a swap against its bare solver, p95", round(_at([taken for taken, _ in alone], 0.95) / bare, 2), "x")
    faster = _at(whole, 0.95) / _at([taken for taken, _ in alone], 0.95)
    yield Result("composing anew against a swap, p95", round(faster, 1), "x")
    yield Result("the search's weeks behind the best, p50", statistics.median(gaps), "points")
    yield Result("the search's weeks behind the best, p95", _at(gaps, 0.95), "points")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    yield Result("peak memory", round(peak), "MiB")


def _from_nothing(request: WeekRequest) -> Any:
    return best_picks(Rules.of(request))


def _swapped(
    request: WeekRequest, picks: Sequence[Pick], watch: Stopwatch, chance: random.Random
) -> list[tuple[float, float]]:
    """One pick swapped for one of its alternatives: CPU seconds of setting the week right, and of the bare solver."""
    pick = chance.choice(picks)
    ranked = alternatives(request, picks, pick.slot, pick.occurrence).ranked
    if not ranked:
        return []
    pinned = Pick(pick.slot, pick.occurrence, chance.choice(ranked).exercise, 0, (), True)
    asked = replace(request, pins=(pinned,))
    others = [other for other in picks if other is not pick]
    watch.spent = 0.0
    taken, _answer = _timed(lambda: settled_picks(Rules.of(asked), [*others, pinned], [(pick.slot, pick.occurrence)]))
    return [(taken, watch.spent)]


def _sweep(run: Run, every: Sequence[Scenario]) -> Iterator[Result]:
    """Every week there is to compose, a line each, kept in the folder so that a broken sweep goes on."""
    kept = run.folder / "weeks.jsonl"
    done = {row["week"]: row for row in map(json.loads, kept.read_text().splitlines())} if kept.exists() else {}
    with kept.open("a") as file:
        for number, scenario in enumerate(every, 1):
            if str(scenario) not in done:
                row = _outcome(scenario)
                done[str(scenario)] = row
                print(json.dumps(row), file=file, flush=True)
            if number % 25 == 0:
                run.say(f"sweep: {number} of {len(every)}")
    table = [done[str(scenario)] for scenario in every]
    for line in _lines(table):
        run.say(line)
    whole = [row for row in table if row["whole"]]
    yield Result("weeks with every slot filled", round(100 * len(whole) / len(table), 1), "%")
    yield Result("of the others, with a way out", _share([bool(row["ways"]) for row in table if not row["whole"]]), "%")
    yield Result("groups in range, weeks filled", _share([g for row in whole for g in row["in_range"]]), "%")


def _outcome(scenario: Scenario) -> dict[str, Any]:
    request = scenario.request
    picks, proof = best_picks(Rules.of(request))
    places = sum(len(day.slots) * day.occurrences for day in request.day_types)
    audit = assess(request, picks)
    whole = len(picks) == places
    return {
        "week": str(scenario),
        "place": scenario.place,
        "cap": scenario.cap,
        "level": scenario.level,
        "proof": proof.kind,
        "whole": whole,
        "ways": [[way.cost, len(way.steps)] for way in ways_out(request)] if not whole else [],
        "clashes": len(clashes(request)) if not whole else 0,
        "in_range": [audit.dose[group].judged.verdict == "in_range" for group in vocabulary.AUDITED_GROUPS],
    }


def _lines(table: Sequence[dict[str, Any]]) -> Iterator[str]:
    """The sweep as a table: places and caps down, filled, proven and in range across."""
    yield f"{'place':12}{'cap':>5}{'weeks':>7}{'filled':>8}{'proven':>8}{'in range':>10}"
    for place in PLACES:
        for cap in CAPS:
            mine = [row for row in table if row["place"] == place and row["cap"] == cap]
            filled = _share([row["whole"] for row in mine])
            proven = _share([row["proof"] == "proven" for row in mine])
            ranges = _share([g for row in mine for g in row["in_range"]])
            yield f"{place:12}{cap or '–':>5}{len(mine):>7}{filled:>7}%{proven:>7}%{ranges:>9}%"


def _share(found: Sequence[bool]) -> float:
    return round(100 * sum(found) / len(found), 1) if found else 100.0


def _cost(rules: Rules, picks: Sequence[Pick]) -> int:
    return rules.cost(by_place(rules.request, picks)).total


def _timed(action: Any) -> tuple[float, Any]:
    begun = time.process_time()
    answer = action()
    return time.process_time() - begun, answer


def _at(values: Sequence[float], share: float) -> float:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]
