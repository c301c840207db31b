"""Day types on the client's days, and a session on another date."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from clients.cycles import day_of, is_rolling
from clients.models import Client, TrainingSession
from clients.reads.composing import ComposeInputs
from clients.services.sheets import reissue_if_out
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine import calendar
from programs.engine.compose import recovering
from programs.engine.compose.recovering import session_key
from programs.engine.terms import Pick


def session_loads(inputs: ComposeInputs, picks: Sequence[Pick]) -> tuple[calendar.SessionLoad, ...]:
    """The week's sessions as recovery sees them, in the order of the outline.

    Picks of slots or exercises that are not there any more are left out.
    """
    return recovering.session_loads(inputs.request, picks, inputs.outline.order)


def placed_days(client: Client, inputs: ComposeInputs, picks: Sequence[Pick]) -> list[dict[str, Any]]:
    """[{"day", "occurrence", "weekday"}] in the order of the week; weekday None for clients without fixed days.

    A rolling cycle stands on its own days, not on the client's: {..., "weekday": None, "offset"}.
    """
    if is_rolling(inputs.cycle_days):
        return _cycle(client, inputs)
    loads = session_loads(inputs, picks)
    if client.order_mode == Client.OrderMode.LIST:
        return [_row(load.key, None) for load in loads]
    usual, liked, never = set(client.days), set(client.days_liked), set(client.days_never)
    # Days a client has are kept to while they are enough; what is impossible stays so in any case.
    enough = len(usual - never) >= len(loads)
    placement = calendar.place_days(
        loads,
        usual if enough else range(calendar.WEEK_DAYS),
        preferred=liked if enough else usual | liked,
        forbidden=never,
        week_start=client.practice.week_start,
    )
    if not placement.days:
        return [_row(load.key, None) for load in loads]
    rows = [_row(load.key, placement.days[load.key]) for load in loads]
    return sorted(rows, key=lambda row: row["weekday"])


def gaps_of(inputs: ComposeInputs, picks: Sequence[Pick], days: Sequence[dict[str, Any]]) -> tuple[calendar.Gap, ...]:
    """Hours between sessions that load the same groups, over the end of the week or cycle too; none without days."""
    on = {session_key(row["day"], row["occurrence"]): day for row in days if (day := day_of(row)) is not None}
    if len(on) < len(days):
        return ()
    cycle_hours = inputs.cycle_days * calendar.DAY_HOURS
    return calendar.recovery_gaps(calendar.week_of(session_loads(inputs, picks), on), cycle_hours)


def _cycle(client: Client, inputs: ComposeInputs) -> list[dict[str, Any]]:
    """The template's own days of a rolling cycle, in its order; an even spread where it names none that fit."""
    order = list(inputs.outline.order)
    offsets: Sequence[int | None] = ()
    if client.order_mode != Client.OrderMode.LIST:
        offsets = calendar.usual_offsets(len(order), inputs.cycle_days, inputs.outline.offsets)
    seen: dict[str, int] = {}
    rows = []
    for day, offset in zip(order, offsets or [None] * len(order), strict=True):
        occurrence = seen.get(day, 0)
        seen[day] = occurrence + 1
        rows.append({"day": day, "occurrence": occurrence, "weekday": None, "offset": offset})
    return rows


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


def _row(key: str, weekday: int | None) -> dict[str, Any]:
    day, _colon, occurrence = key.rpartition(":")
    return {"day": day, "occurrence": int(occurrence), "weekday": weekday}
