"""The coach's decisions on what the engine proposes: accepted, changed or declined, one by one or plain ones at once.

What was decided is written into sessions that are not trained yet; a sheet that is out is superseded with it.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from django.db import transaction
from django.utils import timezone

from clients.clock import today_for
from clients.models import (
    Client,
    Illness,
    LoggedSet,
    PainReport,
    Prescription,
    Proposal,
    SheetVersion,
    TargetSet,
    TrainingSession,
)
from clients.reads.health import standings_of
from clients.reads.history import target_term
from clients.reads.illness import is_ill
from clients.services.plainness import never_plain, touches_pain
from clients.services.progressions import follow_accepted
from clients.services.proposing import refresh
from clients.services.sheets import reissue_if_out
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry, Practice
from programs.units import Load, columns, load_of

__all__ = [
    "Change",
    "Overtaken",
    "accept",
    "accept_plain",
    "accept_seen",
    "decide",
    "decline",
    "follow_undo",
    "held_now",
    "refresh",
]

# Why a line is as it is, when the engine's own reasons don't stand any more.
_CODES = {True: "declined_repeat", False: "set_by_coach"}
_VERSION = "clients.sheetversion"
BY_ITSELF = "by_itself"  # in ``decided``: the program's own decision
_AS_THEY_ARE = ("kind", "reps_low", "reps_high", "open_ended", "seconds", "metres", "rir", "rest_s", "tempo")


@dataclass(frozen=True, slots=True)
class Change:
    """A coach's own numbers for a line. ``reps_low`` and ``reps_high`` are left alone where seconds or metres count."""

    load: Load | None
    sets: int
    reps_low: int | None = None
    reps_high: int | None = None


class Overtaken(Exception):
    """The proposal is no longer open: decided elsewhere, overtaken by newer logs, or its session is behind."""


def accept(proposal: Proposal, coach: Coach, *, change: Change | None = None) -> JournalEntry | None:
    """Writes the new sets into the session, or the coach's own numbers. A sheet that is out is superseded.

    Raises Overtaken when the proposal is not open any more. Returns the journal's entry.
    """
    return _decide_one(proposal, coach, change=change)


def decline(proposal: Proposal, coach: Coach) -> JournalEntry | None:
    """Keeps what was done last time. Raises Overtaken."""
    return _decide_one(proposal, coach, declined=True)


def accept_plain(proposals: Iterable[Proposal], coach: Coach) -> tuple[int, JournalEntry | None]:
    """Accepts all plain proposals that still wait, as one act with one undo; how many, and the journal's entry.

    Whoever has reported pain, has sets to be checked or is not cleared any more is left out, even if that came in a
    moment ago.
    """
    rows = [row for row in proposals if row.plain]
    held = held_now({row.client_id for row in rows})
    return decide([row for row in rows if row.client_id not in held], coach)


def held_now(clients: Collection[int]) -> set[int]:
    """Those of the clients who by now have reported pain, are ill, have sets to be checked, or are never plain: a
    clearance may have run out since the proposals were reckoned. Seven queries, however many they are."""
    hurt = PainReport.objects.filter(client__in=clients, state=PainReport.State.OPEN)
    asked = LoggedSet.objects.filter(client__in=clients, state=LoggedSet.State.ASKED)
    held = {*hurt.values_list("client_id", flat=True), *asked.values_list("client_id", flat=True)}
    rows = list(Client.objects.filter(pk__in=clients))
    days = {row.pk: today_for(row) for row in rows}
    standings = standings_of(rows, list(clients), max(days.values())) if days else {}
    held |= {row.client_id for row in Illness.objects.filter(client__in=clients) if is_ill(row, days[row.client_id])}
    return held | {row.pk for row in rows if never_plain(row, standings[row.pk], days[row.pk])}


def accept_seen(client: Client, seen: Collection[str], coach: Coach) -> tuple[int, JournalEntry | None]:
    """Accepts what a coach has looked at on the client's page (public ids), plain or not, as one act.

    What answers pain is decided by itself, and stays; so does what came in after the page was made.
    """
    rows = Proposal.objects.filter(client=client, public_id__in=seen).waiting()
    return decide([row for row in rows if not touches_pain(row)], coach)


def _decide_one(
    proposal: Proposal, coach: Coach, *, change: Change | None = None, declined: bool = False
) -> JournalEntry | None:
    count, entry = decide([proposal], coach, edited={proposal.pk: change} if change else None, declined=declined)
    if not count:
        raise Overtaken
    return entry


def decide(
    proposals: Sequence[Proposal],
    coach: Coach | None,
    *,
    edited: Mapping[int, Change] | None = None,
    declined: bool = False,
    practice: Practice | None = None,
) -> tuple[int, JournalEntry | None]:
    """One transaction and one journal entry for any number of decisions; those not open any more are left out.

    Without a coach, and with the practice instead, it is the program's own decision, and shown as such.
    """
    owner = practice or (coach.practice if coach is not None else None)
    if owner is None:
        raise ValueError("a decision belongs to a practice")
    act = "proposal.decline" if declined else "proposal.accept"
    with transaction.atomic():
        rows = list(
            Proposal.objects.waiting()
            .filter(pk__in=[row.pk for row in proposals], session__state=TrainingSession.State.PLANNED)
            .select_related("client", "exercise", "session")
            .select_for_update(of=("self",))
        )
        about = {f"client:{row.client.public_id}" for row in rows}
        name = rows[0].exercise.name if len(rows) == 1 else ""
        with journal.act(
            owner,
            coach,
            act,
            about=about.pop() if len(about) == 1 else "",
            count=len(rows),
            client=rows[0].client.name if len(rows) == 1 else "",
            exercise=name,
        ) as entry:
            lines = _lines_of(rows)
            written: list[_Written] = []
            for row in rows:
                line = lines[row.session_id, row.slot_key]
                entry.change(row, line, *line.target_sets.all())
                written.append(_decided(row, line, coach, (edited or {}).get(row.pk), declined))
            _write(written, entry)
            for row in [] if declined else rows:
                follow_accepted(row, entry)
            for session in _with_sheets_out({one.line.session_id: one.line.session for one in written}):
                reissue_if_out(session, coach, entry)
    return len(rows), entry.entry


@dataclass(frozen=True, slots=True)
class _Written:
    """What one decision comes to: the proposal, its line, and the sets that take the place of the present ones."""

    proposal: Proposal
    line: Prescription
    sets: Sequence[TargetSet]


def _lines_of(proposals: Sequence[Proposal]) -> dict[tuple[int, str], Prescription]:
    """The lines that they are about, with their sets: two queries."""
    rows = Prescription.objects.filter(
        session__in={row.session_id for row in proposals}, slot_key__in={row.slot_key for row in proposals}
    )
    found = rows.select_related("session__block__client", "exercise").prefetch_related("target_sets")
    return {(row.session_id, row.slot_key): row for row in found}


def _decided(
    proposal: Proposal, line: Prescription, coach: Coach | None, change: Change | None, declined: bool
) -> _Written:
    """Sets the fields of proposal and line; nothing is saved yet."""
    sets = _decided_sets(proposal, line, change, declined)
    without_load = all(row.load_value is None for row in sets)
    line.finds_load = bool(proposal.new.get("find_load")) and without_load
    line.reasons = [{"code": _CODES[declined], "params": {}}] if declined or change else proposal.reasons
    if change:
        fixed = {"load", "sets", "reps"} if change.reps_low is not None else {"load", "sets"}
        line.pinned = sorted({*line.pinned, *fixed})
    state = Proposal.State
    proposal.decided = {**_short(sets), **({} if coach is not None else {BY_ITSELF: True})}
    proposal.decided_at = timezone.now()
    proposal.decided_by = coach
    proposal.changed_to = None
    proposal.state = state.DECLINED if declined else state.EDITED if change else state.ACCEPTED
    return _Written(proposal, line, sets)


def _write(written: Sequence[_Written], entry: journal.Recording) -> None:
    """A few statements, however many decisions."""
    lines = [one.line for one in written]
    TargetSet.objects.filter(prescription__in=lines).delete()
    entry.made(*TargetSet.objects.bulk_create([row for one in written for row in one.sets]))
    Prescription.objects.bulk_update(lines, ["finds_load", "reasons", "pinned"])
    decided = [one.proposal for one in written]
    Proposal.objects.bulk_update(decided, ["decided", "decided_at", "decided_by", "changed_to", "state"])


def _with_sheets_out(sessions: Mapping[int, TrainingSession]) -> list[TrainingSession]:
    standing = SheetVersion.objects.standing().filter(session__in=sessions)
    return [sessions[key] for key in sorted(standing.values_list("session", flat=True).distinct())]


def follow_undo(entry: JournalEntry, actor: Coach | None) -> None:
    """Once a decision is taken back, the sheet that was sent with it must say so too.

    Refused when the session has been trained, or when sets were logged from a sheet that would be taken back.
    """
    keys: dict[str, list[int]] = {}
    for row in entry.rows:
        keys.setdefault(row["model"], []).append(row["pk"])
    sent = entry.act == "sheet.issue" or entry.act.startswith("proposal.")
    if sent and LoggedSet.objects.filter(version__in=keys.get(_VERSION, [])).exists():
        raise journal.CannotUndo("later", {"model": "clients.loggedset"})
    if entry.act.startswith("proposal."):
        lines = keys.get("clients.prescription", [])
        for session in TrainingSession.objects.filter(prescriptions__in=lines).distinct():
            if session.state == TrainingSession.State.TRAINED:
                raise journal.CannotUndo("later", {"model": "clients.trainingsession"})
            reissue_if_out(session, actor)


def _decided_sets(proposal: Proposal, line: Prescription, change: Change | None, declined: bool) -> list[TargetSet]:
    present = list(line.target_sets.all())
    unit = proposal.new["unit"]
    if declined:
        load = proposal.old.get("load")
        kept = None if load is None else load_of(load, unit)
        return [target_row(line, number, asdict(target_term(row, unit)), kept) for number, row in enumerate(present, 1)]
    work = proposal.new["work"]
    if change:
        rows = work or [asdict(target_term(row, unit)) for row in present]
        # More sets than proposed go on like the last one; a back-off set keeps its own load.
        rows = [rows[min(index, len(rows) - 1)] for index in range(change.sets)]
        top = rows[0]["load"]
        return [
            target_row(
                line,
                number,
                {**row, **_reps(row, change)},
                change.load if row["load"] == top or row["load"] is None else load_of(row["load"], unit),
            )
            for number, row in enumerate(rows, start=1)
        ]
    return [
        target_row(line, number, row, None if row["load"] is None else load_of(row["load"], unit))
        for number, row in enumerate(work, start=1)
    ]


def target_row(line: Prescription, number: int, row: Mapping[str, Any], load: Load | None) -> TargetSet:
    """One target set from the engine's, as it was or as it was stored."""
    return TargetSet(
        prescription=line,
        number=number,
        **{name: row[name] for name in _AS_THEY_ARE},
        **columns(load),
    )


def _reps(row: Mapping[str, Any], change: Change) -> dict[str, Any]:
    if row["reps_low"] is None or change.reps_low is None:
        return {}
    return {"reps_low": change.reps_low, "reps_high": change.reps_high or change.reps_low}


def _short(sets: Sequence[TargetSet]) -> dict[str, Any]:
    first = sets[0] if sets else None
    if first is None:
        return {"sets": 0}
    return {
        "sets": len(sets),
        "load": None if first.load_value is None else float(first.load_value),
        "unit": first.load_unit,
        "reps_low": first.reps_low,
        "reps_high": first.reps_high,
        "seconds": first.seconds,
        "metres": first.metres,
    }
