"""Day types on the client's days, and a session on another date."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from clients.models import Client, TrainingSession
from clients.reads.composing import ComposeInputs
from clients.services.sheets import reissue_if_out
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine import calendar
from programs.engine.compose import assess
from programs.engine.terms import Pick

CAREFUL_AGE = 60  # slower recovery is planned for from here on


def session_loads(inputs: ComposeInputs, picks: Sequence[Pick]) -> list[calendar.SessionLoad]:
    """The week's sessions as recovery sees them, in the order of the outline.

    Picks of slots or exercises that are not there any more are left out.
    """
    request = inputs.request
    slots = inputs.slots()
    picks = [pick for pick in picks if pick.slot in slots and pick.exercise in inputs.library]
    audit = assess(request, picks)
    minutes = {(entry.day, entry.occurrence): entry.minutes for entry in audit.minutes}
    slot_day = {key: (day.key, slot.rir) for key, (day, slot) in slots.items()}
    careful = request.experience == "novice" or (request.age or 0) >= CAREFUL_AGE
    loads = []
    seen: dict[str, int] = {}
    for day_key in inputs.outline.order:
        occurrence = seen.get(day_key, 0)
        seen[day_key] = occurrence + 1
        mine = [pick for pick in picks if slot_day[pick.slot][0] == day_key and pick.occurrence == occurrence]
        here = audit.session_dose.get((day_key, occurrence), {})
        efforts = [rir for pick in mine if (rir := slot_day[pick.slot][1]) is not None]
        loads.append(
            calendar.SessionLoad(
                key=session_key(day_key, occurrence),
                counted={group: dose.counted for group, dose in here.items()},
                direct={group: dose.direct for group, dose in here.items()},
                minutes=minutes.get((day_key, occurrence), 0.0),
                rir=min(efforts) if efforts else None,
                careful=careful,
            )
        )
    return loads


def placed_days(client: Client, inputs: ComposeInputs, picks: Sequence[Pick]) -> list[dict[str, Any]]:
    """[{"day", "occurrence", "weekday"}] in the order of the week; weekday None for clients without fixed days."""
    loads = session_loads(inputs, picks)
    if client.order_mode == Client.OrderMode.LIST:
        return [_row(load.key, None) for load in loads]
    wanted = set(client.days)
    placement = calendar.place_days(loads, wanted if len(wanted) >= len(loads) else range(7), preferred=wanted)
    if not placement.days:
        return [_row(load.key, None) for load in loads]
    rows = [_row(load.key, placement.days[load.key]) for load in loads]
    return sorted(rows, key=lambda row: row["weekday"])


def gaps_of(inputs: ComposeInputs, picks: Sequence[Pick], days: Sequence[dict[str, Any]]) -> tuple[calendar.Gap, ...]:
    """Hours between sessions that load the same groups; none for clients without fixed days."""
    weekdays = {session_key(row["day"], row["occurrence"]): row["weekday"] for row in days}
    if any(weekday is None for weekday in weekdays.values()):
        return ()
    return calendar.recovery_gaps(calendar.week_of(session_loads(inputs, picks), weekdays))


class AlreadyOver(Exception):
    """The session was trained, missed or left out: its date is history."""


def move_session(session: TrainingSession, coach: Coach, day: date | None) -> JournalEntry | None:
    """Puts a session that is still to come on another date, or on none; nothing else moves.

    A sheet that is out says the old date, so it is superseded.
    """
    if session.state != TrainingSession.State.PLANNED:
        raise AlreadyOver
    client = session.block.client
    about = f"client:{client.public_id}"
    with journal.act(client.practice, coach, "session.move", about=about, session=session.name) as entry:
        entry.change(session)
        session.planned_on = day
        session.save(update_fields=["planned_on"])
        reissue_if_out(session, coach, entry)
    return entry.entry


def session_key(day: str, occurrence: int) -> str:
    return f"{day}:{occurrence}"


def _row(key: str, weekday: int | None) -> dict[str, Any]:
    day, _colon, occurrence = key.rpartition(":")
    return {"day": day, "occurrence": int(occurrence), "weekday": weekday}
