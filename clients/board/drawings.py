"""Drawings of the board: the week with its recovery gaps, and the strips of the dose."""

from collections.abc import Sequence

from django.utils.dates import WEEKDAYS, WEEKDAYS_ABBR
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from clients.board.state import State
from clients.reads.composing import LETTERS
from programs import labels
from programs.drawings.dose_strip import dose_strip
from programs.drawings.recovery_gaps import Gap, Lane, recovery_gaps
from programs.engine import calendar
from programs.engine.compose import GroupDose
from programs.engine.vocabulary import AUDITED_GROUPS
from programs.reasons.words import in_text, number

WEEK = 7
WIDE, NARROW, NARROW_NAMES = 738, 328, 60
STRIP_WIDTH = 152
SCALE_ROOM = 4  # sets drawn beyond the highest ceiling


def week_drawing(state: State, *, narrow: bool = False) -> SafeString:
    """The sessions on their days with the hours between those that load the same groups; empty without fixed days."""
    weekdays = state.weekdays
    if not weekdays or None in weekdays.values():
        return SafeString("")
    start = state.draft.client.practice.week_start
    columns = [(start + index) % WEEK for index in range(WEEK)]
    lanes = [_lane(state, day.key, columns, narrow=narrow) for day in state.inputs.request.day_types]
    drawn = recovery_gaps(
        [str(WEEKDAYS_ABBR[day]) for day in columns],
        lanes,
        title=week_sentence(state),
        width=NARROW if narrow else WIDE,
        name_width=NARROW_NAMES if narrow else 0,
    )
    return mark_safe(drawn)  # noqa: S308  the drawings escape what they are given


def _lane(state: State, day_key: str, columns: Sequence[int], *, narrow: bool) -> Lane:
    sessions = sorted(
        (columns.index(weekday), occurrence)
        for (day, occurrence), weekday in state.weekdays.items()
        if day == day_key and weekday is not None
    )
    name = state.names[day_key]
    many = len(sessions) > 1
    letters = {occurrence: LETTERS[occurrence] if many else "" for _column, occurrence in sessions}
    blocks = [
        (column, letters[occurrence] if narrow else state.names[f"{day_key}:{occurrence}"])
        for column, occurrence in sessions
    ]
    gaps = [_gap(state, day_key, sessions, index, columns) for index in range(len(sessions))]
    return Lane(name, blocks, [gap for gap in gaps if gap is not None])


def _gap(
    state: State, day_key: str, sessions: Sequence[tuple[int, int]], index: int, columns: Sequence[int]
) -> Gap | None:
    """From one session of a lane to the next; the last runs off the edge and says to which day."""
    column, occurrence = sessions[index]
    last = index == len(sessions) - 1
    next_column, next_occurrence = sessions[0] if last else sessions[index + 1]
    found = _between(state, f"{day_key}:{occurrence}", f"{day_key}:{next_occurrence}", wraps=last)
    if found is None:
        return None
    hours = _("%(hours)d h") % {"hours": found.hours}
    if last:
        hours = _("%(hours)s to %(day)s") % {"hours": hours, "day": WEEKDAYS[columns[next_column]]}
    if not found.enough:
        hours = _("%(hours)s, %(needed)s needed") % {"hours": hours, "needed": number(found.needed_h)}
    needed = 0 if found.enough else found.hours + 1
    return Gap(column, None if last else next_column, found.hours, needed, hours)


def _between(state: State, earlier: str, later: str, *, wraps: bool) -> calendar.Gap | None:
    return next(
        (gap for gap in state.gaps if (gap.earlier, gap.later, gap.wraps) == (earlier, later, wraps)),
        None,
    )


def short_gaps(state: State) -> list[str]:
    """What recovers too little, as sentences, whichever day types it lies between."""
    said = _("%(earlier)s to %(later)s: %(hours)d h for %(groups)s, %(needed)s needed. Move one to another day.")
    return [
        said
        % {
            "earlier": state.names[gap.earlier],
            "later": state.names[gap.later],
            "hours": gap.hours,
            "groups": in_text(labels.GROUPS[gap.group]),
            "needed": number(gap.needed_h),
        }
        for gap in state.gaps
        if not gap.enough
    ]


def week_sentence(state: State) -> str:
    """The drawing in words."""
    sessions = [
        _("%(session)s on %(day)s") % {"session": state.names[f"{day}:{occurrence}"], "day": WEEKDAYS[weekday]}
        for (day, occurrence), weekday in state.weekdays.items()
        if weekday is not None
    ]
    gaps = [
        _("%(hours)d h from %(earlier)s to %(later)s")
        % {"hours": gap.hours, "earlier": state.names[gap.earlier], "later": state.names[gap.later]}
        for gap in state.gaps
    ]
    return f"{', '.join(sessions)}. {', '.join(gaps)}."


def strip_scale(doses: Sequence[GroupDose]) -> float:
    """One scale for the whole list: to the highest ceiling and a little on."""
    tops = [dose.judged.range.ceiling for dose in doses if dose.judged.range is not None]
    return max([*tops, *(dose.dose.counted for dose in doses), 1.0]) + SCALE_ROOM


def strip(group: str, found: GroupDose, scale: float) -> SafeString:
    """One group's strip; its title says the same in words."""
    limits = found.judged.range
    low, high = (limits.low, limits.high) if limits is not None else (None, None)
    said = _("%(group)s: %(sets)s sets a week, %(direct)s of them direct")
    words = said % {
        "group": labels.GROUPS[group],
        "sets": number(found.dose.counted),
        "direct": number(found.dose.direct),
    }
    if limits is not None:
        target = _("target %(low)s to %(high)s") % {"low": number(limits.low), "high": number(limits.high)}
        words = f"{words}; {target}"
    drawn = dose_strip(found.dose.direct, found.dose.counted, low, high, scale, title=words, width=STRIP_WIDTH)
    return mark_safe(drawn)  # noqa: S308  the drawings escape what they are given


def audited(state: State) -> list[tuple[str, GroupDose]]:
    return [(group, state.audit.dose[group]) for group in AUDITED_GROUPS]
