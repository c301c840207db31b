"""Whether an easier week is due for a client, and why: the signs of the last fortnight, gathered from the log."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Any

from clients.models import Client, Proposal, SessionNote
from clients.reads.reckoning import Bearing
from programs.engine.progress import RatedSession, deload_due, signs_of_fatigue
from programs.engine.progress.fatigue import WITHIN
from programs.engine.progress.terms import WORK_KINDS
from programs.engine.terms import Because, Exposure
from programs.engine.trend import trend
from programs.models import Exercise

WEEK = timedelta(days=7)
RATED_WITHIN = 5 * WEEK
SEEN = 16 * WEEK  # of a lift's past, for its trend
DUE = "plain.deload_due"
SIGNS = frozenset(
    {
        "fatigue_lifts_falling",
        "fatigue_sessions_harder",
        "fatigue_first_sets_harder",
        "fatigue_sore",
        "fatigue_rest_poor",
    }
)
POOR = 1  # of what a client taps for sleep and energy


def deload_reasons(bearing: Bearing) -> tuple[Because, ...]:
    """Why an easier week is due today, or nothing. Two queries, however long the history.

    The calendar is left to the block, which has its easier weeks planned or none: here the signs alone speak.
    """
    client, on = bearing.client, bearing.today
    histories = {
        exercise: [one for one in rows if on - SEEN < one.day <= on and not one.one_day]
        for exercise, rows in bearing.history.by_exercise.items()
    }
    days = sorted({one.day for rows in histories.values() for one in rows})
    if not days:
        return ()
    notes = list(
        SessionNote.objects.filter(
            session__block__client=client, session__trained_on__gt=on - RATED_WITHIN, session__trained_on__lte=on
        )
        .exclude(sleep=None, energy=None, effort=None)
        .values_list("session__trained_on", "sleep", "energy", "effort")
    )
    sets = _sets_by_day(histories.values())
    rated = [(day, effort) for day, _sleep, _energy, effort in notes if day is not None and effort is not None]
    signs = signs_of_fatigue(
        on,
        falling=_falling(bearing, histories),
        sessions=[RatedSession(day, effort, sets.get(day, 0)) for day, effort in rated],
        histories={str(exercise): rows for exercise, rows in histories.items()},
        poor_days=[day for day, *said in notes if day is not None and POOR in said[:2]],
    )
    return deload_due(
        signs,
        on,
        experience=client.experience,
        missed_week_end=_missed_week(days, on, client.practice.week_start),
    )


def told(client: Client) -> list[dict[str, Any]]:
    """The same as what waits was last reckoned with: the reasons as they are stored. One query."""
    rows = Proposal.objects.waiting().filter(client=client).order_by("-pk").values_list("new__not_plain", flat=True)
    for against in rows:
        codes = [reason["code"] for reason in against or ()]
        if DUE in codes:
            return [reason for reason in against if reason["code"] in SIGNS]
    return []


def _falling(bearing: Bearing, histories: dict[int, list[Exposure]]) -> dict[str, date]:
    """Lifts of the last fortnight whose trend points down, with their last day."""
    recent = {pk: rows for pk, rows in histories.items() if rows and rows[-1].day > bearing.today - WITHIN}
    facts = Exercise.objects.filter(pk__in=list(histories)).values_list("pk", "load_entry", "bodyweight_fraction")
    found = {}
    for pk, load_entry, fraction in facts:
        if pk not in recent:
            continue
        steer = bearing.progressions.get(pk)
        since = steer.baseline_on if steer is not None else None
        seen = trend(
            [one for one in recent[pk] if since is None or one.day >= since],
            today=bearing.today,
            experience=bearing.client.experience,
            load_entry=load_entry,
            bodyweight_fraction=float(fraction),
        )
        if seen.verdict == "regress":
            found[str(pk)] = recent[pk][-1].day
    return found


def _sets_by_day(histories: Iterable[Sequence[Exposure]]) -> dict[date, int]:
    found: dict[date, int] = {}
    for rows in histories:
        for one in rows:
            found[one.day] = found.get(one.day, 0) + sum(done.kind in WORK_KINDS for done in one.done)
    return found


def _missed_week(days: Sequence[date], on: date, start: int) -> date | None:
    """The last day of the last whole week, if nothing was trained in it."""
    first = _week(on, start) - WEEK
    trained = any(first <= day < first + WEEK for day in days)
    return None if trained or days[0] >= first else first + WEEK - timedelta(days=1)


def _week(day: date, start: int) -> date:
    return day - timedelta(days=(day.weekday() - start) % 7)
