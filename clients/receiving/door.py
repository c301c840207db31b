"""The one door in: whatever way a set comes by, it is matched, checked and written here, once.

The key made where the set was typed decides. Same key and content: nothing happens. Same key, other content: an
edit, the old values are kept as a revision. Another key for the same line and set of a session: the same values
are the same set; other values are kept beside the first and both wait for an answer.
"""

from contextlib import nullcontext
from dataclasses import dataclass, replace
from typing import Any

from django.db import transaction
from django.db.models import Exists, OuterRef

from clients.models import (
    Client,
    LoggedPart,
    LoggedSet,
    LoggedSetRevision,
    Prescription,
    SheetVersion,
    Station,
    TrainingSession,
)
from clients.receiving.asking import ask, ask_about_ramp
from clients.receiving.checks import doubts_about
from clients.receiving.values import Arrival, PartValues, SetValues
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.merged import received_as
from programs.models import Exercise
from programs.units import columns

TWO_ANSWERS = "two_answers"


@dataclass(frozen=True, slots=True)
class Received:
    """What became of a set: the row it is now, and whether it was new, an edit, or known already."""

    logged: LoggedSet
    outcome: str  # "new", "edited", "known"

    @property
    def asked(self) -> bool:
        return self.logged.state == LoggedSet.State.ASKED


def take_set(
    client: Client,
    version: SheetVersion,
    line: int,
    number: int,
    values: SetValues,
    *,
    key: str,
    arrival: Arrival,
) -> Received:
    """Receives one set that answers line and set ``number`` of a sheet version (an extra set: the next number)."""
    return take_session_set(
        client, version.session, version.line(line), number, values, key=key, arrival=arrival, version=version
    )


@transaction.atomic
def take_session_set(
    client: Client,
    session: TrainingSession,
    sheet_line: dict[str, Any],
    number: int,
    values: SetValues,
    *,
    key: str,
    arrival: Arrival,
    version: SheetVersion | None = None,
) -> Received:
    """The same for a line as the sheet would say it: a session may be trained before any sheet went out."""
    _lock(client)
    line = int(sheet_line["number"])
    known = LoggedSet.objects.for_client(client).filter(key=key).first()
    if known is not None:
        return _again(known, values, arrival)
    exercise = _exercise(client, session, sheet_line, arrival)
    rivals = _answers(client, session, line, number)
    for rival in rivals:
        if rival.exercise_id == exercise.pk and values_of(rival).amounts() == values.amounts():
            return Received(rival, "known")
    doubts = [*arrival.doubts, *doubts_about(client, exercise, values, sheet_line, session)]
    if rivals:
        doubts.append({"code": TWO_ANSWERS, "params": {"others": len(rivals)}})
    station = _station(client, sheet_line, exercise)
    logged = _write(client, session, version, sheet_line, number, exercise, station, values, key, arrival, doubts)
    for rival in rivals:
        ask(rival, {"code": TWO_ANSWERS, "params": {"others": len(rivals)}})
    ask_about_ramp(logged, sheet_line)
    mark_trained(session, arrival)
    return Received(logged, "new")


@transaction.atomic
def take_loose_set(
    client: Client,
    exercise: Exercise,
    values: SetValues,
    *,
    key: str,
    arrival: Arrival,
    doubts: list[Any] | None = None,
) -> Received:
    """Receives a set that answers no sheet (history typed in, an exercise the sheet doesn't have)."""
    _lock(client)
    known = LoggedSet.objects.for_client(client).filter(key=key).first()
    if known is not None:
        return _again(known, values, arrival)
    logged = _write(client, None, None, None, None, received_as(exercise), None, values, key, arrival, doubts or [])
    return Received(logged, "new")


def take_back(client: Client, key: str, *, coach: Coach | None = None) -> LoggedSet | None:
    """Takes a set back. The row stays, so that a late retry of the same key adds nothing.

    At the gym that is the client's own undo; a coach's is journalled.
    """
    with transaction.atomic():
        _lock(client)
        logged = LoggedSet.objects.for_client(client).filter(key=key).first()
        if logged is None or logged.state == LoggedSet.State.TAKEN_BACK:
            return logged
        if coach is None:
            _take_back(logged)
            return logged
        about = f"client:{client.public_id}"
        with journal.act(client.practice, coach, "log.take_back", about=about, exercise=logged.exercise.name) as entry:
            take_back_in(entry, logged)
        return logged


def take_back_in(entry: journal.Recording, logged: LoggedSet) -> None:
    """Takes a set back as a part of a coach's act."""
    entry.change(logged, *_rivals(logged), *([logged.session] if logged.session is not None else []))
    _take_back(logged)


def _take_back(logged: LoggedSet) -> None:
    logged.state = LoggedSet.State.TAKEN_BACK
    logged.save(update_fields=["state"])
    _settle_rivals(logged)
    if logged.session is not None:
        _untrain_if_empty(logged.session)


def edit_set(
    logged: LoggedSet, values: SetValues, coach: Coach, *, entry: journal.Recording | None = None
) -> LoggedSet:
    """A coach corrects a set; the old values stay as a revision and the journal can put them back.

    With ``entry`` the correction is a part of that act.
    """
    about = f"client:{logged.client.public_id}"
    with (
        nullcontext(entry)
        if entry is not None
        else journal.act(coach.practice, coach, "log.edit", about=about, exercise=logged.exercise.name) as recording
    ):
        recording.change(logged, *logged.parts.all())
        revision = _revise(logged, values, coach)
        recording.made(revision, *logged.parts.all())
        logged.state = LoggedSet.State.COUNTS
        logged.doubts = []
        logged.save(update_fields=["state", "doubts"])
    return logged


def settle(logged: LoggedSet, *, counts: bool, coach: Coach) -> JournalEntry | None:
    """The answer to a doubt: the set counts as typed, or it is taken back. Its rivals are taken back if it counts."""
    with journal.act(
        coach.practice,
        coach,
        "log.settle",
        about=f"client:{logged.client.public_id}",
        exercise=logged.exercise.name,
        counts=counts,
    ) as entry:
        if counts:
            entry.change(logged)
            logged.state = LoggedSet.State.COUNTS
            logged.doubts = []
            logged.save(update_fields=["state", "doubts"])
            for rival in _rivals(logged):
                entry.change(rival)
                rival.state = LoggedSet.State.TAKEN_BACK
                rival.save(update_fields=["state"])
        else:
            take_back_in(entry, logged)
    return entry.entry


def values_of(logged: LoggedSet) -> SetValues:
    """A stored set as values again."""
    return SetValues(
        reps=logged.reps,
        seconds=logged.seconds,
        metres=logged.metres,
        load=logged.load,
        rir=logged.rir,
        kind=logged.kind,
        parts=tuple(PartValues(part.sort, part.reps, part.seconds, part.load) for part in logged.parts.all()),
        as_planned=logged.as_planned,
        stopped_for_pain=logged.stopped_for_pain,
        note=logged.note,
    )


def mark_trained(session: TrainingSession, arrival: Arrival) -> None:
    """The first set makes a session trained, on the day it was performed."""
    if session.state == TrainingSession.State.TRAINED and session.trained_on is not None:
        return
    session.state = TrainingSession.State.TRAINED
    session.trained_on = arrival.performed_on
    session.save(update_fields=["state", "trained_on"])


def _lock(client: Client) -> None:
    # SQLite transactions are immediate, so the writer is alone already; elsewhere the client's row is the gate.
    Client.objects.select_for_update().only("pk").get(pk=client.pk)


def _exercise(client: Client, session: TrainingSession, sheet_line: dict[str, Any], arrival: Arrival) -> Exercise:
    """What the set is of. An old sheet may name what was merged into another since; and a late set of a line whose
    other sets were split off, its prescription with them, goes where they went."""
    if arrival.exercise is not None:
        return received_as(arrival.exercise)
    named = received_as(Exercise.objects.get(practice_id=client.practice_id, public_id=sheet_line["exercise"]["id"]))
    if session.state != TrainingSession.State.TRAINED:
        return named
    others = LoggedSet.objects.for_client(client).filter(
        session=OuterRef("session"), line=sheet_line["number"], exercise=OuterRef("exercise")
    )
    lines = Prescription.objects.filter(Exists(others), session=session, slot_key=sheet_line["slot"])
    moved = lines.exclude(exercise=named).select_related("exercise").first()
    return named if moved is None or moved.exercise is None else moved.exercise


def _station(client: Client, sheet_line: dict[str, Any], exercise: Exercise) -> Station | None:
    """The station that the sheet names for its own exercise; one that stood in for it was done elsewhere."""
    named = sheet_line.get("station")
    if not named or sheet_line["exercise"]["id"] != exercise.key:
        return None
    return Station.objects.filter(public_id=named, place__practice=client.practice_id).first()


def _answers(client: Client, session: TrainingSession, line: int, number: int) -> list[LoggedSet]:
    return list(
        LoggedSet.objects.for_client(client)
        .filter(session=session, line=line, number=number)
        .exclude(state=LoggedSet.State.TAKEN_BACK)
        .prefetch_related("parts")
    )


def _again(known: LoggedSet, values: SetValues, arrival: Arrival) -> Received:
    content = values.content()
    if (known.kind, values.kind, known.load) == ("warm_up", "work", values.load):
        # It was taken for a warm-up as it came, or since: the phone that sends it again knows nothing of that.
        values = replace(values, kind="warm_up")
    if known.state == LoggedSet.State.TAKEN_BACK or values_of(known).content() == values.content():
        return Received(known, "known")
    # A late retry of what a coach has corrected since must not put it back.
    corrected = known.revisions.filter(replaced_by__isnull=False)
    if arrival.recorded_by is None and any(row.values == content for row in corrected):
        return Received(known, "known")
    _revise(known, values, arrival.recorded_by)
    return Received(known, "edited")


def _revise(logged: LoggedSet, values: SetValues, by: Coach | None) -> LoggedSetRevision:
    revision = LoggedSetRevision.objects.create(
        logged_set=logged, number=logged.revision, values=values_of(logged).content(), replaced_by=by
    )
    changed = {
        **_columns(values),
        "revision": logged.revision + 1,
    }
    for name, value in changed.items():
        setattr(logged, name, value)
    logged.save(update_fields=list(changed))
    logged.parts.all().delete()
    _write_parts(logged, values)
    return revision


def _columns(values: SetValues) -> dict[str, Any]:
    return {
        "reps": values.reps,
        "seconds": values.seconds,
        "metres": values.metres,
        "rir": values.rir,
        "kind": values.kind,
        "as_planned": values.as_planned,
        "stopped_for_pain": values.stopped_for_pain,
        "note": values.note[:240],
        **columns(values.load),
    }


def _write(
    client: Client,
    session: TrainingSession | None,
    version: SheetVersion | None,
    sheet_line: dict[str, Any] | None,
    number: int | None,
    exercise: Exercise,
    station: Station | None,
    values: SetValues,
    key: str,
    arrival: Arrival,
    doubts: list[dict[str, Any]],
) -> LoggedSet:
    logged = LoggedSet.objects.create(
        client=client,
        key=key,
        session=session,
        version=version,
        line=sheet_line["number"] if sheet_line else None,
        number=number,
        exercise=exercise,
        place=session.place if session else None,
        station=station,
        slot_key=sheet_line["slot"] if sheet_line else "",
        occurrence=session.occurrence if session else None,
        order=arrival.order or _next_order(client, session),
        performed_on=arrival.performed_on,
        performed_at=arrival.performed_at,
        recorded_by=arrival.recorded_by,
        way=arrival.way,
        original=arrival.original,
        bodyweight_grams=_bodyweight(client),
        state=LoggedSet.State.ASKED if doubts else LoggedSet.State.COUNTS,
        doubts=doubts,
        **_columns(values),
    )
    _write_parts(logged, values)
    return logged


def _write_parts(logged: LoggedSet, values: SetValues) -> None:
    LoggedPart.objects.bulk_create(
        LoggedPart(
            logged_set=logged,
            number=index,
            sort=part.sort,
            reps=part.reps,
            seconds=part.seconds,
            **columns(part.load),
        )
        for index, part in enumerate(values.parts, start=1)
    )


def _next_order(client: Client, session: TrainingSession | None) -> int:
    if session is None:
        return 0
    return LoggedSet.objects.for_client(client).filter(session=session).count() + 1


def _bodyweight(client: Client) -> int | None:
    return client.bodyweights.values_list("grams", flat=True).first()


def _rivals(logged: LoggedSet) -> list[LoggedSet]:
    """Other answers to the same line and set that have not been taken back."""
    if logged.session is None or logged.line is None or logged.number is None:
        return []
    answers = _answers(logged.client, logged.session, logged.line, logged.number)
    return [row for row in answers if row.pk != logged.pk]


def _settle_rivals(logged: LoggedSet) -> None:
    """Once one of two answers is taken back, the other is no longer in doubt for that reason."""
    left = _rivals(logged)
    if len(left) != 1:
        return
    (other,) = left
    other.doubts = [doubt for doubt in other.doubts if doubt["code"] != TWO_ANSWERS]
    other.state = LoggedSet.State.ASKED if other.doubts else LoggedSet.State.COUNTS
    other.save(update_fields=["doubts", "state"])


def _untrain_if_empty(session: TrainingSession) -> None:
    remaining = session.logged_sets.exclude(state=LoggedSet.State.TAKEN_BACK).exists()
    if not remaining and session.state == TrainingSession.State.TRAINED:
        session.state = TrainingSession.State.PLANNED
        session.trained_on = None
        session.save(update_fields=["state", "trained_on"])
