"""A draft as it stands: what the engine says of the week, and the loads that its first week would start with."""

from collections.abc import Mapping
from dataclasses import dataclass

from clients.cycles import day_of, in_order
from clients.models import Draft
from clients.reads.composing import ComposeInputs, draft_inputs, picks_of
from clients.reads.course import course_of, steep_rises
from clients.reads.health import Standing
from clients.reads.starting import Starting
from clients.services.calendar import gaps_of
from clients.services.drafts import steps
from programs.engine import calendar
from programs.engine.compose import Audit, Unfilled, assess, explain
from programs.engine.racks import Rack
from programs.engine.terms import Because, Pick

Place = tuple[str, int]  # slot key and occurrence


@dataclass(frozen=True, slots=True)
class Load:
    """A first load on the board, in the unit of its rack, with the reasons for it."""

    value: float | None
    find: bool
    rack: Rack
    reasons: tuple[Because, ...]


@dataclass(frozen=True, slots=True)
class State:
    """``picks`` are those that the library still knows; ``left_out`` were left out by the coach; ``steep`` are rises of
    the first week over those before the block."""

    draft: Draft
    inputs: ComposeInputs
    picks: Mapping[Place, Pick]
    flags: Mapping[Place, Mapping[str, bool]]
    left_out: frozenset[Place]
    audit: Audit
    gaps: tuple[calendar.Gap, ...]
    loads: Mapping[Place, Load]
    unfilled: Mapping[Place, Unfilled]
    standing: Standing
    names: Mapping[str, str]
    steep: tuple[Because, ...]
    can_undo: bool
    can_redo: bool

    @property
    def cycle_days(self) -> int:
        """How long one round of the sessions takes: a week, or a rolling cycle."""
        return self.inputs.cycle_days

    @property
    def days(self) -> dict[Place, int | None]:
        """(day key, occurrence) to weekday, or to the day of a rolling cycle (from 0), in the order of the round."""
        return {(row["day"], row["occurrence"]): day_of(row) for row in self.draft.document["days"]}


def state_of(draft: Draft, inputs: ComposeInputs | None = None) -> State:
    """Everything the board shows, at a fixed number of queries however full the week. ``inputs`` are the draft's,
    where they have been gathered already."""
    inputs = inputs or draft_inputs(draft)
    slots = inputs.slots()
    picks = {
        (pick.slot, pick.occurrence): pick
        for pick in picks_of(draft.document, inputs.merged)
        if pick.slot in slots and pick.exercise in inputs.library
    }
    left_out = frozenset((slot, occurrence) for slot, occurrence in draft.document.get("left_out", []))
    starting = Starting.gather(draft.client, draft.place, draft.starts_on, inputs.ids)
    listed = tuple(picks.values())
    undo_steps, redo_steps = steps(draft)
    return State(
        draft=draft,
        inputs=inputs,
        picks=picks,
        flags={(row["slot"], row["occurrence"]): row for row in draft.document["picks"]},
        left_out=left_out,
        audit=assess(inputs.request, listed),
        gaps=gaps_of(inputs, listed, draft.document["days"]),
        loads=_loads(draft, inputs, picks, starting),
        unfilled=_unfilled(inputs, picks, left_out),
        standing=starting.standing,
        names=inputs.names(),
        steep=tuple(steep_rises(course_of(draft, inputs, listed, starting, rounds=1), draft.document)),
        can_undo=bool(undo_steps),
        can_redo=bool(redo_steps),
    )


def first_session(draft: Draft) -> Place | None:
    """The session that the block begins with, as assigning dates it."""
    rows = draft.document["days"]
    first = next(iter(in_order(rows, draft.starts_on)), None)
    return None if first is None else (first["day"], first["occurrence"])


def _loads(draft: Draft, inputs: ComposeInputs, picks: Mapping[Place, Pick], starting: Starting) -> dict[Place, Load]:
    slots = inputs.slots()
    opening = first_session(draft) if starting.new_client else None
    found = {}
    for place, pick in picks.items():
        day, slot = slots[pick.slot]
        term = inputs.library[pick.exercise]
        rir = starting.rir(slot, first_ever=(day.key, pick.occurrence) == opening)
        start = starting.load(term, slot, pick.occurrence, rir)
        found[place] = Load(start.load, start.find, starting.loads.for_exercise(term).rack, start.reasons)
    return found


def _unfilled(inputs: ComposeInputs, picks: Mapping[Place, Pick], left_out: frozenset[Place]) -> dict[Place, Unfilled]:
    found = {}
    for day in inputs.request.day_types:
        for occurrence in range(day.occurrences):
            for slot in day.slots:
                place = (slot.key, occurrence)
                if place in picks or place in left_out:
                    continue
                why = explain(inputs.request, picks.values(), slot.key, occurrence)
                if isinstance(why, Unfilled):
                    found[place] = why
    return found
