"""What the template editor shows, worked out before its templates: the round, a band a day type, a row a slot."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from programs import catalogue, labels
from programs.engine.calendar import WEEK_DAYS
from programs.engine.vocabulary import EXPERIENCES
from programs.models import Exercise, Outline, OutlineDay, OutlineLine, OutlineSlot, SlotCandidate
from programs.outline_forms import (
    LETTERS,
    CycleForm,
    DayForm,
    LineForm,
    SlotAddForm,
    SlotForm,
    WordsForm,
    occurrences_of,
    span_text,
)
from programs.reads import ranked_lists
from programs.services.outline_slots import brackets

MOST_FOUND = 8
WHOLE_SET = 4  # quarters


@dataclass(frozen=True, slots=True)
class Typed:
    """A form that could not be taken, and which one of the page it is: its act, and the key of its row."""

    act: str
    row: str
    form: forms.BaseForm


@dataclass(frozen=True, slots=True)
class Looking:
    """What of the page is open: a slot by its key, what is searched for in it, a form that was refused, and the day
    type that a phone shows."""

    slot: str = ""
    words: str = ""
    typed: Typed | None = None
    shown: str = ""

    def form(self, act: str, row: str, usual: Any) -> Any:
        """The form as it was typed, where it is the one that was refused; else ``usual()``."""
        typed = self.typed
        return typed.form if typed is not None and (typed.act, typed.row) == (act, row) else usual()

    def refused(self, act: str, row: str) -> bool:
        return self.typed is not None and (self.typed.act, self.typed.row) == (act, row)


@dataclass(frozen=True, slots=True)
class SessionView:
    """One session of the round: its place, its name and, where the round rolls, its day."""

    at: int
    name: str
    day: int | None
    first: bool
    last: bool


@dataclass(frozen=True, slots=True)
class RankedView:
    """A slot's list for one occurrence. ``borrowed``: no list of its own, and what is used instead."""

    letter: str
    occurrence: int
    reps: str
    candidates: Sequence[SlotCandidate]
    first: str
    more: int
    borrowed: str


@dataclass(frozen=True, slots=True)
class FoundView:
    """An exercise that fits a slot: what it is, and the occurrences whose list it may join or is in."""

    exercise: Exercise
    second: str
    offers: Sequence[tuple[str, int, bool]]  # letter, occurrence, in its list already


@dataclass(frozen=True, slots=True)
class SlotView:
    slot: OutlineSlot
    number: int
    second: str
    sets: list[tuple[Any, str]]
    ranked: list[RankedView]
    bracket: str
    day_key: str
    following: OutlineSlot | None  # the slot that it may take turns with
    elsewhere: Sequence[OutlineDay]
    last: bool
    form: Any = None  # SlotForm where it is open
    found: Sequence[FoundView] = ()
    words: str = ""

    @property
    def key(self) -> str:
        return self.slot.key

    @property
    def first(self) -> bool:
        return self.number == 1

    @property
    def once(self) -> bool:
        return len(self.ranked) == 1


@dataclass(frozen=True, slots=True)
class LineView:
    line: OutlineLine
    form: Any
    refused: bool
    first: bool
    last: bool


@dataclass(frozen=True, slots=True)
class DayView:
    day: OutlineDay
    sessions: str
    slots: list[SlotView]
    before: list[LineView]
    after: list[LineView]
    name_form: Any
    slot_form: Any
    line_form: Any
    refused: Collection[str]  # acts of forms that stand folded, to be shown open
    shown: bool  # on a phone, where one day type stands at a time
    first: bool
    last: bool


@dataclass(frozen=True, slots=True)
class EditorPage:
    outline: Outline
    cells: list[dict[str, Any]]
    words_form: Any
    words_open: bool
    cycle_form: Any
    cycle_open: bool
    cycle_words: str
    sessions: list[SessionView]
    has_room: bool
    days: list[DayView]
    day_form: Any
    looking: Looking
    steps: tuple[bool, bool] = (False, False)
    preview: Any = None
    lacking: Sequence[str] = ()
    stale: bool = False
    known: Mapping[str, SlotView] = field(default_factory=dict)


def page_of(outline: Outline, looking: Looking, **more: Any) -> EditorPage:
    """The page of a working copy that comes from ``with_preview()``. Three queries where a slot is open, else none."""
    days = list(outline.days.all())
    shown = _shown(days, looking)
    bands = [_day(outline, days, number, looking, shown) for number in range(len(days))]
    return EditorPage(
        outline=outline,
        cells=_cells(outline),
        words_form=looking.form("words", "", lambda: WordsForm(instance=outline, auto_id="words-%s")),
        words_open=looking.refused("words", ""),
        cycle_form=looking.form("cycle", "", lambda: cycle_form(None, outline)),
        cycle_open=looking.refused("cycle", ""),
        cycle_words=cycle_words(outline),
        sessions=_sessions(outline, days),
        has_room=len(outline.order) < outline.cycle_days,
        days=bands,
        day_form=looking.form("day-add", "", lambda: DayForm(auto_id="day-add-%s")),
        looking=looking,
        known={view.key: view for band in bands for view in band.slots},
        **more,
    )


def cycle_form(data: Any, outline: Outline) -> CycleForm:
    on = ", ".join(str(day + 1) for day in outline.offsets)
    initial = {"cycle_days": outline.cycle_days, "on": on}
    return CycleForm(data, initial=initial, sessions=len(outline.order), auto_id="cycle-%s")


def cycle_words(outline: Outline) -> str:
    if outline.cycle_days == WEEK_DAYS:
        return _("A week, on the client’s own days.")
    return _("A round of %(days)d days that rolls on.") % {"days": outline.cycle_days}


def slot_form(data: Any, slot: OutlineSlot, occurrences: int) -> SlotForm:
    return SlotForm(data, instance=slot, occurrences=occurrences, auto_id=f"f-{slot.key}-%s")


def line_form(data: Any, line: OutlineLine) -> LineForm:
    return LineForm(data, instance=line, auto_id=f"line-{line.pk}-%s")


def _shown(days: Sequence[OutlineDay], looking: Looking) -> str:
    """The key of the day type that a phone shows: the one asked for, that of the open slot, or the first."""
    of_slot = (day.key for day in days if any(slot.key == looking.slot for slot in day.slots.all()))
    if any(day.key == looking.shown for day in days):
        return looking.shown
    return next(of_slot, days[0].key if days else "")


def _cells(outline: Outline) -> list[dict[str, Any]]:
    serves = [str(labels.EXPERIENCES[name]) for name in EXPERIENCES if name in outline.serves]
    sessions = _("%(n)d a week") if outline.cycle_days == WEEK_DAYS else _("%(n)d in %(days)d days")
    replaced = outline.draft_of
    version = _("%(new)d, after %(old)d") if replaced else _("%(new)d, the first")
    cells = [
        (_("Template in work"), outline.name, True),
        (_("Serves"), ", ".join(serves) or "–", False),
        (_("Sessions"), sessions % {"n": len(outline.order), "days": outline.cycle_days}, False),
        (_("Version"), version % {"new": outline.version, "old": replaced.version if replaced else 0}, False),
    ]
    return [{"label": label, "value": value, "who": who} for label, value, who in cells]


def _sessions(outline: Outline, days: Sequence[OutlineDay]) -> list[SessionView]:
    names = {day.key: day.name for day in days}
    shown = []
    for at, key in enumerate(outline.order):
        letter = LETTERS[outline.order[:at].count(key) % len(LETTERS)]
        name = f"{names.get(key, key)} {letter}" if outline.order.count(key) > 1 else names.get(key, key)
        day = outline.offsets[at] + 1 if at < len(outline.offsets) else None
        shown.append(SessionView(at, name, day, at == 0, at == len(outline.order) - 1))
    return shown


def _day(outline: Outline, days: Sequence[OutlineDay], number: int, looking: Looking, shown: str) -> DayView:
    day = days[number]
    key, times = day.key, list(outline.order).count(day.key)
    slots = list(day.slots.all())
    tied = brackets(slots)
    lines = list(day.lines.all())
    acts = ("day-name", "slot-add", "line-add")
    return DayView(
        day=day,
        sessions=", ".join(LETTERS[at % len(LETTERS)] for at in range(times)) if times else "",
        slots=[
            _slot(outline, slots, at, bracket, [other for other in days if other != day], looking)
            for at, bracket in enumerate(tied)
        ],
        before=_lines([line for line in lines if line.at_start], looking),
        after=_lines([line for line in lines if not line.at_start], looking),
        name_form=looking.form("day-name", key, lambda: DayForm(instance=day, auto_id=f"day-{key}-%s")),
        slot_form=looking.form("slot-add", key, lambda: SlotAddForm(auto_id=f"add-{key}-%s")),
        line_form=looking.form("line-add", key, lambda: LineForm(auto_id=f"line-add-{key}-%s")),
        refused=[act for act in acts if looking.refused(act, key)],
        shown=key == shown,
        first=number == 0,
        last=number == len(days) - 1,
    )


def _lines(lines: Sequence[OutlineLine], looking: Looking) -> list[LineView]:
    return [
        LineView(
            line,
            looking.form("line-change", str(line.pk), lambda line=line: line_form(None, line)),
            looking.refused("line-change", str(line.pk)),
            at == 0,
            at == len(lines) - 1,
        )
        for at, line in enumerate(lines)
    ]


def _slot(
    outline: Outline,
    slots: Sequence[OutlineSlot],
    at: int,
    bracket: str,
    elsewhere: Sequence[OutlineDay],
    looking: Looking,
) -> SlotView:
    slot = slots[at]
    times = occurrences_of(outline, slot.day)
    is_open = slot.key == looking.slot
    following = slots[at + 1] if at + 1 < len(slots) else None
    if following is not None and slot.superset and slot.superset == following.superset:
        following = None
    return SlotView(
        slot=slot,
        number=at + 1,
        second=_second(slot),
        sets=[(labels.EXPERIENCES[name], span_text(slot.sets[name])) for name in EXPERIENCES if name in slot.sets],
        ranked=_ranked(slot, times),
        bracket=bracket,
        day_key=slot.day.key,
        following=following,
        elsewhere=elsewhere,
        last=at == len(slots) - 1,
        form=looking.form("slot-change", slot.key, lambda: slot_form(None, slot, times)) if is_open else None,
        found=found_for(outline, slot, looking.words) if is_open else (),
        words=looking.words,
    )


def _second(slot: OutlineSlot) -> str:
    rir = f"{slot.rir:f}".rstrip("0").rstrip(".") if "." in f"{slot.rir:f}" else f"{slot.rir}"
    said = [
        str(slot.get_role_display()),
        _("RIR %(rir)s") % {"rir": rir},
        _("rest %(rest)s") % {"rest": f"{slot.rest_s // 60}:{slot.rest_s % 60:02}"},
    ]
    if slot.tempo:
        said.append(_("tempo %(tempo)s") % {"tempo": slot.tempo})
    if slot.superset:
        said.append(_("superset %(letter)s") % {"letter": slot.superset})
    return " · ".join(said)


def _ranked(slot: OutlineSlot, times: int) -> list[RankedView]:
    lists = ranked_lists(slot)
    shown = []
    for occurrence in range(times):
        own = lists[occurrence] if occurrence < len(lists) else []
        used = lists[occurrence % len(lists)] if lists else []
        borrowed = ""
        if not own:
            from_letter = LETTERS[(occurrence % len(lists)) % len(LETTERS)] if lists else ""
            borrowed = _("as on %(letter)s") % {"letter": from_letter} if used else _("any that fits")
        names = [row.exercise.name for row in used]
        shown.append(
            RankedView(
                letter=LETTERS[occurrence % len(LETTERS)],
                occurrence=occurrence,
                reps=span_text(slot.reps[occurrence % len(slot.reps)]),
                candidates=own,
                first=names[0] if names else "",
                more=max(0, len(names) - 1),
                borrowed=borrowed,
            )
        )
    return shown


def found_for(outline: Outline, slot: OutlineSlot, words: str) -> list[FoundView]:
    """What fits a slot and answers to the words: those of its patterns and its role first. Two or three queries."""
    regions = [slot.region, *slot.also_regions]
    rows = Exercise.objects.for_practice(outline.practice).shown()
    rows = rows.filter(regions__region__in=regions, regions__quarters=WHOLE_SET).distinct()
    if words.strip():
        best = {pk: place for place, pk in enumerate(catalogue.named(outline.practice, words))}
        rows = rows.filter(pk__in=list(best))
    else:
        best = {}
    present: dict[int, set[int]] = {}
    for candidate in slot.candidates.all():
        present.setdefault(candidate.exercise_id, set()).add(candidate.occurrence)

    def place(row: Exercise) -> tuple[Any, ...]:
        ranked = len(present.get(row.pk, ()))
        preferred = slot.patterns.index(row.pattern) if row.pattern in slot.patterns else len(slot.patterns)
        return (ranked if not words else 0, preferred, row.role != slot.role, best.get(row.pk, 0), row.name)

    times = occurrences_of(outline, slot.day)
    return [
        FoundView(
            exercise=row,
            second=f"{row.get_pattern_display()} · {row.get_implement_display()}",
            offers=[
                (LETTERS[occurrence % len(LETTERS)], occurrence, occurrence in present.get(row.pk, ()))
                for occurrence in range(times)
            ],
        )
        for row in sorted(rows, key=place)[:MOST_FOUND]
    ]
