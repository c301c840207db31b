"""Drawings of the board: the week with its recovery gaps, and the strips of the dose."""

from collections.abc import Sequence
from collections.abc import Set as AbstractSet

from django.utils.dates import WEEKDAYS_ABBR
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from clients.board.state import State
from clients.board.words import counted_words, day_name, sets_words
from clients.cycles import day_number, is_rolling
from programs import labels
from programs.drawings.bodymap import body_map
from programs.drawings.dose_strip import dose_strip
from programs.drawings.recovery_gaps import recovery_gaps
from programs.engine.compose import GroupDose
from programs.engine.vocabulary import AUDITED_GROUPS, REGIONS
from programs.reasons.words import in_text, number
from programs.week_lanes import lanes_of

DAYS_IN_WORDS = 10  # with more columns than these their heads are bare numbers
WIDE, NARROW, NARROW_NAMES = 738, 328, 60
STRIP_WIDTH = 152
DOSE_MAP_MM = 40
SCALE_ROOM = 4  # sets drawn beyond the highest ceiling


def week_drawing(state: State, *, narrow: bool = False) -> SafeString:
    """The sessions on their days with the hours between those that load the same groups; empty without fixed days.

    A rolling cycle is drawn from its first day to its last.
    """
    days = state.days
    if not days or None in days.values():
        return SafeString("")
    start = 0 if is_rolling(state.cycle_days) else state.draft.client.practice.week_start
    columns = [(start + index) % state.cycle_days for index in range(state.cycle_days)]
    placed = {
        (day.key, occurrence): columns.index(on)
        for day in state.inputs.request.day_types
        for occurrence in range(day.occurrences)
        if (on := days.get((day.key, occurrence))) is not None
    }
    in_words = [_in_words(day, state.cycle_days) for day in columns]
    lanes = lanes_of(placed, state.gaps, state.names, in_words, letters=narrow)
    drawn = recovery_gaps(
        [_head(day, state.cycle_days, narrow=narrow) for day in columns],
        lanes,
        title=week_sentence(state),
        width=NARROW if narrow else WIDE,
        name_width=NARROW_NAMES if narrow else 0,
    )
    return mark_safe(drawn)  # noqa: S308  the drawings escape what they are given


def _head(day: int, cycle_days: int, *, narrow: bool) -> str:
    """A column's head: "Mon", or in a rolling cycle "Day 3", only the number where there is little room."""
    if not is_rolling(cycle_days):
        return str(WEEKDAYS_ABBR[day])
    return str(day + 1) if narrow or cycle_days > DAYS_IN_WORDS else day_number(day)


def _in_words(day: int, cycle_days: int) -> str:
    """A day within a sentence."""
    return in_text(day_name(day, cycle_days)) if is_rolling(cycle_days) else day_name(day, cycle_days)


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
        _("%(session)s on %(day)s")
        % {"session": state.names[f"{day}:{occurrence}"], "day": _in_words(on, state.cycle_days)}
        for (day, occurrence), on in state.days.items()
        if on is not None
    ]
    gaps = [
        _("%(hours)d h from %(earlier)s to %(later)s")
        % {"hours": gap.hours, "earlier": state.names[gap.earlier], "later": state.names[gap.later]}
        for gap in state.gaps
    ]
    return f"{', '.join(sessions)}. {', '.join(gaps)}."


def dose_map(state: State) -> SafeString:
    """Where the sets of the round go: a region that some set counts for whole is solid, one that sets only help is
    hatched. It tells apart what one group's strip adds up."""
    direct, counted = _reached(state)
    said = _("Body map. Trained directly: %(direct)s. By share only: %(share)s.") % {
        "direct": _in_order(direct) or _("nothing"),
        "share": _in_order(counted - direct) or _("nothing"),
    }
    drawn = body_map(direct, counted, height_mm=DOSE_MAP_MM, title=said, id_prefix="dose-map")
    return mark_safe(drawn)  # noqa: S308  the drawings escape what they are given


def unreached(state: State) -> str:
    """The regions that no set of the round counts for, as words; empty when there are none."""
    return _in_order(set(REGIONS) - _reached(state)[1])


def _reached(state: State) -> tuple[set[str], set[str]]:
    """Regions that a set counts for whole, and all that a set counts for at least in part."""
    exercises = [state.inputs.library[pick.exercise] for pick in state.picks.values()]
    return (
        {region for exercise in exercises for region in exercise.primary_regions()},
        {entry.region for exercise in exercises for entry in exercise.regions},
    )


def _in_order(regions: AbstractSet[str]) -> str:
    """Their names in the order of the body; some have a comma of their own."""
    return "; ".join(in_text(labels.REGIONS[region]) for region in REGIONS if region in regions)


def strip_scale(doses: Sequence[GroupDose]) -> float:
    """One scale for the whole list: to the highest ceiling and a little on."""
    tops = [dose.judged.range.ceiling for dose in doses if dose.judged.range is not None]
    return max([*tops, *(dose.dose.counted for dose in doses), 1.0]) + SCALE_ROOM


def strip(group: str, found: GroupDose, scale: float) -> SafeString:
    """One group's strip; its title says the same in words."""
    limits = found.judged.range
    low, high = (limits.low, limits.high) if limits is not None else (None, None)
    said = _("%(group)s: %(sets)s a week, %(direct)s of them direct")
    words = said % {
        "group": labels.GROUPS[group],
        "sets": sets_words(found.dose.counted),
        "direct": counted_words(found.dose.direct),
    }
    if limits is not None:
        target = _("target %(low)s to %(high)s") % {"low": number(limits.low), "high": number(limits.high)}
        words = f"{words}; {target}"
    drawn = dose_strip(found.dose.direct, found.dose.counted, low, high, scale, title=words, width=STRIP_WIDTH)
    return mark_safe(drawn)  # noqa: S308  the drawings escape what they are given


def audited(state: State) -> list[tuple[str, GroupDose]]:
    return [(group, state.audit.dose[group]) for group in AUDITED_GROUPS]
