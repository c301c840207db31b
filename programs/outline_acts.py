"""What the buttons and forms of the template editor do: each names its act and its row, "slot-up:press".

An act reads its form, calls one service and says what it did and which parts of the page show it. Parts are
"words", "week", "bands", and "band", "slot", "row", "ranked" and "found" with a key behind a colon.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from coachdesk.practice.models import Coach
from programs.models import Exercise, Outline, OutlineDay, OutlineLine, OutlineSlot, SlotCandidate
from programs.outline_forms import DayForm, LineForm, SlotAddForm, WordsForm, occurrences_of
from programs.outline_page import Typed, cycle_form, line_form, slot_form
from programs.services import outline_days as days
from programs.services import outline_lists as lists
from programs.services import outline_slots as slots

EVERYTHING = ("words", "week", "bands")
NAME_LENGTH = 40


@dataclass(frozen=True, slots=True)
class Asked:
    """One act as it was asked for: on which revision, with which row behind its name, and what was typed."""

    outline: Outline
    coach: Coach
    revision: int
    row: str
    more: str
    data: Any

    @property
    def base(self) -> tuple[Outline, int, Coach]:
        return self.outline, self.revision, self.coach

    def number(self, text: str) -> int:
        """A whole number that a button of ours named."""
        return int(text) if text.lstrip("-").isdecimal() else -1

    @property
    def to(self) -> int:
        """The place that something was dragged to."""
        return self.number(self.data.get("to", ""))

    def day(self, key: str = "") -> OutlineDay:
        return self.outline.days.get(key=key or self.row)

    def slot(self) -> OutlineSlot:
        return OutlineSlot.objects.select_related("day").get(day__outline=self.outline, key=self.row)

    def line(self) -> OutlineLine:
        rows = OutlineLine.objects.select_related("day")
        return rows.get(day__outline=self.outline, pk=self.number(self.row))

    def candidate(self) -> SlotCandidate:
        rows = SlotCandidate.objects.select_related("slot", "exercise")
        return rows.get(slot__day__outline=self.outline, pk=self.number(self.row))


@dataclass(frozen=True, slots=True)
class Done:
    """What to say, which parts show it, and the slot that is open from now on (None: the one that was)."""

    said: str
    parts: tuple[str, ...]
    slot: str | None = None


class NotTaken(Exception):
    """A form with something wrong in it; ``parts`` show it with what was typed."""

    def __init__(self, typed: Typed, *parts: str) -> None:
        super().__init__(typed.act)
        self.typed = typed
        self.parts = parts


Act = Callable[[Asked], Done]
ACTS: dict[str, Act] = {}


def act(name: str) -> Callable[[Act], Act]:
    def register(function: Act) -> Act:
        ACTS[name] = function
        return function

    return register


Placing = Callable[[int], int]


def moves(kind: str) -> Callable[[Callable[[Asked, Placing], Done]], Callable[[Asked, Placing], Done]]:
    """Registers the three ways to move a thing: one up, one down, or to where it was dragged. The function is given
    how the new place follows from the old one."""

    def register(function: Callable[[Asked, Placing], Done]) -> Callable[[Asked, Placing], Done]:
        ACTS[f"{kind}-up"] = lambda asked: function(asked, lambda at: at - 1)
        ACTS[f"{kind}-down"] = lambda asked: function(asked, lambda at: at + 1)
        ACTS[f"{kind}-move"] = lambda asked: function(asked, lambda _at: asked.to)
        return function

    return register


def form_of(name: str, asked: Asked) -> forms.BaseForm | None:
    """The form of an act with what was typed, for a page that shows it again; None for acts without a form.

    Raises DoesNotExist where its row is gone.
    """
    maker = FORMS.get(name)
    return maker(asked) if maker is not None else None


FORMS: dict[str, Callable[[Asked], forms.BaseForm]] = {
    "words": lambda asked: WordsForm(asked.data, instance=asked.outline, auto_id="words-%s"),
    "cycle": lambda asked: cycle_form(asked.data, asked.outline),
    "day-add": lambda asked: DayForm(asked.data, auto_id="day-add-%s"),
    "day-name": lambda asked: DayForm(asked.data, instance=asked.day(), auto_id=f"day-{asked.row}-%s"),
    "slot-add": lambda asked: SlotAddForm(asked.data, auto_id=f"add-{asked.row}-%s"),
    "slot-change": lambda asked: _slot_form(asked),
    "line-add": lambda asked: LineForm(asked.data, auto_id=f"line-add-{asked.row}-%s"),
    "line-change": lambda asked: line_form(asked.data, asked.line()),
}
# Where the form of an act stands.
SHOWN_IN = {
    "words": "words",
    "cycle": "week",
    "day-add": "bands",
    "day-name": "band:",
    "slot-add": "band:",
    "slot-change": "slot:",
    "line-add": "band:",
}


def _slot_form(asked: Asked) -> forms.BaseForm:
    slot = asked.slot()
    return slot_form(asked.data, slot, occurrences_of(asked.outline, slot.day))


def _valid(name: str, asked: Asked) -> Any:
    """The form of an act, once nothing is wrong in it."""
    form: Any = form_of(name, asked)
    if not form.is_valid():
        where = SHOWN_IN.get(name, "band:")
        if name == "line-change":
            where, row = "band:", asked.line().day.key
        else:
            row = asked.row
        raise NotTaken(Typed(name, asked.row, form), f"{where}{row}" if where.endswith(":") else where)
    return form


# The whole


@act("words")
def _words(asked: Asked) -> Done:
    days.set_words(*asked.base, _valid("words", asked).cleaned_data)
    return Done(_("The template’s words are saved."), ("words",))


@act("cycle")
def _cycle(asked: Asked) -> Done:
    data = _valid("cycle", asked).cleaned_data
    days.set_cycle(*asked.base, data["cycle_days"], data["offsets"])
    return Done(_("The round has %(days)d days now.") % {"days": data["cycle_days"]}, ("week",))


@act("session-add")
def _session_add(asked: Asked) -> Done:
    day = asked.day(asked.row or asked.data.get("day", ""))
    days.add_session(*asked.base, day.key)
    return Done(_("One more session: %(name)s.") % {"name": day.name}, ("week", "bands"))


@act("session-remove")
def _session_remove(asked: Asked) -> Done:
    days.remove_session(*asked.base, asked.number(asked.row))
    return Done(_("One session taken out."), ("week", "bands"))


@moves("session")
def _move_session(asked: Asked, place: Placing) -> Done:
    at = asked.number(asked.row)
    days.move_session(*asked.base, at, place(at))
    return Done(_("The sessions come in another order now."), ("week",))


# Day types


@act("day-add")
def _day_add(asked: Asked) -> Done:
    name = _valid("day-add", asked).cleaned_data["name"]
    days.add_day(*asked.base, name)
    return Done(_("%(name)s added.") % {"name": name}, ("week", "bands"))


@act("day-name")
def _day_name(asked: Asked) -> Done:
    name = _valid("day-name", asked).cleaned_data["name"]
    days.rename_day(*asked.base, asked.row, name)
    return Done(_("The day type is called %(name)s now.") % {"name": name}, ("week", "bands"))


@act("day-copy")
def _day_copy(asked: Asked) -> Done:
    ending = _(" (copy)")
    name = asked.day().name[: NAME_LENGTH - len(ending)] + ending
    days.copy_day(*asked.base, asked.row, name)
    return Done(_("%(name)s made. Give it a name of its own.") % {"name": name}, ("week", "bands"))


@act("day-remove")
def _day_remove(asked: Asked) -> Done:
    name = asked.day().name
    days.remove_day(*asked.base, asked.row)
    return Done(_("%(name)s removed with its slots and sessions.") % {"name": name}, ("week", "bands"))


@moves("day")
def _move_day(asked: Asked, place: Placing) -> Done:
    day = asked.day()
    days.move_day(*asked.base, day.key, place(_index(asked.outline.days, day)))
    return Done(_("%(name)s moved.") % {"name": day.name}, ("week", "bands"))


def _index(rows: Any, row: Any) -> int:
    return list(rows.values_list("pk", flat=True)).index(row.pk)


# Slots


@act("slot-add")
def _slot_add(asked: Asked) -> Done:
    values = _valid("slot-add", asked).cleaned_data
    key = slots.add_slot(*asked.base, asked.row, values)
    said = _("%(name)s added, with what its role usually asks for.") % {"name": values["title"]}
    return Done(said, (f"band:{asked.row}",), key)


@act("slot-change")
def _slot_change(asked: Asked) -> Done:
    form = _valid("slot-change", asked)
    values = form.values()
    slots.change_slot(*asked.base, asked.row, values)
    said = _("%(name)s saved.") % {"name": values["title"]}
    return Done(said, (f"row:{asked.row}", f"ranked:{asked.row}", f"found:{asked.row}"), asked.row)


@act("slot-copy")
def _slot_copy(asked: Asked) -> Done:
    slot = asked.slot()
    day = asked.day(asked.more or slot.day.key)
    slots.copy_slot(*asked.base, slot.key, day.key)
    said = _("%(name)s copied into %(day)s.") % {"name": slot.title, "day": day.name}
    return Done(said, (f"band:{day.key}",))


@act("slot-remove")
def _slot_remove(asked: Asked) -> Done:
    slot = asked.slot()
    slots.remove_slot(*asked.base, slot.key)
    return Done(_("%(name)s removed.") % {"name": slot.title}, (f"band:{slot.day.key}",))


@moves("slot")
def _slot_moved(asked: Asked, place: Placing) -> Done:
    """One up or down, or dragged to a place of its day type or of another one."""
    slot = asked.slot()
    day = asked.day(asked.data.get("into") or slot.day.key)
    return _move_slot(asked, slot, day, place(_index(slot.day.slots, slot)))


@act("slot-send")
def _slot_send(asked: Asked) -> Done:
    """To the end of another day type."""
    return _move_slot(asked, asked.slot(), asked.day(asked.more), slots.MOST_SLOTS)


def _move_slot(asked: Asked, slot: OutlineSlot, day: OutlineDay, to: int) -> Done:
    paired = bool(slot.superset)
    slots.move_slot(*asked.base, slot.key, day.key, to)
    said = _("%(name)s moved.") if slot.day == day else _("%(name)s moved to %(day)s.")
    said %= {"name": slot.title, "day": day.name}
    if paired and not asked.slot().superset:
        said = f"{said} {_('It takes turns with nothing any more.')}"
    parts = dict.fromkeys((f"band:{slot.day.key}", f"band:{day.key}"))
    return Done(said, tuple(parts))


@act("pair")
def _pair(asked: Asked) -> Done:
    slot = asked.slot()
    slots.pair_slot(*asked.base, slot.key)
    said = _("%(name)s takes turns with the slot after it.") % {"name": slot.title}
    return Done(said, (f"band:{slot.day.key}",))


@act("release")
def _release(asked: Asked) -> Done:
    slot = asked.slot()
    slots.release_slot(*asked.base, slot.key)
    return Done(_("%(name)s stands alone again.") % {"name": slot.title}, (f"band:{slot.day.key}",))


# Lines and candidates


@act("line-add")
def _line_add(asked: Asked) -> Done:
    lists.add_line(*asked.base, asked.row, _valid("line-add", asked).cleaned_data)
    return Done(_("Line added."), (f"band:{asked.row}",))


@act("line-change")
def _line_change(asked: Asked) -> Done:
    line = asked.line()
    lists.change_line(*asked.base, line.pk, _valid("line-change", asked).cleaned_data)
    return Done(_("Line saved."), (f"band:{line.day.key}",))


@act("line-remove")
def _line_remove(asked: Asked) -> Done:
    line = asked.line()
    lists.remove_line(*asked.base, line.pk)
    return Done(_("Line removed."), (f"band:{line.day.key}",))


@moves("line")
def _move_line(asked: Asked, place: Placing) -> Done:
    line = asked.line()
    lists.move_line(*asked.base, line.pk, place(_index(line.day.lines.filter(at_start=line.at_start), line)))
    return Done(_("Line moved."), (f"band:{line.day.key}",))


@act("candidate-add")
def _candidate_add(asked: Asked) -> Done:
    """The row is the slot; behind it stand the occurrence and the exercise."""
    occurrence, _colon, public_id = asked.more.partition(":")
    slot = asked.slot()
    exercise = Exercise.objects.for_practice(asked.coach.practice).shown().get(public_id=public_id)
    at = asked.number(occurrence)
    if not 0 <= at < occurrences_of(asked.outline, slot.day):
        raise OutlineSlot.DoesNotExist
    lists.add_candidate(*asked.base, slot.key, at, exercise)
    return _list_changed(_("%(name)s added.") % {"name": exercise.name}, slot)


@act("candidate-remove")
def _candidate_remove(asked: Asked) -> Done:
    row = asked.candidate()
    lists.remove_candidate(*asked.base, row.pk)
    return _list_changed(_("%(name)s taken off the list.") % {"name": row.exercise.name}, row.slot)


@moves("candidate")
def _move_candidate(asked: Asked, place: Placing) -> Done:
    row = asked.candidate()
    at = _index(row.slot.candidates.filter(occurrence=row.occurrence), row)
    lists.move_candidate(*asked.base, row.pk, place(at))
    return _list_changed(_("%(name)s has another rank now.") % {"name": row.exercise.name}, row.slot)


def _list_changed(said: str, slot: OutlineSlot) -> Done:
    return Done(said, (f"row:{slot.key}", f"ranked:{slot.key}", f"found:{slot.key}"), slot.key)
