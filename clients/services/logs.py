"""What a coach types in for a client: the cells of a session's grid, written through the one door as one act."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.db import transaction

from clients import receiving
from clients.models import Client, LoggedSet, Original, Proposal, SessionNote, TrainingSession
from clients.reads.log_grid import Grid
from clients.receiving import Arrival, SetValues
from clients.tasks import review_logs
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.units import load_of


@dataclass(frozen=True, slots=True)
class TypedSet:
    """One cell as read; ``corrects`` is the logged set that it changes, None for a new one."""

    line: int
    number: int
    values: SetValues
    corrects: LoggedSet | None = None


@dataclass(frozen=True, slots=True)
class Entered:
    """What became of the cells, and the act that can be undone (None when nothing changed).

    ``reckoned`` says how many waiting proposals became others, after a correction.
    """

    new: int
    changed: int
    taken_back: int
    known: int
    asked: int
    entry: JournalEntry | None
    moved: bool = False
    reckoned: int = 0


def enter(
    grid: Grid,
    typed: Sequence[TypedSet],
    taken_back: Sequence[LoggedSet],
    *,
    on: date,
    coach: Coach,
    form_key: str,
    message: str = "",
    digest: str = "",
    fields: Mapping[str, str] | None = None,
    remarks: Sequence[str] = (),
) -> Entered:
    """Writes a session's cells: one transaction, one journal entry, one original.

    ``form_key`` is made with each form that is shown, so that the same form sent twice is received once. With
    ``message`` the sets came as words: ``digest`` names them, and the same words a second time add nothing. ``remarks``
    are its lines that are no sets: they are kept as the session's note and read for words that must be seen.
    """
    client, session = grid.client, grid.session
    way = Original.Way.MESSAGE if message else Original.Way.PAPER
    digest = digest or hashlib.sha256(form_key.encode()).hexdigest()
    stem = f"m{digest[:32]}" if message else form_key
    outcomes = {"new": 0, "known": 0, "edited": 0}
    new: list[int] = []
    with journal.act(
        client.practice,
        coach,
        "log.enter",
        about=f"client:{client.public_id}",
        client=client.name,
        session=session.name,
    ) as entry:
        entry.change(session, *grid.logged)
        original, fresh = Original.objects.get_or_create(
            client=client,
            way=way,
            digest=digest,
            defaults={"session": session, "text": message, "fields": dict(fields or {}), "received_by": coach},
        )
        if fresh:
            entry.made(original)
        arrival = Arrival(way=way, performed_on=on, recorded_by=coach, original=original)
        for one in typed:
            if one.corrects is not None:
                receiving.edit_set(one.corrects, one.values, coach, entry=entry)
                outcomes["edited"] += 1
                continue
            received = receiving.take_session_set(
                client,
                session,
                dict(grid.by_number[one.line].line),
                one.number,
                one.values,
                key=f"{stem}-{one.line}-{one.number}",
                arrival=arrival,
                version=grid.version,
            )
            outcomes[received.outcome] += 1
            if received.outcome == "new":
                entry.made(received.logged, *received.logged.parts.all())
                new.append(received.logged.pk)
        for row in taken_back:
            receiving.take_back_in(entry, row)
        moved = _move(grid, on)
        if remarks:
            said, made = SessionNote.objects.get_or_create(session=session)
            (entry.made if made else entry.change)(said)
            for remark in remarks:
                receiving.take_note(session, text=remark)
        entry.params["sets"] = outcomes["new"]
        # A later set of the same act may have raised or answered the question.
        asked = LoggedSet.objects.filter(pk__in=new, state=LoggedSet.State.ASKED).count() if new else 0
    entered = Entered(
        outcomes["new"], outcomes["edited"], len(taken_back), outcomes["known"], asked, entry.entry, moved
    )
    if entry.entry is None:
        return entered
    if moved or entered.changed or entered.taken_back:
        # What was there before has changed: what depends on it is reckoned at once, so that it can be told.
        return replace(entered, reckoned=reckoned_anew(client))
    reviewed_later(client.pk)
    return entered


def reckoned_anew(client: Client) -> int:
    """Reckons what waits for the coach again; how many proposals are others now, or gone."""
    from clients.services.proposing import refresh  # what is proposed asks for reviews itself

    before = {row.pk: row for row in Proposal.objects.filter(client=client).waiting()}
    refresh(client)
    after = {(row.session_id, row.slot_key): row for row in Proposal.objects.filter(client=client).waiting()}
    return sum(not _alike(row, after.get((row.session_id, row.slot_key))) for row in before.values())


def _alike(before: Proposal, after: Proposal | None) -> bool:
    if after is None or before.pk == after.pk:
        return after is not None
    return bool(before.new["work"] == after.new["work"] and before.kind == after.kind)


def _move(grid: Grid, on: date) -> bool:
    """A corrected date moves what was logged with it; whether it did."""
    if not grid.logged or grid.day == on:
        return False
    LoggedSet.objects.filter(pk__in=[row.pk for row in grid.logged]).update(performed_on=on, performed_at=None)
    TrainingSession.objects.filter(pk=grid.session.pk, state=TrainingSession.State.TRAINED).update(trained_on=on)
    return True


def settle(logged: LoggedSet, answer: str, coach: Coach) -> JournalEntry | None:
    """Answers a doubt: "counts" as typed, "back" takes the set back, "offered" takes the likelier numbers, "warm_up"
    says that it led up to the work.

    Raises NothingOffered for a doubt without likelier numbers.
    """
    if answer == "warm_up":
        if not may_be_warm_up(logged):
            raise NothingOffered
        return correct(logged, replace(receiving.values_of(logged), kind="warm_up"), coach)
    if answer == "offered":
        values = offered(logged)
        if values is None:
            raise NothingOffered
        made = correct(logged, values, coach)
    else:
        made = receiving.settle(logged, counts=answer == "counts", coach=coach)
        reviewed_later(logged.client_id)
    return made


def may_be_warm_up(logged: LoggedSet) -> bool:
    return any(doubt["params"].get("offer_kind") == "warm_up" for doubt in logged.doubts)


class NothingOffered(Exception):
    """The doubt has no likelier numbers."""


def offered(logged: LoggedSet) -> SetValues | None:
    """The set with the likelier numbers that its doubt offers; None where it offers none."""
    found = next((doubt["params"] for doubt in logged.doubts if doubt["params"].get("offer_load") is not None), None)
    if found is None:
        return None
    values = receiving.values_of(logged)
    load = load_of(found["offer_load"], found["offer_unit"], logged.load_text)
    return replace(values, load=load, reps=found["offer_reps"] or values.reps)


def correct(logged: LoggedSet, values: SetValues, coach: Coach) -> JournalEntry | None:
    """A coach's correction of one set, as an act of its own."""
    about = f"client:{logged.client.public_id}"
    with journal.act(coach.practice, coach, "log.edit", about=about, exercise=logged.exercise.name) as entry:
        receiving.edit_set(logged, values, coach, entry=entry)
    reviewed_later(logged.client_id)
    return entry.entry


def set_state(session: TrainingSession, state: str, coach: Coach) -> JournalEntry | None:
    """A session that was not trained: missed, left out, or planned again. Raises ValueError for a trained one,
    and for a missed day that is only kept."""
    kept = TrainingSession.State
    client = session.block.client
    with journal.act(
        client.practice,
        coach,
        f"session.{state}",
        about=f"client:{client.public_id}",
        client=client.name,
        session=session.name,
    ) as entry:
        # A set may have come in since the page was opened.
        session.state = TrainingSession.objects.select_for_update().values_list("state", flat=True).get(pk=session.pk)
        if session.state == kept.TRAINED or session.only_kept or state not in (kept.MISSED, kept.DROPPED, kept.PLANNED):
            raise ValueError(f"a session that is {session.state} can’t become {state}")
        entry.change(session)
        session.state = state
        session.save(update_fields=["state"])
    reviewed_later(client.pk)
    return entry.entry


def set_states(client: Client, keys: Sequence[int], state: str, coach: Coach) -> tuple[int, JournalEntry | None]:
    """The same for several sessions of a client as one act; how many there were, and the journal's entry."""
    with journal.act(client.practice, coach, f"sessions.{state}", about=f"client:{client.public_id}") as entry:
        rows = list(TrainingSession.objects.for_client(client).filter(pk__in=keys, state=TrainingSession.State.PLANNED))
        entry.change(*rows)
        TrainingSession.objects.filter(pk__in=[row.pk for row in rows]).update(state=state)
        entry.params["count"] = len(rows)
    reviewed_later(client.pk)
    return len(rows), entry.entry


def reviewed_later(client_id: int) -> None:
    """What comes next is reckoned again once the change is in."""
    transaction.on_commit(lambda: review_logs.enqueue(client_id))


def follow_undo(entry: JournalEntry, _actor: Coach | None) -> None:
    """What was proposed from a log is reckoned again when the log is put back."""
    if not entry.act.startswith(("log.", "session.", "sessions.")):
        return
    kind, _colon, public_id = entry.about.partition(":")
    if kind != "client":
        return
    pk = Client.objects.filter(practice_id=entry.practice_id, public_id=public_id).values_list("pk", flat=True).first()
    if pk is not None:
        reviewed_later(pk)
