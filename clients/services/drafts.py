"""Composing a week: a stored draft, each edit one journalled change that raises its revision."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from typing import Any

from django.db import transaction

from clients.models import Client, Draft, Place
from clients.reads.composing import ComposeInputs, compose_inputs, draft_inputs, picks_of
from clients.services.calendar import placed_days
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine.compose import compose
from programs.engine.terms import Pick
from programs.models import Outline


class StaleDraft(Exception):
    """Somebody changed the draft since this page was loaded; ``draft`` is how it stands now."""

    def __init__(self, draft: Draft) -> None:
        super().__init__(f"revision {draft.revision}")
        self.draft = draft


def about(draft: Draft) -> str:
    return f"draft:{draft.public_id}"


def start_draft(
    client: Client,
    coach: Coach,
    *,
    outline: Outline,
    place: Place,
    starts_on: date,
    weeks: int,
    deload_weeks: Sequence[int] = (),
) -> Draft:
    """Composes the client's week from a template and stores it. Open drafts of the client are dropped."""
    inputs = compose_inputs(client, outline, place, on=starts_on)
    week = compose(inputs.request)
    document = {
        "picks": [_pick_row(pick) for pick in week.picks],
        "order": {day.key: [slot.key for slot in day.slots] for day in inputs.request.day_types},
        "days": placed_days(client, inputs, week.picks),
    }
    with journal.act(client.practice, coach, "draft.start", about=f"client:{client.public_id}") as entry:
        for open_draft in client.drafts.filter(state=Draft.State.OPEN):
            entry.change(open_draft)
            open_draft.state = Draft.State.DROPPED
            open_draft.save(update_fields=["state", "changed_at"])
        draft = Draft.objects.create(
            client=client,
            outline=outline,
            place=place,
            starts_on=starts_on,
            weeks=weeks,
            deload_weeks=list(deload_weeks),
            document=document,
        )
        entry.made(draft)
    return draft


def locked(draft: Draft) -> Draft:
    """The newest row of a draft, held for this transaction."""
    rows = Draft.objects.select_for_update(of=("self",)).select_related("client__practice", "outline", "place")
    return rows.get(pk=draft.pk)


@contextmanager
def _edit(draft: Draft, revision: int, coach: Coach, act: str, **params: Any) -> Iterator[Draft]:
    """The newest row of the draft, locked; raises StaleDraft when ``revision`` is not what was on screen."""
    with transaction.atomic():
        newest = (
            Draft.objects.select_for_update().select_related("client__practice", "outline", "place").get(pk=draft.pk)
        )
        if newest.revision != revision or newest.state != Draft.State.OPEN:
            raise StaleDraft(newest)
        with journal.act(newest.client.practice, coach, act, about=about(newest), **params) as entry:
            entry.change(newest)
            yield newest
            newest.revision += 1
            newest.save()
    draft.refresh_from_db()


def swap(draft: Draft, revision: int, coach: Coach, slot: str, occurrence: int, exercise: str) -> None:
    """Fills a slot with another exercise; the coach's choice is pinned. An occurrence that had it takes the old one."""
    inputs = draft_inputs(draft)
    name = inputs.library[exercise].name
    with _edit(draft, revision, coach, "draft.swap", exercise=name) as newest:
        rows = newest.document["picks"]
        present = _row(rows, slot, occurrence)
        previous = present["exercise"] if present else None
        for other in rows:
            same_slot = other["slot"] == slot and other["occurrence"] != occurrence
            if same_slot and other["exercise"] == exercise and previous is not None and not other["pinned"]:
                other["exercise"] = previous
        if present is None:
            sets = next(
                candidate.usual_sets
                for day in inputs.request.day_types
                for candidate in day.slots
                if candidate.key == slot
            )
            rows.append(_pick_row(Pick(slot, occurrence, exercise, sets, pinned=True)))
        else:
            present["exercise"] = exercise
            present["pinned"] = True


def set_sets(draft: Draft, revision: int, coach: Coach, slot: str, occurrence: int, sets: int) -> None:
    """The coach fixes a number of sets; 0 leaves the slot out on that day."""
    with _edit(draft, revision, coach, "draft.sets", sets=sets) as newest:
        rows = newest.document["picks"]
        present = _row(rows, slot, occurrence)
        if present is None:
            return
        if sets == 0:
            rows.remove(present)
            newest.document.setdefault("left_out", []).append([slot, occurrence])
        else:
            present["sets"] = sets
            present["pinned_sets"] = True


def pin(draft: Draft, revision: int, coach: Coach, slot: str, occurrence: int, *, pinned: bool) -> None:
    """Pins a pick with its sets, or releases it to recomputation."""
    with _edit(draft, revision, coach, "draft.pin" if pinned else "draft.release") as newest:
        present = _row(newest.document["picks"], slot, occurrence)
        if present is not None:
            present["pinned"] = pinned
            present["pinned_sets"] = pinned


def move_slot(draft: Draft, revision: int, coach: Coach, day: str, slot: str, by: int) -> None:
    """Moves a slot up (−1) or down (+1) within its day type, on every occurrence."""
    with _edit(draft, revision, coach, "draft.move") as newest:
        order = newest.document["order"][day]
        at = order.index(slot)
        to = min(max(at + by, 0), len(order) - 1)
        order.insert(to, order.pop(at))


def recompose(draft: Draft, revision: int, coach: Coach) -> None:
    """Fills the whole week again around what is pinned."""
    inputs = draft_inputs(draft)
    week = compose(inputs.request)
    with _edit(draft, revision, coach, "draft.recompose") as newest:
        fixed = {(row["slot"], row["occurrence"]): row for row in newest.document["picks"] if row["pinned"]}
        newest.document["picks"] = [fixed.get((pick.slot, pick.occurrence), _pick_row(pick)) for pick in week.picks]
        newest.document.pop("left_out", None)
        newest.document["days"] = placed_days(newest.client, inputs, week.picks)


def set_day(draft: Draft, revision: int, coach: Coach, day: str, occurrence: int, weekday: int) -> None:
    """Puts a session on another weekday; one that was there takes the old day."""
    with _edit(draft, revision, coach, "draft.day") as newest:
        rows = newest.document["days"]
        mine = next(row for row in rows if row["day"] == day and row["occurrence"] == occurrence)
        for row in rows:
            if row is not mine and row["weekday"] == weekday:
                row["weekday"] = mine["weekday"]
        mine["weekday"] = weekday
        rows.sort(key=lambda row: row["weekday"])


def steps(draft: Draft) -> tuple[list[int], list[int]]:
    """Journal entries that undo and redo would turn back, the next one last. One query."""
    entries = (
        JournalEntry.objects.for_practice(draft.client.practice)
        .filter(about=about(draft))
        .order_by("pk")
        .values_list("pk", "undoes_id")
    )
    undo_steps: list[int] = []
    redo_steps: list[int] = []
    for pk, turned_back in entries:
        if turned_back is None:
            undo_steps.append(pk)
            redo_steps.clear()
        elif turned_back in undo_steps:
            undo_steps.remove(turned_back)
            redo_steps.append(pk)
        else:
            redo_steps.remove(turned_back)
            undo_steps.append(pk)
    return undo_steps, redo_steps


def undo(draft: Draft, coach: Coach) -> bool:
    """Takes the latest edit back. False when there is none."""
    return _turn_back(draft, coach, steps(draft)[0])


def redo(draft: Draft, coach: Coach) -> bool:
    return _turn_back(draft, coach, steps(draft)[1])


def _turn_back(draft: Draft, coach: Coach, entries: list[int]) -> bool:
    if not entries or draft.state != Draft.State.OPEN:
        return False
    with transaction.atomic():
        journal.undo(JournalEntry.objects.get(pk=entries[-1]), coach)
        newest = locked(draft)
        newest.revision += 1
        newest.save(update_fields=["revision", "changed_at"])
    draft.refresh_from_db()
    return True


def picks_in_order(draft: Draft, inputs: ComposeInputs) -> list[Pick]:
    """The draft's picks in the coach's order of slots."""
    place = {
        slot: (day_index, index)
        for day_index, (_day, slots) in enumerate(draft.document["order"].items())
        for index, slot in enumerate(slots)
    }
    return sorted(picks_of(draft.document), key=lambda pick: (place[pick.slot], pick.occurrence))


def _pick_row(pick: Pick) -> dict[str, Any]:
    return {
        "slot": pick.slot,
        "occurrence": pick.occurrence,
        "exercise": pick.exercise,
        "sets": pick.sets,
        "pinned": pick.pinned,
        "pinned_sets": False,
    }


def _row(rows: list[dict[str, Any]], slot: str, occurrence: int) -> dict[str, Any] | None:
    return next((row for row in rows if row["slot"] == slot and row["occurrence"] == occurrence), None)
