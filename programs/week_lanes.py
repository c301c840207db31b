"""The lanes of the recovery drawing: one a day type, with its sessions and the hours from each to the next."""

from collections.abc import Mapping, Sequence

from django.utils.translation import gettext as _

from programs.drawings.recovery_gaps import Gap, Lane
from programs.engine import calendar
from programs.engine.compose.recovering import session_key
from programs.reasons.words import number

LETTERS = "ABCDEFG"
Session = tuple[str, int]  # day key and occurrence


def lanes_of(
    columns: Mapping[Session, int],
    gaps: Sequence[calendar.Gap],
    names: Mapping[str, str],
    days: Sequence[str],
    *,
    letters: bool = False,
) -> list[Lane]:
    """One lane a day type, in the order in which ``columns`` names them: each session on the column of its day.

    ``names`` are those of day types and sessions; ``days`` the columns' full names, for the gap that runs into the
    next week; ``letters`` writes A, B, C in the blocks in place of the sessions' names.
    """
    by_day: dict[str, list[tuple[int, int]]] = {}
    for (day, occurrence), column in columns.items():
        by_day.setdefault(day, []).append((column, occurrence))
    return [_lane(day, sorted(placed), gaps, names, days, letters=letters) for day, placed in by_day.items()]


def _lane(
    day: str,
    sessions: Sequence[tuple[int, int]],
    gaps: Sequence[calendar.Gap],
    names: Mapping[str, str],
    days: Sequence[str],
    *,
    letters: bool,
) -> Lane:
    many = len(sessions) > 1
    blocks = [
        (
            column,
            (LETTERS[occurrence % len(LETTERS)] if many else "") if letters else names[session_key(day, occurrence)],
        )
        for column, occurrence in sessions
    ]
    drawn = [_gap(day, sessions, index, gaps, days) for index in range(len(sessions))]
    return Lane(names[day], blocks, [gap for gap in drawn if gap is not None])


def _gap(
    day: str, sessions: Sequence[tuple[int, int]], index: int, gaps: Sequence[calendar.Gap], days: Sequence[str]
) -> Gap | None:
    """From one session of a lane to the next; the last runs off the edge and says to which day."""
    column, occurrence = sessions[index]
    last = index == len(sessions) - 1
    next_column, next_occurrence = sessions[0] if last else sessions[index + 1]
    wanted = (session_key(day, occurrence), session_key(day, next_occurrence), last)
    found = next((gap for gap in gaps if (gap.earlier, gap.later, gap.wraps) == wanted), None)
    if found is None:
        return None
    hours = _("%(hours)d h") % {"hours": found.hours}
    if last:
        hours = _("%(hours)s to %(day)s") % {"hours": hours, "day": days[next_column]}
    if not found.enough:
        hours = _("%(hours)s, %(needed)s needed") % {"hours": hours, "needed": number(found.needed_h)}
    needed = 0 if found.enough else found.hours + 1
    return Gap(column, None if last else next_column, found.hours, needed, hours)
