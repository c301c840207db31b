"""The report in words and drawings, in the client's language: for its page and its PDF alike.

Nothing of it is an internal mark: no flags, no other client, no health.
"""

from datetime import date
from typing import Any

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from clients.progress_page import drawn, figure, signed
from clients.reads.report import LiftDone, Report
from clients.sheets import wording
from programs.drawings.svg import Ink
from programs.drawings.tally import adherence_columns, dot_line
from programs.drawings.trend_chart import BandPoint, TrendPoint, trend_chart

CHART, SMALL = (520, 220), (328, 200)
COLUMNS_WIDTH, COURSE_WIDTH = 416, 300
WEIGHTS_DRAWN = 26
LEAST_CHANGE = 0.5  # percent; below that nobody would call it one


def context(report: Report, ink: Ink = Ink.PAGE) -> dict[str, Any]:
    """What ``clients/_report.html`` needs; the client's language must be active."""
    client = report.client
    lifts = report.lifts
    leading = None if report.minor else next(iter(lifts), None)
    return {
        "client": client,
        "practice": client.practice.name,
        "coach": client.coach.name,
        "from_day": wording.day(report.first_day, "j F Y"),
        "to_day": wording.day(report.last_day, "j F Y"),
        "made_on": wording.day(report.today, "j F Y"),
        "lead": _lead(report),
        "columns": _columns(report, ink),
        "blocks": [
            {
                "number": block.number,
                "name": block.name,
                "days": f"{wording.day(block.starts_on, 'j M Y')}{wording.RANGE}{wording.day(block.ends_on, 'j M Y')}",
                "due": block.due,
                "trained": block.trained,
            }
            for block in report.blocks
        ],
        "lift_sentence": _sentence(leading, report.unit) if leading else "",
        "chart": _chart(leading, ink) if leading else "",
        # On paper there is one size.
        "small_chart": _chart(leading, ink, SMALL) if leading and ink is Ink.PAGE else "",
        "lifts": [_row(lift, report) for lift in lifts],
        "estimates": not report.minor,
        "unit": report.unit,
        "weight_sentence": _weight(report),
        "weights": _course(report, ink),
    }


def _lead(report: Report) -> str:
    trained, due = report.sessions
    sets = ngettext("%d working set", "%d working sets", report.sets) % report.sets
    if not due:
        return _("%s in all.") % sets if report.sets else _("Nothing has been trained yet.")
    words = {"trained": trained, "due": due, "sets": sets}
    return _("%(trained)d of %(due)d planned sessions were trained, %(sets)s in all.") % words


def _columns(report: Report, ink: Ink) -> SafeString | str:
    if not any(report.weeks):
        return ""
    weeks: list[list[Any]] = [list(week) for week in report.weeks]
    done = sum(word == "done" for week in weeks for word in week)
    title = ngettext(
        "Sessions by week: %(done)d trained in %(weeks)d week",
        "Sessions by week: %(done)d trained in %(weeks)d weeks",
        len(weeks),
    ) % {"done": done, "weeks": len(weeks)}
    return drawn(adherence_columns(weeks, title=title, width=min(COLUMNS_WIDTH, 17 * len(weeks)), ink=ink))


def _percent(lift: LiftDone) -> float:
    return 100 * (lift.last / lift.first - 1)


def _sentence(lift: LiftDone, unit: str) -> str:
    words = {
        "name": lift.exercise.name,
        "first": figure(lift.first),
        "last": figure(lift.last),
        "unit": unit,
        "percent": figure(abs(_percent(lift))),
        "sessions": ngettext("%d session", "%d sessions", len(lift.points)) % len(lift.points),
    }
    if _percent(lift) >= LEAST_CHANGE:
        return _("%(name)s: from %(first)s to %(last)s %(unit)s, %(percent)s %% more, over %(sessions)s.") % words
    if _percent(lift) <= -LEAST_CHANGE:
        return _("%(name)s: from %(first)s to %(last)s %(unit)s, %(percent)s %% less, over %(sessions)s.") % words
    return _("%(name)s: held at %(last)s %(unit)s over %(sessions)s.") % words


def _chart(lift: LiftDone, ink: Ink, size: tuple[int, int] = CHART) -> SafeString:
    left_out = {point.day for point in lift.trend.points if point.left_out}
    points = [
        TrendPoint(point.day.toordinal(), point.e1rm, "left_out" if point.day in left_out else "counted")
        for point in lift.points
    ]
    line = [BandPoint(point.day.toordinal(), point.value, point.low, point.high) for point in lift.trend.line]
    return drawn(
        trend_chart(
            points,
            [line] if len(line) > 1 and lift.trend.verdict != "cant_tell" else [],
            title=_("%(name)s: estimated one-rep max by session") % {"name": lift.exercise.name},
            format_number=lambda value: figure(value, 1),
            format_date=lambda day: wording.day(date.fromordinal(day), "j M"),
            width=size[0],
            height=size[1],
            ink=ink,
        )
    )


def _row(lift: LiftDone, report: Report) -> dict[str, str]:
    first, last = lift.points[0], lift.points[-1]
    return {
        "name": lift.exercise.name,
        "first_set": f"{_load(lift, first.load)} {wording.TIMES} {first.reps}",
        "last_set": f"{_load(lift, last.load)} {wording.TIMES} {last.reps}",
        "first": figure(lift.first),
        "last": figure(lift.last),
        "change": f"{signed(round(_percent(lift)))}{wording.NBSP}%",
        "since": wording.day(first.day, "j M Y"),
        "until": wording.day(last.day, "j M Y"),
    }


def _load(lift: LiftDone, entered: float) -> str:
    """As it is said to people: what is added to the body has a plus, and help is called so."""
    if lift.exercise.load_entry not in ("added", "assisted") or not lift.exercise.bodyweight_fraction:
        return figure(entered, 1)
    if not entered:
        return pgettext("load, in a narrow column", "body")
    if lift.exercise.load_entry == "assisted":
        return _("%s help") % figure(entered, 1)
    return f"+{figure(entered, 1)}"


def _weight(report: Report) -> str:
    if not report.weights:
        return ""
    (first_on, first), (last_on, last) = report.weights[0], report.weights[-1]
    words = {
        "first": figure(first, 1),
        "last": figure(last, 1),
        "unit": report.unit,
        "since": wording.day(first_on, "j F Y"),
        "until": wording.day(last_on, "j F Y"),
    }
    if first_on == last_on:
        return _("%(last)s %(unit)s on %(until)s.") % words
    return _("From %(first)s %(unit)s on %(since)s to %(last)s on %(until)s.") % words


def _course(report: Report, ink: Ink) -> SafeString | str:
    course = [value for _day, value in report.weights]
    if len(course) < 3:
        return ""
    step = max(1, len(course) // WEIGHTS_DRAWN)
    shown = [*course[:-1:step], course[-1]]
    return drawn(dot_line(shown, title=_("Bodyweight: %s") % _weight(report), width=COURSE_WIDTH, ink=ink))
