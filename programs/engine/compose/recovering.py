"""A week's sessions as recovery sees them: what each gives every group, how close to failure, and how long it takes."""

from collections.abc import Sequence
from typing import Final

from programs.engine.calendar import SessionLoad
from programs.engine.compose.audit import assess
from programs.engine.compose.request import Audit, WeekRequest
from programs.engine.terms import Pick

CAREFUL_AGE: Final = 60  # slower recovery is planned for from here on


def session_key(day: str, occurrence: int) -> str:
    """ "upper:1": a session of the week by its day type and occurrence, from 0."""
    return f"{day}:{occurrence}"


def session_loads(
    request: WeekRequest, picks: Sequence[Pick], order: Sequence[str], audited: Audit | None = None
) -> tuple[SessionLoad, ...]:
    """One load a session, in ``order``: the keys of the day types as they come round.

    ``audited`` is the audit of the same picks where it is known already. Picks of slots or exercises that the
    request does not know are left out. A session without picks loads nothing.
    """
    found = assess(request, picks) if audited is None else audited
    minutes = {(entry.day, entry.occurrence): entry.minutes for entry in found.minutes}
    effort = {slot.key: (day.key, slot.rir) for day in request.day_types for slot in day.slots}
    known = [pick for pick in picks if pick.slot in effort and pick.exercise in request.library]
    careful = request.experience == "novice" or (request.age or 0) >= CAREFUL_AGE
    loads = []
    seen: dict[str, int] = {}
    for day in order:
        occurrence = seen.get(day, 0)
        seen[day] = occurrence + 1
        mine = [pick for pick in known if effort[pick.slot][0] == day and pick.occurrence == occurrence]
        reserves = [rir for pick in mine if (rir := effort[pick.slot][1]) is not None]
        here = found.session_dose.get((day, occurrence), {})
        loads.append(
            SessionLoad(
                key=session_key(day, occurrence),
                counted={group: dose.counted for group, dose in here.items()},
                direct={group: dose.direct for group, dose in here.items()},
                minutes=minutes.get((day, occurrence), 0.0),
                rir=min(reserves) if reserves else None,
                careful=careful,
            )
        )
    return tuple(loads)
