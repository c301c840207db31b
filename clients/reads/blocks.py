"""A block's sessions as pages show them: one session's lines, the calendar."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from clients.cycles import WEEK_DAYS
from clients.models import Block, Client, Prescription, TargetSet, TrainingSession
from clients.sheets.wording import clock
from programs.reasons import sentence_of
from programs.reasons.words import NBSP, number

# What a coach may have pinned about a line's numbers, and may release.
NUMBERS = frozenset({"load", "sets", "reps"})


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a session in words. ``sets`` are empty for a free line; ``release`` is the id of a line whose numbers
    a coach has pinned."""

    title: str
    second: str
    sets: str
    load: str
    rir: str
    rest: str
    bracket: str
    free: bool
    pinned: frozenset[str]
    why: str
    release: str = ""
    technique: str = ""
    exercise: str = ""  # its public id


@dataclass(frozen=True, slots=True)
class CalendarWeek:
    """``sessions`` with their whole minutes."""

    starts_on: date | None
    sessions: list[tuple[TrainingSession, int | None]]


def blocks_of(client: Client) -> list[Block]:
    """The client's blocks, the newest first."""
    return list(client.blocks.select_related("outline", "place").order_by("-number"))


def calendar_of(
    sessions: Iterable[TrainingSession], lengths: Mapping[int, int | None], week_start: int
) -> list[CalendarWeek]:
    """By calendar week, in order of dates; those without a date last."""
    weeks: dict[date | None, list[tuple[TrainingSession, int | None]]] = {}
    for session in sorted(sessions, key=_in_order):
        day = session.planned_on
        first = None if day is None else day - timedelta(days=(day.weekday() - week_start) % WEEK_DAYS)
        weeks.setdefault(first, []).append((session, lengths.get(session.pk)))
    return [CalendarWeek(first, rows) for first, rows in weeks.items()]


def _in_order(session: TrainingSession) -> tuple[bool, date, int, int]:
    return session.planned_on is None, session.planned_on or date.max, session.cycle, session.position


def lines_of(session: TrainingSession) -> list[Line]:
    """Reads the session's prefetched lines."""
    rows = list(session.prescriptions.all())
    names = {row.exercise.key: row.exercise.name for row in rows if row.exercise is not None}
    brackets = _brackets([row.superset if row.exercise_id else "" for row in rows])
    unit = session.place.unit
    return [_line(row, names, bracket, unit) for row, bracket in zip(rows, brackets, strict=True)]


def _line(row: Prescription, names: Mapping[str, str], bracket: str, unit: str) -> Line:
    if row.exercise is None:
        minutes = _("%(minutes)d min") % {"minutes": row.minutes} if row.minutes else ""
        return Line(row.text, minutes, "", "", "", "", bracket, True, frozenset(), "")
    targets = list(row.target_sets.all())
    return Line(
        title=row.exercise.name,
        second=row.slot_title,
        sets=_sets(targets),
        load=_("to find") if row.finds_load else _each([load_of_set(target, row.exercise) for target in targets]),
        rir=_each(["–" if target.rir is None else number(target.rir) for target in targets]),
        rest=_each(["–" if target.rest_s is None else clock(target.rest_s) for target in targets]),
        bracket=bracket,
        free=False,
        pinned=frozenset(row.pinned),
        release=str(row.public_id) if NUMBERS & set(row.pinned) else "",
        why=" ".join([row.reason_text, *(sentence_of(reason, names, unit) for reason in row.reasons)]).strip(),
        technique=row.technique,
        exercise=str(row.exercise.public_id),
    )


def amount(target: TargetSet) -> str:
    """ "6–8", "20 s", "30 m", "5+"."""
    if target.seconds is not None:
        return f"{target.seconds}{NBSP}s"
    if target.metres is not None:
        return f"{target.metres}{NBSP}m"
    if target.open_ended:
        return f"{target.reps_low}+"
    if target.reps_high in (None, target.reps_low):
        return str(target.reps_low)
    return f"{target.reps_low}–{target.reps_high}"


def load_of_set(target: TargetSet, exercise: Any) -> str:
    """ "72.5 kg", "26 kg each", "bodyweight", "–"."""
    load = target.load
    if load is None:
        return "–"
    if load.unit not in ("kg", "lb"):
        return f"{number(load.value)}{NBSP}{_('setting') if load.unit == 'setting' else _('band')}"
    figure = f"{number(abs(load.value))}{NBSP}{load.unit}"
    if exercise.load_entry in ("added", "assisted") and exercise.bodyweight_fraction:
        # One line from help over the body alone to added load; each exercise has the minus on its other side.
        added = -load.value if exercise.load_entry == "assisted" else load.value
        if not added:
            return _("no help") if exercise.load_entry == "assisted" else _("bodyweight")
        return f"+{figure}" if added > 0 else _("%(load)s help") % {"load": figure}
    if exercise.load_entry == "assisted":
        return _("%(load)s help") % {"load": figure}
    if exercise.load_entry == "per_hand":
        return _("%(load)s each") % {"load": figure}
    return figure


def _sets(targets: Sequence[TargetSet]) -> str:
    """ "3 × 6–8", or every set where they differ."""
    amounts = [amount(target) for target in targets]
    if not amounts:
        return "–"
    if len(set(amounts)) == 1:
        return f"{len(amounts)}{NBSP}×{NBSP}{amounts[0]}"
    return ", ".join(amounts)


def _each(values: Sequence[str]) -> str:
    """One value where all are the same, else each."""
    kept = list(dict.fromkeys(values))
    return kept[0] if len(kept) == 1 else ", ".join(values) if values else "–"


def _brackets(supersets: Sequence[str]) -> list[str]:
    marks = []
    for index, mine in enumerate(supersets):
        before = bool(mine) and index > 0 and supersets[index - 1] == mine
        after = bool(mine) and index + 1 < len(supersets) and supersets[index + 1] == mine
        kinds = {(False, True): "superset-start", (True, True): "superset-middle", (True, False): "superset-end"}
        marks.append(kinds.get((before, after), ""))
    return marks


def day_words(day: date | None) -> str:
    """ "Mon 2 Mar"."""
    return _("any day") if day is None else date_format(day, "D j M")
