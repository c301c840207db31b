"""Composing a week: a stored draft, each edit one journalled change that raises its revision."""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from copy import deepcopy
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import F

from clients.cycles import cycle_days_of, day_of, is_rolling, put_on
from clients.models import Client, Draft, Place
from clients.reads.composing import ComposeInputs, compose_inputs, draft_inputs, picks_of
from clients.reads.rotating import rotated_of
from clients.services.calendar import placed_days
from clients.services.settling import mark_edited, pick_row, proof_row, row_at, settle_around, settle_filled, write
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine.compose import alternatives
from programs.engine.compose.candidates import pin_reasons
from programs.engine.compose.evaluate import Rules
from programs.engine.compose.rotation import KEEP
from programs.engine.compose.trial import ALREADY
from programs.engine.compose.week import best_picks
from programs.engine.terms import Because, Pick
from programs.models import Outline

MOST_SETS = 10
MOST_ALTERNATIVES = 99


class StaleDraft(Exception):
    """Somebody changed the draft since this page was loaded; ``draft`` is how it stands now."""

    def __init__(self, draft: Draft) -> None:
        super().__init__(f"revision {draft.revision}")
        self.draft = draft


class StalePreview(Exception):
    """Composing again would not give what was shown: the library or the client changed in between."""


class NotPossible(Exception):
    """A choice that breaks a hard limit of the client, the place or the session; ``reasons`` say which."""

    def __init__(self, reasons: Sequence[Because]) -> None:
        super().__init__(", ".join(reason.code for reason in reasons))
        self.reasons = tuple(reasons)


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
    rotate: str = KEEP,
) -> Draft:
    """Composes the client's week from a template and stores it. Open drafts of the client are dropped.

    ``deload_weeks`` number the rounds: weeks, or the cycles of a template that rolls. ``rotate`` says what becomes of
    the last block's exercises: "keep" what still serves, or "rotate" all that is due.
    """
    rotated = rotated_of(client, starts_on, rotate)
    inputs = compose_inputs(client, outline, place, on=starts_on, rotated=rotated)
    document = composed(client, inputs, rotated)
    return open_draft(
        client,
        coach,
        document,
        outline=outline,
        place=place,
        starts_on=starts_on,
        weeks=weeks,
        deload_weeks=deload_weeks,
    )


def composed(client: Client, inputs: ComposeInputs, rotated: Mapping[str, list[str]]) -> dict[str, Any]:
    """The document of a week composed anew; ``rotated`` is what gave way in it, as ``rotated_of`` tells."""
    picks, proof = best_picks(Rules.of(inputs.request))
    document: dict[str, Any] = {
        "picks": [pick_row(pick) for pick in picks],
        "order": {day.key: [slot.key for slot in day.slots] for day in inputs.request.day_types},
        "days": placed_days(client, inputs, picks),
        "proof": proof_row(proof),
    }
    if any(rotated.values()):
        document["rotated"] = dict(rotated)
    if is_rolling(inputs.cycle_days):
        document["cycle_days"] = inputs.cycle_days
    return document


def open_draft(
    client: Client,
    coach: Coach,
    document: dict[str, Any],
    *,
    outline: Outline,
    place: Place,
    starts_on: date,
    weeks: int,
    deload_weeks: Sequence[int],
) -> Draft:
    """Stores a composed week as the client's open draft; others that are open are dropped."""
    with journal.act(client.practice, coach, "draft.start", about=f"client:{client.public_id}") as entry:
        for other in client.drafts.filter(state=Draft.State.OPEN):
            entry.change(other)
            other.state = Draft.State.DROPPED
            other.save(update_fields=["state", "changed_at"])
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
def editing(draft: Draft, revision: int, coach: Coach, act: str, **params: Any) -> Iterator[Draft]:
    """The newest row of the draft, locked; raises StaleDraft when ``revision`` is not what was on screen.

    An edit that changes nothing leaves revision and journal alone, so that each revision is one entry.
    """
    with transaction.atomic():
        newest = locked(draft)
        if newest.revision != revision or draft.revision != revision or newest.state != Draft.State.OPEN:
            raise StaleDraft(newest)
        before = deepcopy(newest.document)
        with journal.act(newest.client.practice, coach, act, about=about(newest), **params) as entry:
            entry.change(newest)
            yield newest
            if newest.document != before:
                mark_edited(before, newest.document)
                newest.revision += 1
                newest.save(update_fields=["document", "revision", "changed_at"])
    draft.refresh_from_db()


def swap(draft: Draft, revision: int, coach: Coach, slot: str, occurrence: int, exercise: str) -> None:
    """Fills a slot with another exercise; the coach's choice is pinned. An occurrence that had it takes the old one.

    What was ranked as an alternative is put as it was shown, sets included. Of what was left out, a coach may choose
    what only asks for more skill, another role or more minutes; NotPossible for what the client or the place forbids.
    """
    inputs = draft_inputs(draft)
    document = swapped(draft, inputs, slot, occurrence, exercise)
    name = inputs.library[exercise].name
    with editing(draft, revision, coach, "draft.swap", exercise=name) as newest:
        newest.document = document


def swapped(draft: Draft, inputs: ComposeInputs, slot: str, occurrence: int, exercise: str) -> dict[str, Any]:
    """The document that ``swap`` would give; nothing is stored. Raises NotPossible."""
    if exercise not in inputs.library:
        raise NotPossible([Because("exercise.unknown", {"exercise": exercise})])
    document = deepcopy(draft.document)
    for pick in _choice(draft, inputs, slot, occurrence, exercise):
        write(document["picks"], pick, pinned=(pick.slot, pick.occurrence) == (slot, occurrence))
    _unlist(document, slot, occurrence)
    settle_around(document, draft.document, inputs, [(slot, occurrence)])
    return document


def _choice(draft: Draft, inputs: ComposeInputs, slot: str, occurrence: int, exercise: str) -> tuple[Pick, ...]:
    """The picks that the swap comes to: the place itself and, in exchange, a sibling."""
    picks = picks_of(draft.document, inputs.merged)
    present = row_at(draft.document["picks"], slot, occurrence)
    found = alternatives(inputs.request, picks, slot, occurrence, MOST_ALTERNATIVES)
    for option in found.ranked:
        if option.exercise == exercise:
            return option.picks
    sets = present["sets"] if present else inputs.slots()[slot][1].usual_sets
    wanted = Pick(slot, occurrence, exercise, sets, (), True)
    if present is not None and present["exercise"] == exercise:
        return (wanted,)
    forbidden = list(pin_reasons(inputs.request, wanted))
    for left in found.left_out:
        if left.exercise == exercise:
            forbidden += [reason for reason in left.reasons if reason.code == ALREADY]
    if forbidden:
        raise NotPossible(forbidden)
    return (wanted,)


def set_sets(draft: Draft, revision: int, coach: Coach, slot: str, occurrence: int, sets: int) -> None:
    """The coach fixes a number of sets, and with it the exercise; 0 leaves the slot out on that day."""
    sets = min(max(sets, 0), MOST_SETS)
    inputs = draft_inputs(draft)
    with editing(draft, revision, coach, "draft.sets", sets=sets) as newest:
        rows = newest.document["picks"]
        present = row_at(rows, slot, occurrence)
        if present is None:
            return
        if sets == 0:
            rows.remove(present)
            newest.document.setdefault("left_out", []).append([slot, occurrence])
        else:
            present.update(sets=sets, pinned=True, pinned_sets=True)
        settle_around(newest.document, draft.document, inputs, [(slot, occurrence)])


def pin(draft: Draft, revision: int, coach: Coach, slot: str, occurrence: int, *, pinned: bool) -> None:
    """Pins a pick with its sets, or releases it: what stands there is chosen anew, where another is better."""
    inputs = None if pinned else draft_inputs(draft)
    with editing(draft, revision, coach, "draft.pin" if pinned else "draft.release") as newest:
        present = row_at(newest.document["picks"], slot, occurrence)
        if present is None or present["pinned"] == pinned == present["pinned_sets"]:
            return
        present.update(pinned=pinned, pinned_sets=pinned)
        if inputs is not None:
            settle_around(newest.document, draft.document, inputs, (), [(slot, occurrence)])


def put_back(draft: Draft, revision: int, coach: Coach, slot: str, occurrence: int) -> None:
    """Fills a slot that the coach had left out with what fits best now, in exchange for a set of others where it
    takes that; it stays open where nothing fits."""
    inputs = draft_inputs(draft)
    with editing(draft, revision, coach, "draft.put_back") as newest:
        _unlist(newest.document, slot, occurrence)
        settle_filled(newest.document, draft.document, inputs, [(slot, occurrence)])


def move_slot(draft: Draft, revision: int, coach: Coach, day: str, slot: str, by: int) -> None:
    """Moves a slot up (−1) or down (+1) within its day type, on every occurrence."""
    with editing(draft, revision, coach, "draft.move") as newest:
        order = newest.document["order"].get(day, [])
        if slot not in order:
            return
        at = order.index(slot)
        to = min(max(at + by, 0), len(order) - 1)
        order.insert(to, order.pop(at))


def pinned_places(draft: Draft) -> frozenset[tuple[str, int]]:
    return frozenset((row["slot"], row["occurrence"]) for row in draft.document["picks"] if row["pinned"])


def recomposed(draft: Draft, inputs: ComposeInputs) -> dict[str, Any]:
    """The document that composing again around what is pinned would give; nothing is stored.

    Days that the coach chose stay.
    """
    picks, proof = best_picks(Rules.of(inputs.request))
    flags = {(row["slot"], row["occurrence"]): row for row in draft.document["picks"]}
    rows = []
    for pick in picks:
        row = pick_row(pick)
        held = flags.get((pick.slot, pick.occurrence))
        if pick.pinned and held is not None:
            row["pinned_sets"] = held["pinned_sets"]
        rows.append(row)
    document = {**deepcopy(draft.document), "picks": rows, "proof": proof_row(proof)}
    if not document.get("days_chosen"):
        document["days"] = placed_days(draft.client, inputs, picks)
    return document


def digest_of(document: Mapping[str, Any]) -> str:
    """Says whether two weeks are the same."""
    kept = {name: document.get(name) for name in ("picks", "days")}
    return hashlib.sha256(json.dumps(kept, sort_keys=True).encode()).hexdigest()


def recompose(draft: Draft, revision: int, coach: Coach, digest: str = "") -> None:
    """Fills the whole week again around what is pinned.

    With the ``digest`` of a preview it raises StalePreview where the result would be another one.
    """
    document = recomposed(draft, draft_inputs(draft))
    with editing(draft, revision, coach, "draft.recompose") as newest:
        if digest and digest != digest_of(document):
            raise StalePreview
        newest.document = document


def set_day(draft: Draft, revision: int, coach: Coach, day: str, occurrence: int, on: int) -> None:
    """Puts a session on another day of the round; one that was there takes the old day.

    ``on`` is a weekday (0 is Monday), or in a rolling cycle the days from its first. Raises ValueError beyond the
    round's end.
    """
    if not 0 <= on < cycle_days_of(draft.document):
        raise ValueError(f"no such day: {on}")
    with editing(draft, revision, coach, "draft.day") as newest:
        rows = newest.document["days"]
        mine = next((row for row in rows if row["day"] == day and row["occurrence"] == occurrence), None)
        was = None if mine is None else day_of(mine)
        if mine is None or was is None or was == on:
            return
        for row in rows:
            if row is not mine and day_of(row) == on:
                put_on(row, was)
        put_on(mine, on)
        rows.sort(key=lambda row: day_of(row) or 0)
        newest.document["days_chosen"] = True


def steps(draft: Draft) -> tuple[list[int], list[int]]:
    """Journal entries that undo and redo would turn back, the next one last. One query."""
    return journal.open_steps(draft.client.practice, about(draft))


def document_at(draft: Draft, revision: int) -> dict[str, Any] | None:
    """The week as it stood at an earlier revision, from the journal; None where that is not known."""
    later = draft.revision - revision
    if later <= 0:
        return None
    entries = JournalEntry.objects.for_practice(draft.client.practice).filter(about=about(draft)).order_by("-pk")
    entry = entries[later - 1 : later].first()
    if entry is None:
        return None
    label = draft._meta.label_lower
    row = next((row for row in entry.rows if row["model"] == label and row["pk"] == draft.pk), None)
    return row["before"]["document"] if row and row["before"] else None


def undo(draft: Draft, coach: Coach, revision: int | None = None) -> bool:
    """Takes the latest edit back. False when there is none."""
    return _turn_back(draft, coach, revision, 0)


def redo(draft: Draft, coach: Coach, revision: int | None = None) -> bool:
    return _turn_back(draft, coach, revision, 1)


def _turn_back(draft: Draft, coach: Coach, revision: int | None, way: int) -> bool:
    with transaction.atomic():
        newest = locked(draft)
        if (revision is not None and newest.revision != revision) or newest.state != Draft.State.OPEN:
            raise StaleDraft(newest)
        entries = steps(newest)[way]
        if not entries:
            return False
        journal.undo(JournalEntry.objects.get(pk=entries[-1]), coach)
    draft.refresh_from_db()
    return True


@journal.follows_undo
def _raise_revision(undone: JournalEntry, _actor: Coach | None) -> None:
    """A draft that was put back, from wherever, is not what anybody has on screen."""
    drafts = [row["pk"] for row in undone.rows if row["model"] == Draft._meta.label_lower and row["before"]]
    if drafts:
        Draft.objects.filter(pk__in=drafts).update(revision=F("revision") + 1)


def _unlist(document: dict[str, Any], slot: str, occurrence: int) -> None:
    """A place that is filled again is not left out any more."""
    document["left_out"] = [place for place in document.get("left_out", []) if place != [slot, occurrence]]
