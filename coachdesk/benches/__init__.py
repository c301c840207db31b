"""Benchmarks, run by `manage.py bench NAME`.

To add one, write a module here and mark a function; it is found by itself:

    # coachdesk/benches/pages.py
    @bench("pages", "server CPU time of each page, as a multiple of the empty page")
    def pages(run: Run) -> Iterator[Result]:
        for page in PAGES:
            run.say(f"measuring {page}")            # progress, on stderr
            yield Result(f"{page}, 8 clients", ratio(page), "x")

and give each metric its goal in goals.toml under the name of the benchmark: `"roster, 8 clients" = "<= 6"`.
A metric without a goal is not ok, and neither is a goal whose metric was not measured. A metric that only
--full measures has its goal under [NAME.full].

A benchmark measures ratios within one run, or CPU time, where wall time would be noise; `run.full` asks for
the long sweep, which keeps its state in `run.folder`, so that it goes on where it was broken off.
"""

import importlib
import operator
import pkgutil
import sys
import tomllib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

GOALS_FILE = Path(__file__).parent / "goals.toml"
COMPARISONS: dict[str, Callable[[float, float], bool]] = {
    "<=": operator.le,
    ">=": operator.ge,
    "<": operator.lt,
    ">": operator.gt,
    "==": operator.eq,
}


@dataclass(frozen=True)
class Result:
    """One measured value; `unit` as people write it ("s", "ms", "x", "B", "queries")."""

    metric: str
    value: float
    unit: str


@dataclass(frozen=True)
class Run:
    """How a benchmark was asked for."""

    full: bool
    folder: Path
    say: Callable[[str], None]


@dataclass(frozen=True)
class Benchmark:
    name: str
    about: str
    measure: Callable[[Run], Iterable[Result]]


_registry: dict[str, Benchmark] = {}


def bench(name: str, about: str) -> Callable[[Callable[[Run], Iterable[Result]]], Callable[[Run], Iterable[Result]]]:
    """Register the decorated function as the benchmark `name`."""

    def register(measure: Callable[[Run], Iterable[Result]]) -> Callable[[Run], Iterable[Result]]:
        _registry[name] = Benchmark(name, about, measure)
        return measure

    return register


def all_benches() -> dict[str, Benchmark]:
    """Every benchmark by name, sorted."""
    for module in pkgutil.iter_modules(__path__):
        importlib.import_module(f"{__name__}.{module.name}")
    return dict(sorted(_registry.items()))


def goals(name: str, full: bool) -> dict[str, str]:
    """Metric -> goal such as "<= 3 s" without its unit, for one benchmark."""
    section = tomllib.loads(GOALS_FILE.read_text()).get(name, {})
    wanted = {metric: goal for metric, goal in section.items() if isinstance(goal, str)}
    return {**wanted, **section.get("full", {})} if full else wanted


def judge(results: Iterable[Result], wanted: dict[str, str]) -> list[dict[str, Any]]:
    """Results as the rows of the report; a goal that nothing was measured for is a row that is not ok."""
    rows = []
    for result in results:
        goal = wanted.get(result.metric)
        row = {"metric": result.metric, "value": result.value, "unit": result.unit, "goal": goal}
        rows.append({**row, "ok": goal is not None and meets(result.value, goal)})
    measured = {row["metric"] for row in rows}
    for metric, goal in wanted.items():
        if metric not in measured:
            rows.append({"metric": metric, "value": None, "unit": "", "goal": goal, "ok": False})
    return rows


def meets(value: float, goal: str) -> bool:
    """Whether the value meets a goal such as "<= 3". Raises ValueError for a goal that can't be read."""
    sign, _, limit = goal.partition(" ")
    if sign not in COMPARISONS:
        raise ValueError(f"The goal “{goal}” does not begin with one of {', '.join(COMPARISONS)} and a space.")
    return COMPARISONS[sign](value, float(limit))


def to_stderr(line: str) -> None:
    print(line, file=sys.stderr, flush=True)
