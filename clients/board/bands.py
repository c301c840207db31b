"""The bands of the board: a day type each, its slots as rows, its occurrences side by side."""

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from clients.board.adding import Adding
from clients.board.compared import Compared
from clients.board.looking import Looking
from clients.board.state import Place, State
from clients.board.words import day_name, load_words, number, reps_words, slot_words
from clients.reads.composing import LETTERS
from clients.reads.own_slots import added_keys, removed_slots
from programs.engine.compose import DayType, SessionMinutes, reps_for
from programs.engine.compose.request import Slot
from programs.reasons import sentence_of

MANY = 3  # from so many occurrences on a cell has two lines


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
    compared: str = ""  # beside the last block: kept, new, or what it was
    kept: bool = False


@dataclass(frozen=True, slots=True)
class SlotRow:
    number: int
    key: str
    title: str
    second: str
    bracket: str
    cells: list[Cell]
    added: bool = False  # for this client alone


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
class Removed:
    """A slot of the template that this client does not have."""

    slot: str
    title: str


@dataclass(frozen=True, slots=True)
class Band:
    key: str
    name: str
    heads: list[Head]
    rows: list[SlotRow]
    many: bool
    shown: bool
    removed: list[Removed]
    add_url: str
    adding: Adding | None = None


def _minutes(state: State, day: str, occurrence: int) -> SessionMinutes:
    return next(entry for entry in state.audit.minutes if (entry.day, entry.occurrence) == (day, occurrence))


def rounded(minutes: float) -> int:
    """Whole minutes, never less than it takes, so that a session that runs over is never shown as fitting."""
    return int(-(-round(minutes, 2) // 1))


def band_of(
    state: State,
    day: DayType,
    looking: Looking,
    url: str,
    *,
    compared: Compared | None = None,
    adding: Adding | None = None,
) -> Band:
    heads = []
    for occurrence in range(day.occurrences):
        entry = _minutes(state, day.key, occurrence)
        heads.append(
            Head(
                letter=LETTERS[occurrence] if day.occurrences > 1 else "",
                day=day_name(state.days.get((day.key, occurrence)), state.cycle_days),
                minutes=_("%(minutes)s min") % {"minutes": number(rounded(entry.minutes))},
                over=entry.cap is not None and entry.minutes > entry.cap,
                shown=(day.key, occurrence) == looking.session,
                name=state.names[f"{day.key}:{occurrence}"],
            )
        )
    brackets, added = _brackets(day), added_keys(state.draft.document)
    rows = [
        SlotRow(
            number=index + 1,
            key=slot.key,
            title=slot.title,
            second=slot_words(slot, day.occurrences),
            bracket=brackets[index],
            cells=[_cell(state, day, slot, n, looking, url, compared) for n in range(day.occurrences)],
            added=slot.key in added,
        )
        for index, slot in enumerate(day.slots)
    ]
    shown = any(head.shown for head in heads)
    return Band(
        key=day.key,
        name=day.name,
        heads=heads,
        rows=rows,
        many=day.occurrences >= MANY,
        shown=shown,
        removed=[Removed(row["slot"], row["title"]) for row in removed_slots(state.draft.document, day.key)],
        add_url=f"{url}?{looking.query(add=day.key, open='')}",
        adding=adding if adding is not None and adding.band == day.key else None,
    )


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


def _cell(
    state: State,
    day: DayType,
    slot: Slot,
    occurrence: int,
    looking: Looking,
    url: str,
    compared: Compared | None,
) -> Cell:
    place = (slot.key, occurrence)
    at = f"{slot.key}:{occurrence}"
    base: dict[str, Any] = {
        "id": f"pick-{slot.key}-{occurrence}",
        "place": at,
        "letter": LETTERS[occurrence] if day.occurrences > 1 else "",
        "url": f"{url}?{looking.query(open=at, day=f'{day.key}:{occurrence}')}",
        "shown": (day.key, occurrence) == looking.session,
        "chosen": place == looking.open,
        "compared": compared.words(state, place) if compared is not None else "",
        "kept": compared is not None and compared.kept(state, place),
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
