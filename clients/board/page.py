"""The context of the board's templates: bands, the right column, and the opened pick."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from clients.board import drawings
from clients.board.opened import Opened, opened_pick
from clients.board.state import Place, State
from clients.board.words import (
    NONE,
    counted_words,
    day_name,
    load_words,
    number,
    reps_words,
    slot_words,
    title_cells,
    verdict_words,
)
from clients.cycles import WEEK_DAYS, is_rolling, not_kept_words
from clients.models import Block
from clients.reads.composing import LETTERS
from programs import labels
from programs.engine.compose import DayType, SessionMinutes, reps_for
from programs.engine.compose.audit import WEEKLY_PATTERNS
from programs.engine.compose.request import Slot
from programs.engine.terms import Because
from programs.reasons import sentence_of
from programs.reasons.words import KINDS

MANY = 3  # from so many occurrences on a cell has two lines


@dataclass(frozen=True, slots=True)
class Looking:
    """What of the board is looked at: the opened place, and on a phone the session shown."""

    open: Place | None = None
    session: Place | None = None

    @classmethod
    def asked(cls, asked: Callable[[str], str]) -> "Looking":
        """What an address or a form asks to look at; ``asked`` gives a parameter's text or ""."""
        return cls(read_place(asked("open")), read_place(asked("day")))

    def query(self, **changes: str) -> str:
        """The address's query with some of it changed; "" leaves a part out."""
        parts = {
            "open": f"{self.open[0]}:{self.open[1]}" if self.open else "",
            "day": f"{self.session[0]}:{self.session[1]}" if self.session else "",
        }
        return urlencode({name: value for name, value in (parts | changes).items() if value})


def read_place(text: str) -> Place | None:
    """ "upper-row:1" as a place; None for anything else."""
    key, _colon, occurrence = text.rpartition(":")
    return (key, int(occurrence)) if key and occurrence.isascii() and occurrence.isdigit() else None


@dataclass(frozen=True, slots=True)
class Cell:
    """One slot on one occurrence: what fills it, or why nothing does."""

    id: str
    place: str
    letter: str
    url: str
    shown: bool
    chosen: bool
    name: str = ""
    note: str = ""
    sets: int | None = None
    pinned: bool = False
    pinned_sets: bool = False
    load: str = ""
    unit: str = ""
    why: str = ""  # what the because mark explains
    left_out: str = ""
    unfilled: str = ""
    free: str = ""


@dataclass(frozen=True, slots=True)
class SlotRow:
    number: int
    key: str
    title: str
    second: str
    bracket: str
    cells: list[Cell]


@dataclass(frozen=True, slots=True)
class Head:
    """An occurrence's head: letter (none where the day type comes once), day and minutes."""

    letter: str
    day: str
    minutes: str
    over: bool
    shown: bool
    name: str


@dataclass(frozen=True, slots=True)
class Band:
    key: str
    name: str
    heads: list[Head]
    rows: list[SlotRow]
    many: bool
    shown: bool


@dataclass(frozen=True, slots=True)
class DoseRow:
    name: str
    second: str
    strip: SafeString
    count: str
    mark: str
    words: str


@dataclass(frozen=True, slots=True)
class Caution:
    text: str
    url: str = ""


@dataclass(frozen=True, slots=True)
class SessionRow:
    name: str
    day: str
    occurrence: int
    key: str
    on: int | None  # weekday, or day of a rolling cycle
    minutes: str
    cap: str
    over: bool
    sets: int


@dataclass(frozen=True, slots=True)
class Kind:
    word: str
    there: bool


@dataclass(frozen=True, slots=True)
class Page:
    """Everything that ``clients/compose/_board.html`` shows."""

    draft: Any
    looking: Looking
    url: str
    cells: list[dict[str, object]]
    bands: list[Band]
    days: list[dict[str, object]]
    wide: SafeString
    narrow: SafeString
    doses: list[DoseRow]
    dose_line: str
    dose_map: SafeString
    unreached: str
    working_sets: int
    warnings: list[Caution]
    sessions: list[SessionRow]
    kinds: list[Kind]
    pull_to_push: str
    opened: Opened | None
    can_undo: bool
    can_redo: bool
    not_cleared: bool = False
    holds: list[str] = field(default_factory=list)
    ends: Block | None = None
    movable: bool = True
    days_to_choose: list[tuple[int, str]] = field(default_factory=list)
    cycle_days: int = WEEK_DAYS
    rolling: bool = False
    not_kept: str = ""  # whose days a rolling cycle passes over


def page_of(state: State, looking: Looking, *, sees_health: bool) -> Page:
    """The page for a state of the draft; the places looked at are those of this draft or none."""
    draft = state.draft
    url = reverse("draft", args=[draft.public_id])
    looking = _settled(state, looking)
    active = Block.objects.active().filter(client=draft.client).first()
    scale = drawings.strip_scale([found for _group, found in drawings.audited(state)])
    doses = [_dose_row(state, group, scale) for group, _found in drawings.audited(state)]
    days = state.days
    return Page(
        draft=draft,
        looking=looking,
        url=url,
        cells=title_cells(state, active),
        bands=[_band(state, day, looking, url) for day in state.inputs.request.day_types],
        days=_days(state, looking, url),
        wide=drawings.week_drawing(state),
        narrow=drawings.week_drawing(state, narrow=True),
        doses=doses,
        dose_line=_dose_line(doses),
        dose_map=drawings.dose_map(state),
        unreached=drawings.unreached(state),
        working_sets=state.audit.working_sets,
        warnings=[*(Caution(text) for text in drawings.short_gaps(state)), *_warnings(state, looking, url)],
        sessions=[_session_row(state, entry) for entry in _in_week(state)],
        kinds=[Kind(str(KINDS[kind]), kind not in state.audit.patterns_missing) for kind in WEEKLY_PATTERNS],
        pull_to_push="" if state.audit.pull_to_push is None else number(round(state.audit.pull_to_push, 1)),
        opened=opened_pick(state, looking.open, url, looking.query(open="")) if looking.open else None,
        can_undo=state.can_undo,
        can_redo=state.can_redo,
        not_cleared=not state.standing.cleared,
        holds=[sentence_of(hold) for hold in state.standing.holds] if sees_health else [],
        ends=active,
        movable=bool(days) and None not in days.values(),
        days_to_choose=[(day, day_name(day, state.cycle_days)) for day in range(state.cycle_days)],
        cycle_days=state.cycle_days,
        rolling=is_rolling(state.cycle_days),
        not_kept=_not_kept(state),
    )


def _not_kept(state: State) -> str:
    client = state.draft.client
    if None in state.days.values():
        return ""
    return not_kept_words(client.name, client.days, len(state.days), state.cycle_days)


def _settled(state: State, looking: Looking) -> Looking:
    slots = state.inputs.slots()
    opened = looking.open
    if opened is not None and (opened[0] not in slots or opened[1] >= slots[opened[0]][0].occurrences):
        opened = None
    sessions = list(state.days)
    session = looking.session if looking.session in sessions else None
    if session is None and opened is not None:
        session = (slots[opened[0]][0].key, opened[1])
    return Looking(opened, session or (sessions[0] if sessions else None))


def _in_week(state: State) -> list[SessionMinutes]:
    """The sessions' minutes in the order of the week."""
    order = list(state.days)
    return sorted(state.audit.minutes, key=lambda entry: order.index((entry.day, entry.occurrence)))


def _minutes(state: State, day: str, occurrence: int) -> SessionMinutes:
    return next(entry for entry in state.audit.minutes if (entry.day, entry.occurrence) == (day, occurrence))


def _rounded(minutes: float) -> int:
    """Whole minutes, never less than it takes, so that a session that runs over is never shown as fitting."""
    return int(-(-round(minutes, 2) // 1))


def _session_row(state: State, entry: SessionMinutes) -> SessionRow:
    on = state.days.get((entry.day, entry.occurrence))
    return SessionRow(
        name=state.names[f"{entry.day}:{entry.occurrence}"],
        day=day_name(on, state.cycle_days),
        occurrence=entry.occurrence,
        key=entry.day,
        on=on,
        minutes=number(_rounded(entry.minutes)),
        cap="" if entry.cap is None else number(entry.cap),
        over=entry.cap is not None and entry.minutes > entry.cap,
        sets=entry.sets,
    )


def _days(state: State, looking: Looking, url: str) -> list[dict[str, object]]:
    return [
        {
            "label": state.names[f"{day}:{occurrence}"],
            "url": f"{url}?{looking.query(day=f'{day}:{occurrence}', open='')}",
            "current": (day, occurrence) == looking.session,
        }
        for day, occurrence in state.days
    ]


def _band(state: State, day: DayType, looking: Looking, url: str) -> Band:
    heads = []
    for occurrence in range(day.occurrences):
        entry = _minutes(state, day.key, occurrence)
        heads.append(
            Head(
                letter=LETTERS[occurrence] if day.occurrences > 1 else "",
                day=day_name(state.days.get((day.key, occurrence)), state.cycle_days),
                minutes=_("%(minutes)s min") % {"minutes": number(_rounded(entry.minutes))},
                over=entry.cap is not None and entry.minutes > entry.cap,
                shown=(day.key, occurrence) == looking.session,
                name=state.names[f"{day.key}:{occurrence}"],
            )
        )
    brackets = _brackets(day)
    rows = [
        SlotRow(
            number=index + 1,
            key=slot.key,
            title=slot.title,
            second=slot_words(slot, day.occurrences),
            bracket=brackets[index],
            cells=[_cell(state, day, slot, n, looking, url) for n in range(day.occurrences)],
        )
        for index, slot in enumerate(day.slots)
    ]
    shown = any(head.shown for head in heads)
    return Band(day.key, day.name, heads, rows, day.occurrences >= MANY, shown)


def _brackets(day: DayType) -> list[str]:
    """Neighbours of one superset are joined by a bracket: where it starts, runs on and ends."""
    marks = []
    for index, slot in enumerate(day.slots):
        before = index > 0 and bool(slot.superset) and day.slots[index - 1].superset == slot.superset
        after = index + 1 < len(day.slots) and bool(slot.superset) and day.slots[index + 1].superset == slot.superset
        marks.append(
            {(False, True): "superset-start", (True, True): "superset-middle", (True, False): "superset-end"}.get(
                (before, after), ""
            )
        )
    return marks


def _cell(state: State, day: DayType, slot: Slot, occurrence: int, looking: Looking, url: str) -> Cell:
    place = (slot.key, occurrence)
    at = f"{slot.key}:{occurrence}"
    base: dict[str, Any] = {
        "id": f"pick-{slot.key}-{occurrence}",
        "place": at,
        "letter": LETTERS[occurrence] if day.occurrences > 1 else "",
        "url": f"{url}?{looking.query(open=at, day=f'{day.key}:{occurrence}')}",
        "shown": (day.key, occurrence) == looking.session,
        "chosen": place == looking.open,
    }
    pick = state.picks.get(place)
    if pick is None:
        return Cell(**base, **_nothing(state, place))
    exercise = state.inputs.library[pick.exercise]
    flags = state.flags[place]
    load, unit = load_words(state.loads[place], exercise)
    reps = reps_for(slot, occurrence, exercise)
    own = reps != slot.reps_on(occurrence) or exercise.rep_unit != "reps"
    notes = [reps_words(reps, exercise.rep_unit)] if own else []
    if flags["pinned"] and not flags["pinned_sets"]:
        notes.append(_("chosen by you"))
    why = _("%(exercise)s, %(sets)d sets") % {"exercise": exercise.name, "sets": pick.sets}
    return Cell(
        **base,
        name=exercise.name,
        note=" · ".join(notes),
        sets=pick.sets,
        pinned=bool(flags["pinned"]),
        pinned_sets=bool(flags["pinned_sets"]),
        load=load,
        unit=unit,
        why=why,
    )


def _nothing(state: State, place: Place) -> dict[str, Any]:
    if place in state.left_out:
        return {"left_out": _("left out by you")}
    empty = state.unfilled.get(place)
    if empty is None or not empty.reasons:
        return {"unfilled": _("nothing here yet")}
    ways = [way for way in empty.frees if not way.needs_tick]
    free = " + ".join(sentence_of(step, state.names) for step in ways[0].steps) if ways else ""
    return {"unfilled": sentence_of(empty.reasons[0], state.names), "free": free}


def _dose_row(state: State, group: str, scale: float) -> DoseRow:
    found = state.audit.dose[group]
    mark, words = verdict_words(found)
    second = {"more": _("emphasise"), "keep": _("keep")}.get(state.inputs.request.priorities.get(group, ""), "")
    return DoseRow(
        name=str(labels.GROUPS[group]),
        second=second,
        strip=drawings.strip(group, found, scale),
        count=counted_words(found.dose.counted),
        mark=mark,
        words=words or NONE,
    )


def _dose_line(doses: list[DoseRow]) -> str:
    """ "9 in range, 2 under, 1 over"."""
    counts = Counter(row.mark for row in doses)
    parts = [_("%(count)d in range") % {"count": counts["in"]}]
    if counts["under"]:
        parts.append(_("%(count)d under") % {"count": counts["under"]})
    if counts["over"]:
        parts.append(_("%(count)d over") % {"count": counts["over"]})
    return ", ".join(parts)


def _warnings(state: State, looking: Looking, url: str) -> list[Caution]:
    """Each names its session and what would mend it, and leads to the pick it is about."""
    found = []
    for why in state.audit.warnings:
        at = _place_of(state, why)
        address = f"{url}?{looking.query(open=at)}" if at else ""
        found.append(Caution(sentence_of(why, state.names), address))
    return found


def _place_of(state: State, why: Because) -> str:
    slot, occurrence, exercise = (why.params.get(name) for name in ("slot", "occurrence", "exercise"))
    if slot and occurrence is not None:
        return f"{slot}:{occurrence}"
    if exercise is None:
        return ""
    slots = state.inputs.slots()
    for (key, number_of), pick in state.picks.items():
        same_session = occurrence is None or (number_of == occurrence and slots[key][0].key == why.params.get("day"))
        if pick.exercise == exercise and same_session:
            return f"{key}:{number_of}"
    return ""
