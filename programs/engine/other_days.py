"""Other days for the sessions that are still to come: as many days, or fewer of them, and what that does to the dose.

Fewer days leave two ways. The same sessions go on in turn on the days that are left, so that a round of them takes
longer than a week: four sessions on three days take nine or ten. Or the week is built anew for the days there are,
its sets spread over them and never crammed into one session (coaching practice; the most sets of a group at once:
Remmert et al. 2025).
"""

from collections.abc import Collection, Hashable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from programs.engine.calendar import WEEK_DAYS
from programs.engine.compose.request import Audit
from programs.engine.dose import Dose, Work, judge, session_limits, weekly
from programs.engine.vocabulary import AUDITED_GROUPS


def in_turn(start: date, sessions: int, weekdays: Collection[int]) -> tuple[date, ...]:
    """The next so many days from ``start`` on that fall on one of the weekdays (0 is Monday).

    Raises ValueError where there is no weekday.
    """
    wanted = {day % WEEK_DAYS for day in weekdays}
    if not wanted:
        raise ValueError("sessions need a weekday to fall on")
    found: list[date] = []
    day = start
    while len(found) < sessions:
        if day.weekday() in wanted:
            found.append(day)
        day += timedelta(days=1)
    return tuple(found)


def round_days(sessions: int, days_a_week: int) -> float:
    """How many days a round of so many sessions takes on average: four on three days a week take 9⅓."""
    if days_a_week < 1:
        raise ValueError("sessions need a weekday to fall on")
    return max(float(WEEK_DAYS), sessions * WEEK_DAYS / days_a_week)


def spread(sets: int, days: int) -> tuple[int, ...]:
    """A group's weekly sets over so many sessions, as evenly as whole sets allow, the larger ones first."""
    if days < 1:
        raise ValueError("sets need a session to fall in")
    each, left = divmod(sets, days)
    return tuple(each + (index < left) for index in range(days))


@dataclass(frozen=True, slots=True)
class GroupShift:
    """One group's counted sets before and after: for seven days, and in its largest session.

    ``most`` is where one session is warned of; ``low`` and ``high`` are the range for seven days that applies.
    """

    group: str
    week_before: float
    week_after: float
    largest_before: float
    largest_after: float
    most: float
    low: float | None
    high: float | None
    verdict: str

    @property
    def crammed(self) -> bool:
        return self.largest_after > self.most

    @property
    def changed(self) -> bool:
        return (self.week_before, self.largest_before) != (self.week_after, self.largest_after)


def shifts(before: Audit, after: Audit, experience: str) -> tuple[GroupShift, ...]:
    """Every audited group's dose in two weeks side by side, in the order of the groups."""
    found = []
    for group in AUDITED_GROUPS:
        now = after.dose[group]
        applies = now.judged.range
        found.append(
            GroupShift(
                group,
                _exact(before.dose[group].dose.counted),
                _exact(now.dose.counted),
                _largest(before.session_dose.values(), group),
                _largest(after.session_dose.values(), group),
                session_limits(group, experience)[0],
                applies.low if applies else None,
                applies.high if applies else None,
                now.judged.verdict,
            )
        )
    return tuple(found)


def shifts_of_work(
    before: Collection[Work],
    after: Collection[Work],
    experience: str,
    priorities: Mapping[str, str],
    age: int | None = None,
    cycle_days: float = WEEK_DAYS,
) -> tuple[GroupShift, ...]:
    """The same of sets as they stand, session by session; both are one round of so many days."""
    weeks = [weekly(before), weekly(after)]
    largest = [[weekly(rows) for rows in _by_session(work)] for work in (before, after)]
    found = []
    for group in AUDITED_GROUPS:
        was, now = (week.get(group, Dose()).counted * WEEK_DAYS / cycle_days for week in weeks)
        judged = judge(now, group, experience, priorities.get(group, "usual"), age)
        found.append(
            GroupShift(
                group,
                _exact(was),
                _exact(now),
                _largest(largest[0], group),
                _largest(largest[1], group),
                session_limits(group, experience)[0],
                judged.range.low if judged.range else None,
                judged.range.high if judged.range else None,
                judged.verdict,
            )
        )
    return tuple(found)


def _by_session(work: Collection[Work]) -> Iterable[list[Work]]:
    found: dict[Hashable, list[Work]] = {}
    for one in work:
        found.setdefault(one.session, []).append(one)
    return found.values()


def _largest(sessions: Iterable[Mapping[str, Dose]], group: str) -> float:
    return max((_exact(one[group].counted) for one in sessions if group in one), default=0.0)


def _exact(sets: float) -> float:
    """Without what a round of 9⅓ days leaves in the last places of a session's quarters."""
    return round(sets, 6)
