"""What a template comes to before anyone is assigned: one week by experience, and what in it calls for a look.

Every slot gets the first of its candidates that may be used there and the middle of its sets; nothing is searched.
So a change to one slot shows as that change and nothing else. Composing may take another candidate or set count
where that serves the dose: the least and most sets that the slots allow say how far it can go. On request the week is
composed instead, which is truer and takes far longer.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from programs.engine.calendar import (
    DAY_HOURS,
    USUAL_START_HOUR,
    WEEK_DAYS,
    Gap,
    PlacedSession,
    recovery_gaps,
    usual_offsets,
)
from programs.engine.compose import compose
from programs.engine.compose.audit import assess
from programs.engine.compose.candidates import places_of, reasons_against, reasons_for_slot
from programs.engine.compose.measures import work_of
from programs.engine.compose.recovering import session_loads
from programs.engine.compose.request import Audit, DayType, Slot, WeekRequest
from programs.engine.compose.weights import USUAL, Weights
from programs.engine.dose import Work, weekly
from programs.engine.terms import Because, Exercise, Pick
from programs.engine.vocabulary import AUDITED_GROUPS, STATION_KINDS

LONG_SESSION_MINUTES: Final = 75  # few clients have more (coaching practice)
# With a coach beside them novices learn intermediate lifts too (coaching practice).
SKILL_WITH_COACH: Final[Mapping[str, str]] = {
    "novice": "intermediate",
    "intermediate": "intermediate",
    "advanced": "advanced",
}
# A template may well repeat an exercise; composing decides that by what else fits.
LEFT_TO_COMPOSING: Final = frozenset(("week.repeat",))


@dataclass(frozen=True, slots=True)
class Outlook:
    """A template's week for one experience.

    ``least`` and ``most`` are each audited group's counted weekly sets with the fewest and the most sets that the
    slots allow. ``gaps`` run between sessions that load the same groups, on the template's own or the usual days.
    """

    experience: str
    request: WeekRequest
    picks: tuple[Pick, ...]
    audit: Audit
    least: Mapping[str, float]
    most: Mapping[str, float]
    days: Mapping[str, int]
    gaps: tuple[Gap, ...]
    warnings: tuple[Because, ...]


def outlook(
    day_types: Sequence[DayType],
    library: Mapping[str, Exercise],
    experience: str,
    order: Sequence[str],
    cycle_days: int = WEEK_DAYS,
    offsets: Sequence[int] = (),
    *,
    composed: bool = False,
    weights: Weights = USUAL,
) -> Outlook:
    """The week for one experience in a gym that has everything.

    ``library`` holds the candidates that are shown, or with ``composed`` all that may be chosen from, by ``weights``;
    ``order`` the day types as they come round in ``cycle_days`` days, on ``offsets`` where these fit the cycle.
    """
    request = in_a_full_gym(day_types, library, experience, cycle_days, weights)
    picks = compose(request).picks if composed else first_picks(request)
    audited = assess(request, picks)
    least, most = _bounds(request, picks)
    loads = session_loads(request, picks, order, audited)
    placed = usual_offsets(len(order), cycle_days, offsets)
    days = {load.key: day for load, day in zip(loads, placed, strict=False)}
    gaps = recovery_gaps(
        [PlacedSession(load, days[load.key] * DAY_HOURS + USUAL_START_HOUR) for load in loads if load.key in days],
        cycle_days * DAY_HOURS,
    )
    warnings = (
        *(_unfilled(request, picks) if composed else _uncounted(request, picks)),
        *_dose(audited, experience, least, most),
        *_recovery(gaps, experience),
        *_long(audited, experience),
        *(why for why in audited.warnings if why.code not in LEFT_TO_COMPOSING),
    )
    return Outlook(experience, request, picks, audited, least, most, days, gaps, warnings)


def in_a_full_gym(
    day_types: Sequence[DayType],
    library: Mapping[str, Exercise],
    experience: str,
    cycle_days: int = WEEK_DAYS,
    weights: Weights = USUAL,
) -> WeekRequest:
    """What composing is asked for nobody in particular: an experience, a coach at hand, and every station."""
    return WeekRequest(
        day_types=tuple(day_types),
        library=library,
        experience=experience,
        stations=frozenset(STATION_KINDS),
        skill_allowed=SKILL_WITH_COACH[experience],
        cycle_days=float(cycle_days),
        weights=weights,
    )


def first_picks(request: WeekRequest) -> tuple[Pick, ...]:
    """Of every slot on every occurrence the first candidate that may stand there, at the middle of the slot's sets.

    Where none may, the first that is shown, so that the audit can say what is wrong with it. A slot whose sets are
    none for this experience has no pick, nor has one without candidates.
    """
    picks = []
    for day in request.day_types:
        for occurrence in range(day.occurrences):
            there: set[str] = set()
            for slot in day.slots:
                key = _first(request, slot, occurrence, there)
                if key is not None and slot.usual_sets:
                    there.add(key)
                    picks.append(Pick(slot.key, occurrence, key, slot.usual_sets))
    return tuple(picks)


def _first(request: WeekRequest, slot: Slot, occurrence: int, there: set[str]) -> str | None:
    shown = [key for key in slot.ranked_on(occurrence) if key in request.library]
    fitting = (
        key
        for key in shown
        if key not in there
        and not reasons_against(request.library[key], request)
        and not reasons_for_slot(request.library[key], slot)
    )
    return next(fitting, shown[0] if shown else None)


def _bounds(request: WeekRequest, picks: Sequence[Pick]) -> tuple[dict[str, float], dict[str, float]]:
    slots = {slot.key: (day.key, slot) for day in request.day_types for slot in day.slots}
    fewest: list[Work] = []
    most: list[Work] = []
    for pick in picks:
        day, slot = slots[pick.slot]
        fewest += work_of(request, day, [Pick(pick.slot, pick.occurrence, pick.exercise, slot.sets_low)])
        most += work_of(request, day, [Pick(pick.slot, pick.occurrence, pick.exercise, slot.sets_high)])
    return _counted(fewest), _counted(most)


def _counted(work: Sequence[Work]) -> dict[str, float]:
    found = weekly(work)
    return {group: found[group].counted if group in found else 0.0 for group in AUDITED_GROUPS}


def _uncounted(request: WeekRequest, picks: Sequence[Pick]) -> list[Because]:
    """Slots that no exercise can be shown for: composing fills some of them, but here they count nothing."""
    filled = {(pick.slot, pick.occurrence) for pick in picks}
    found = []
    for day in request.day_types:
        for slot in day.slots:
            if not slot.usual_sets or all((slot.key, n) in filled for n in range(day.occurrences)):
                continue
            if any(slot.candidates):
                found.append(Because("outline.candidates_hidden", {"day": day.key, "slot": slot.key}))
            else:
                found.append(Because("outline.no_candidates", {"day": day.key, "slot": slot.key}))
    return found


def _unfilled(request: WeekRequest, picks: Sequence[Pick]) -> list[Because]:
    """Places that composing left empty."""
    filled = {(pick.slot, pick.occurrence) for pick in picks}
    return [
        Because("outline.not_filled", {"day": day.key, "occurrence": occurrence, "slot": slot.key})
        for day, slot, occurrence in places_of(request)
        if (slot.key, occurrence) not in filled
    ]


def _dose(audited: Audit, experience: str, least: Mapping[str, float], most: Mapping[str, float]) -> list[Because]:
    """Groups outside their range, those first that no number of sets within the slots brings into it."""
    beyond, within = [], []
    for group in AUDITED_GROUPS:
        judged, counted = audited.dose[group].judged, audited.dose[group].dose.counted
        if judged.range is None or judged.verdict not in ("under", "over"):
            continue
        said = {
            "group": group,
            "sets": counted,
            "experience": experience,
            "low": judged.range.low,
            "high": judged.range.high,
            "least": least[group],
            "most": most[group],
        }
        if judged.verdict == "under":
            if most[group] < judged.range.low:
                beyond.append(Because("outline.dose_short", said))
            else:
                within.append(Because("outline.dose_under", said))
        elif least[group] > judged.range.high:
            beyond.append(Because("outline.dose_long", said))
        else:
            within.append(Because("outline.dose_over", said))
    return [*beyond, *within]


def _recovery(gaps: Sequence[Gap], experience: str) -> list[Because]:
    return [
        Because(
            "outline.near",
            {
                "earlier": gap.earlier,
                "later": gap.later,
                "group": gap.group,
                "hours": gap.hours,
                "needed": gap.needed_h,
                "experience": experience,
            },
        )
        for gap in gaps
        if not gap.enough
    ]


def _long(audited: Audit, experience: str) -> list[Because]:
    """One reason for all sessions that run long, told by the longest."""
    minutes = [round(entry.minutes) for entry in audited.minutes]
    long = [taken for taken in minutes if taken > LONG_SESSION_MINUTES]
    if not long:
        return []
    longest = audited.minutes[minutes.index(max(long))]
    return [
        Because(
            "outline.long_session",
            {
                "day": longest.day,
                "occurrence": longest.occurrence,
                "minutes": max(long),
                "most": LONG_SESSION_MINUTES,
                "long": len(long),
                "sessions": len(minutes),
                "experience": experience,
            },
        )
    ]
