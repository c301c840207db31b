"""The sets of one sheet line as the page shows them: what was asked, what was done, what stands in the form.

The sheet's numbers are 1, 2, 3 …; extra sets go on counting. Tries of a load that is still being found are kept
under numbers of their own, as warm-ups, so that they never count as the sets that were asked for.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from clients.models import LoggedPart, LoggedSet
from clients.sheets import wording
from clients.sheets.document import load_value
from programs.drawings.set_ladder import Rung

TRIES_FROM = 200
MOST_RIR = 4  # "4+" is the last box

Line = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Done:
    """One logged set in words, with what is needed to change it or take it back."""

    key: str
    number: int
    words: str
    exercise: str  # the exercise really done, when it was a swap; else ""
    asked: bool
    is_try: bool
    note: str


@dataclass(frozen=True, slots=True)
class SetRow:
    """One set's form: its place among the working sets (0-based) and the values it opens with, as typed text."""

    number: int
    place: int
    kind: str
    extra: bool
    is_try: bool
    key: str  # of the set it would change; "" for a new one
    aim: str
    last: str
    last_rir: str
    load: str
    amount: str
    rir: str
    left: str = ""
    right: str = ""

    @property
    def shown(self) -> str:
        """What the form opened with: sent back unchanged it was confirmed, not typed."""
        return "|".join((self.load, self.amount, self.rir))


@dataclass(frozen=True, slots=True)
class LineState:
    """A line with all its sets. ``now`` is the set in hand, None when all that was asked is done."""

    rows: tuple[SetRow, ...]
    done: tuple[Done, ...]
    now: int | None
    asked: int
    finding: bool
    tries_done: int

    @property
    def complete(self) -> bool:
        return self.now is None


def line_state(line: Line, logged: Sequence[LoggedSet]) -> LineState:
    """The state of a line from the sets logged for it (those taken back left out), parts and exercise loaded."""
    targets = wording.working(line)
    by_number: dict[int, LoggedSet] = {}
    for row in sorted(logged, key=lambda row: (row.state != LoggedSet.State.COUNTS, row.pk)):
        if row.number is not None:
            by_number.setdefault(row.number, row)
    tries = [row for row in logged if (row.number or 0) > TRIES_FROM]
    work = {number: row for number, row in by_number.items() if number <= TRIES_FROM}
    finding = bool(line["finding"]) and not work
    latest = max(work.values(), key=lambda row: (row.order, row.pk), default=None)
    rows = [
        _row(line, target, place, by_number.get(target["number"]), latest, finding, len(tries))
        for place, target in enumerate(targets)
    ]
    numbers = [target["number"] for target in targets]
    for number in sorted(number for number in work if number not in numbers):
        rows.append(_extra(line, targets, number, len(rows), work[number], latest))
    next_number = max([*numbers, *work], default=0) + 1
    rows.append(_extra(line, targets, next_number, len(rows), None, latest))
    now = next((target["number"] for target in targets if target["number"] not in work), None)
    done = [
        _done(line, row)
        for row in sorted(logged, key=lambda row: (row.number or 0) - (1000 if (row.number or 0) > TRIES_FROM else 0))
    ]
    return LineState(tuple(rows), tuple(done), now, len(targets), finding, len(tries))


def _row(
    line: Line,
    target: Mapping[str, Any],
    place: int,
    logged: LoggedSet | None,
    latest: LoggedSet | None,
    finding: bool,
    tries: int,
) -> SetRow:
    last = wording.last_of(line, place)
    is_try = finding and place == 0
    return SetRow(
        number=target["number"],
        place=place,
        kind=target["kind"],
        extra=False,
        is_try=is_try,
        key=logged.key if logged is not None else "",
        aim=wording.aim_words(line, target),
        last=wording.done_words(line, last) if last else "",
        last_rir=wording.rir_words(last["rir"]) if last else "",
        **_values(line, target, logged, latest, tries if is_try else None),
    )


def _extra(
    line: Line,
    targets: Sequence[Mapping[str, Any]],
    number: int,
    place: int,
    logged: LoggedSet | None,
    latest: LoggedSet | None,
) -> SetRow:
    like = targets[-1] if targets else {"reps": None, "seconds": None, "metres": None, "load": None, "rir": None}
    return SetRow(
        number=number,
        place=place,
        kind="work",
        extra=True,
        is_try=False,
        key=logged.key if logged is not None else "",
        aim="",
        last="",
        last_rir="",
        **_values(line, like, logged, latest, None),
    )


def _values(
    line: Line, target: Mapping[str, Any], logged: LoggedSet | None, latest: LoggedSet | None, tries: int | None
) -> dict[str, str]:
    if logged is not None:
        sides = {part.sort: str(part.reps) for part in logged.parts.all() if part.reps is not None}
        return {
            "load": "" if logged.load_value is None else wording.number(logged.load_value),
            "amount": str(logged.reps or logged.seconds or logged.metres or 0),
            "rir": "" if logged.rir is None else _box(logged.rir),
            "left": sides.get(LoggedPart.Sort.LEFT, ""),
            "right": sides.get(LoggedPart.Sort.RIGHT, ""),
        }
    load = target["load"]
    # The rack was not what the sheet took it for, or the day was: the sets that follow start from what was lifted.
    if latest is not None and latest.load_value is not None and latest.exercise_id:
        load = load_value(latest.load)
    if tries is not None:
        steps = line["finding"]["loads"]
        load = steps[min(tries, len(steps) - 1)] if steps else None
    rir = target["rir"]
    return {
        "load": "" if load is None else wording.number(load["value"]),
        "amount": _amount(target, latest),
        "rir": "" if rir is None or tries is not None else _box(rir),
    }


def _amount(target: Mapping[str, Any], latest: LoggedSet | None) -> str:
    if target["seconds"] is not None:
        return str(target["seconds"])
    if target["metres"] is not None:
        return str(target["metres"])
    if not target["reps"]:
        return ""
    low, high = target["reps"]
    if latest is not None and latest.reps is not None and not target["open"]:
        return str(min(max(latest.reps, low), high))
    return str(low)


def _box(rir: float | Decimal) -> str:
    return str(min(int(rir), MOST_RIR))


def as_done(row: LoggedSet) -> dict[str, Any]:
    """A logged set in the shape the document uses for last time's sets."""
    return {
        "load": load_value(row.load),
        "reps": row.reps,
        "seconds": row.seconds,
        "metres": row.metres,
        "rir": None if row.rir is None else float(row.rir),
    }


def _done(line: Line, row: LoggedSet) -> Done:
    number = row.number or 0
    return Done(
        key=row.key,
        number=number,
        words=wording.done_words(line, as_done(row)),
        exercise="" if row.is_of(line) else row.exercise.name,
        asked=row.state == LoggedSet.State.ASKED,
        is_try=number > TRIES_FROM,
        note=row.note,
    )


def rungs(line: Line, logged: Sequence[LoggedSet], *, now: int | None = None, named: bool = False) -> list[Rung]:
    """The line's ladder: the ramp, then the working sets; what was done stands with its own numbers."""
    done: dict[int, LoggedSet] = {row.number: row for row in logged if row.number and row.number <= TRIES_FROM}
    heaviest = _most_help(line)
    ladder = [
        Rung(
            kind="warm",
            load=_height(step["load"], heaviest),
            load_label=_short(line, step["load"]),
            reps_label=f"{wording.TIMES}{step['reps']}",
            name=f"w{place}" if named else "",
        )
        for place, step in enumerate(line["warm_up"], start=1)
    ]
    for target in line["sets"]:
        warm = target["kind"] == "warm_up"
        row = None if warm else done.get(target["number"])
        load = load_value(row.load) if row is not None else target["load"]
        rir = target["rir"] if row is None else row.rir
        much = wording.done_amount(as_done(row)) if row is not None else _first(target)
        ladder.append(
            Rung(
                kind="warm" if warm else "work",
                load=_height(load, heaviest) if load is not None or not line["finding"] else None,
                load_label=_short(line, load),
                reps_label=much if target["reps"] is None else f"{wording.TIMES}{much}",
                rir=None if rir is None else min(round(rir), MOST_RIR),
                state="done" if row is not None else "now" if target["number"] == now and not warm else "todo",
                name=str(target["number"]) if named else "",
                drop=target["kind"] == "drop" and len(ladder) > 0,
            )
        )
    return ladder


def _first(target: Mapping[str, Any]) -> str:
    if target["reps"]:
        return f"{target['reps'][0]}{'+' if target['open'] else ''}"
    return wording.amount(target)


def _most_help(line: Line) -> float | None:
    """On an assisted machine less help is the higher rung: heights count down from the most help."""
    if line["exercise"]["load_entry"] != "assisted":
        return None
    loads = [float(target["load"]["value"]) for target in line["sets"] if target["load"]]
    return 1.5 * max(loads, default=0.0) + 1


def _height(load: Mapping[str, str] | None, most_help: float | None) -> float | None:
    if load is None:
        return 0.0
    value = float(load["value"])
    return value if most_help is None else most_help - value


def _short(line: Line, load: Mapping[str, str] | None) -> str:
    if load is None:
        return "" if line["exercise"]["load_entry"] == "none" else "?"
    on_body = line["exercise"]["load_entry"] == "added" and line["exercise"]["bodyweight_fraction"]
    if on_body and not float(load["value"]):
        return ""
    if load["unit"] == "band":
        return wording.band_name(line, load["value"])[:8]
    return wording.number(load["value"])
