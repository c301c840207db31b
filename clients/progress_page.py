"""What the progress page says and draws of a review: sentences first, drawings under them, tables on demand."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.utils.functional import Promise
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.reads.review import GRAMS, WEEKS, GroupRow, Lift, Review
from clients.sheets import wording
from programs import labels
from programs.drawings.dose_strip import dose_strip, verdict_mark
from programs.drawings.marks import legend_mark
from programs.drawings.tally import adherence_columns, dot_line
from programs.drawings.trend_chart import BandPoint, Baseline, Span, TrendPoint, trend_chart
from programs.engine.strength import Weighed, moved_with, weighed_on
from programs.engine.trend import Point, Trend
from programs.models import Exercise
from programs.reasons import sentence_of

Word = str | Promise
CHART, SMALL = (828, 300), (328, 220)
COLUMNS_WIDTH, STRIP_WIDTH, COURSE_WIDTH = 360, 200, 150
BEYOND_CEILING = 4
HUNDREDTH = Decimal("0.01")
NO_WEIGHT = ("numbered_setting", "band", "none")

# Sign and word of a verdict. Going up and a leap share a sign: the word tells them apart.
VERDICTS: Mapping[str, tuple[str, Word]] = {
    "progressing": ("proposal", gettext_lazy("progressing")),
    "breakthrough": ("proposal", gettext_lazy("leap")),
    "flat": ("flat", gettext_lazy("flat")),
    "stall": ("flat", gettext_lazy("stalled")),
    "regress": ("caution", gettext_lazy("going down")),
    "cant_tell": ("doubt", gettext_lazy("can’t tell")),
}


def drawn(svg: str) -> SafeString:
    return mark_safe(svg)  # noqa: S308  our own drawings escape what they are given


def figure(value: float, places: int = 0) -> str:
    return wording.number(f"{round(value, places):g}")


def signed(value: float) -> str:
    rounded = round(value, 1)
    sign = "" if not rounded else "−" if rounded < 0 else "+"
    return sign + wording.number(f"{abs(rounded):g}")


# the leading lift


def leading(review: Review, asked: str) -> Lift | None:
    """The lift that is asked for; else the main one with the most estimates."""
    chosen = next((lift for lift in review.lifts if lift.exercise.key == asked), None)
    if chosen is not None:
        return chosen
    return max(
        review.lifts,
        key=lambda lift: (len(lift.trend.points) > 0, lift.exercise.role == "main", len(lift.trend.points)),
        default=None,
    )


def verdict_sentence(lift: Lift, unit: str) -> str:
    """The verdict with its interval, where from and where to, and the last record."""
    trend = lift.trend
    if trend.verdict == "cant_tell" or trend.weekly_percent is None:
        return " ".join([_("Can’t tell yet."), *(sentence_of(reason, None, unit) for reason in trend.reasons)])
    low, high = sorted((trend.weekly_low or 0.0, trend.weekly_high or 0.0))
    params = {
        "percent": figure(abs(trend.weekly_percent), 1),
        "low": wording.number(f"{round(low, 1):g}"),
        "high": wording.number(f"{round(high, 1):g}"),
    }
    opening = {
        "progressing": _("Going up by %(percent)s %% a week, between %(low)s and %(high)s."),
        "breakthrough": _("A leap: %(percent)s %% a week, between %(low)s and %(high)s."),
        "regress": _("Going down by %(percent)s %% a week, between %(low)s and %(high)s."),
        "stall": _("Stalled: the change a week lies between %(low)s and %(high)s %%."),
        "flat": _("Flat: the change a week lies between %(low)s and %(high)s %%."),
    }[trend.verdict]
    # The last sessions or a record may decide before the whole line follows.
    rising = round(trend.weekly_percent, 1) > 0
    if trend.verdict == "progressing" and not rising:
        opening = _("A record, though the line says between %(low)s and %(high)s %% a week.")
    elif trend.verdict == "breakthrough" and not rising:
        opening = _("A leap, though the line says between %(low)s and %(high)s %% a week.")
    elif trend.verdict == "regress" and round(trend.weekly_percent, 1) >= 0:
        opening = _("Going down lately, though the line says between %(low)s and %(high)s %% a week.")
    sentences = [opening % params]
    sentences += [sentence_of(reason, None, unit) for reason in trend.reasons if reason.code.startswith("recent_mean_")]
    if len(trend.line) > 1:
        ends = {"old": figure(trend.line[0].value), "new": figure(trend.line[-1].value), "unit": unit}
        if ends["old"] != ends["new"]:
            sentences.append(_("From %(old)s to %(new)s %(unit)s.") % ends)
    if trend.records:
        newest = trend.records[-1].day
        sentences.append(_("The last record came on %s.") % wording.day(newest, "j F"))
    return " ".join(sentences)


def chart(review: Review, lift: Lift, sentence: str, size: tuple[int, int] = CHART) -> SafeString | None:
    """The trend drawn; None where no session gives an estimate."""
    trend = lift.trend
    if not trend.points:
        return None
    records = {record.day for record in trend.records}
    points = [TrendPoint(point.day.toordinal(), point.e1rm, _kind(point, records)) for point in trend.points]
    first, last = trend.points[0].day, trend.points[-1].day
    away = [(a, b) for a, b in review.away if first <= a and b <= last]
    lines = [] if trend.verdict == "cant_tell" else _stretches(trend, away)
    deloads = [span for span in review.deload_spans if first <= span[0] and span[1] <= last]
    return drawn(
        trend_chart(
            points,
            lines,
            title=f"{lift.exercise.name}: {sentence}",
            format_number=lambda value: figure(value, 1),
            format_date=lambda day: wording.day(date.fromordinal(day), "j M"),
            deloads=[Span(a.toordinal(), max(b, a).toordinal() + 1, _("easier week")) for a, b in deloads],
            absences=[Span(a.toordinal(), b.toordinal(), _("away %d days") % (b - a).days) for a, b in away],
            baselines=[Baseline(day.toordinal(), _("other place")) for day in _moved(lift, first)],
            width=size[0],
            height=size[1],
        )
    )


def _kind(point: Point, records: set[date]) -> Any:
    if point.left_out:
        return "left_out"
    return "record" if point.day in records else "counted"


def _stretches(trend: Trend, away: Sequence[tuple[date, date]]) -> list[list[BandPoint]]:
    """The line, cut where nobody trained."""
    cuts = [after for _before, after in away]
    runs: list[list[BandPoint]] = [[]]
    for point in trend.line:
        if cuts and point.day >= cuts[0]:
            cuts = [cut for cut in cuts if cut > point.day]
            runs.append([])
        runs[-1].append(BandPoint(point.day.toordinal(), point.value, point.low, point.high))
    return [run for run in runs if len(run) > 1]


def _moved(lift: Lift, since: date) -> list[date]:
    """Days on which another place began: a new baseline."""
    days, place = [], None
    for exposure in lift.exposures:
        if place is not None and exposure.place != place and exposure.day > since:
            days.append(exposure.day)
        place = exposure.place
    return days


def chart_legend() -> list[dict[str, Any]]:
    words = {
        "session": _("session"),
        "left-out": _("left out of the line"),
        "trend": _("trend, 90 % sure"),
        "record": _("record, load or reps"),
        "away": _("away"),
    }
    return [{"mark": drawn(legend_mark(kind)), "word": word} for kind, word in words.items()]


def table(lift: Lift, unit: str) -> list[dict[str, str]]:
    """The chart's points in words, newest first."""
    left_out = {
        "deload": _("left out: easier week"),
        "after_layoff": _("left out: first after time away"),
        "other_place": _("left out: other place"),
        "far_repetitions": _("left out: other reps"),
    }
    records = {record.day for record in lift.trend.records}
    return [
        {
            "day": wording.day(point.day, "j M Y"),
            "set": f"{wording.number(f'{point.load:g}')}{wording.NBSP}{unit} {wording.TIMES} {point.reps}",
            "rir": wording.number(f"{point.rir:g}"),
            "e1rm": figure(point.e1rm, 1),
            "band": f"{figure(point.low)}{wording.RANGE}{figure(point.high)}",
            "note": left_out.get(point.left_out, _("record") if point.day in records else ""),
        }
        for point in reversed(lift.trend.points)
    ]


def on_body_words(review: Review, lift: Lift) -> str:
    """Three views of a lift that moves the body, first set and last: what was added, what moved, and how much of the
    bodyweight that is. "" for others, and without a bodyweight."""
    exercise, points = lift.exercise, lift.trend.points
    told = []
    for point in dict.fromkeys((points[0], points[-1])) if points else ():
        held = weighed_on(_weights_in(review), point.day) or _kept_with(lift, point.day)
        moved = moved_with(point.load, exercise.load_entry, held, float(exercise.bodyweight_fraction))
        if moved is None or held is None:
            return ""
        entered = {"exercise": _on_body(exercise)}, {"value": f"{point.load:g}", "unit": review.unit}
        words = {
            "day": wording.day(point.day, "j M"),
            "load": wording.load_words(*entered),
            "reps": point.reps,
            "moved": figure(moved.moved, 1),
            "unit": review.unit,
            "share": wording.number(Decimal(str(moved.against_bodyweight)).quantize(HUNDREDTH, ROUND_HALF_UP)),
            "days": held.days,
        }
        told.append(
            _("%(day)s: %(load)s × %(reps)s, %(moved)s %(unit)s moved, %(share)s × a bodyweight %(days)s days old")
            % words
            if moved.stale
            else _("%(day)s: %(load)s × %(reps)s, %(moved)s %(unit)s moved, %(share)s × bodyweight") % words
        )
    return f"{'; '.join(told)}." if told else ""


def _weights_in(review: Review) -> list[tuple[date, float]]:
    """What was weighed, in the unit of the review."""
    own, unit = review.client.unit, review.unit
    return [(day, weight * GRAMS[own] / GRAMS[unit]) for day, weight in review.weights.items()]


def _kept_with(lift: Lift, day: date) -> Weighed | None:
    """The bodyweight that was kept with the sets of a day."""
    kept = next((one.bodyweight for one in lift.exposures if one.day == day and one.bodyweight), None)
    return None if kept is None else Weighed(kept, 0)


def _on_body(exercise: Exercise) -> dict[str, Any]:
    return {
        "load_entry": exercise.load_entry,
        "bodyweight_fraction": float(exercise.bodyweight_fraction),
        "limbs": exercise.limbs,
        "pattern": exercise.pattern,
    }


# all lifts


def lift_rows(review: Review, shown: Lift | None) -> list[dict[str, Any]]:
    rows = []
    for lift in review.lifts:
        trend = lift.trend
        sign, word = VERDICTS[trend.verdict]
        half = None
        if trend.weekly_low is not None and trend.weekly_high is not None:
            half = (trend.weekly_high - trend.weekly_low) / 2
        told = trend.weekly_percent is not None and trend.verdict != "cant_tell"
        rows.append(
            {
                "name": lift.exercise.name,
                "key": lift.exercise.key,
                "current": lift is shown,
                "sign": sign,
                "verdict": word,
                "e1rm": figure(trend.level) if trend.level is not None else "–",
                "percent": f"{signed(trend.weekly_percent or 0)} ± {figure(half or 0, 1)}" if told else "–",
                "record": wording.day(trend.records[-1].day, "j M") if trend.records else "–",
                "reasons": [{"text": sentence_of(reason, None, review.unit)} for reason in trend.reasons],
            }
        )
    return rows


# dose


def dose_table(review: Review) -> dict[str, Any]:
    """Groups by week: heads and rows; the last column is this week, planned and so far."""
    scale = max((row.range.ceiling for row in review.groups), default=20) + BEYOND_CEILING
    return {
        "heads": [
            {
                "text": wording.day(week.start, "j M"),
                "note": _("easier") if week.deload else _("away") if week.away else "",
            }
            for week in review.weeks
        ],
        "rows": [_dose_row(row, scale) for row in review.groups],
        "cycle_days": review.block.cycle_days if review.block is not None and review.rolling else None,
        "under": drawn(verdict_mark("under")),
        "over": drawn(verdict_mark("over")),
    }


def _dose_row(row: GroupRow, scale: float) -> dict[str, Any]:
    name = str(labels.GROUPS[row.group])
    target = f"{figure(row.range.low, 1)}{wording.RANGE}{figure(row.range.high, 1)}"
    done, planned = quarters(row.done), quarters(row.planned.counted)
    words = _("%(group)s: %(done)s of %(planned)s planned sets so far this week, target %(target)s") % {
        "group": name,
        "done": done,
        "planned": planned,
        "target": target,
    }
    return {
        "name": name,
        "target": target,
        "weeks": [
            {
                "text": quarters(week.done),
                "mark": _mark(week.judgement.verdict) if week.judgement is not None else "",
                "aside": week.aside,
            }
            for week in row.weeks
        ],
        "planned": planned,
        "done": done,
        "mark": _mark(row.judgement.verdict) if row.judgement is not None else "",
        "strip": drawn(
            dose_strip(
                row.planned.direct,
                row.planned.counted,
                row.range.low,
                row.range.high,
                scale,
                row.done,
                title=words,
                width=STRIP_WIDTH,
            )
        ),
    }


def quarters(value: float) -> str:
    """Counted sets to a quarter."""
    return wording.number(f"{round(value * 4) / 4:g}")


def _mark(verdict: str) -> str:
    return verdict if verdict in ("under", "over") else ""


# beside it


def attendance(review: Review) -> dict[str, Any] | None:
    weeks = review.attendance
    if not weeks:
        return None
    states = [state for week in weeks for state in week]
    done = states.count("done")
    due = done + states.count("missed")
    recent_done = sum(one.state == "trained" for one in review.recent)
    words = _("%(done)d of %(due)d in %(weeks)d weeks, %(recent)d of %(recent_due)d in the last four.") % {
        "done": done,
        "due": due,
        "weeks": len(weeks),
        "recent": recent_done,
        "recent_due": len(review.recent),
    }
    sets_done, sets_planned = review.sets_recent
    columns: list[list[Any]] = [list(week) for week in weeks]
    return {
        "words": words,
        "sets": _("%(done)d of %(planned)d working sets in the last four weeks.")
        % {"done": sets_done, "planned": sets_planned}
        if sets_planned
        else "",
        "band": review.adherence.band or "",
        "drawing": drawn(adherence_columns(columns, title=words, width=min(COLUMNS_WIDTH, 24 * len(weeks)))),
        "first": wording.day(review.sessions[0].day, "j M") if review.sessions else "",
        "last": wording.day(review.today, "j M"),
    }


def bodyweight(review: Review) -> dict[str, Any] | None:
    """The seven-day median, its change, and the course."""
    weights = [review.weights[day] for day in sorted(review.weights)]
    if not weights:
        return None
    unit = review.client.unit
    found = review.bodyweight
    newest = max(review.weights)
    words = (
        _("%(median)s %(unit)s, the median of seven days") % {"median": figure(found.median, 1), "unit": unit}
        if found.median is not None
        else _("last weighed on %(day)s: %(weight)s %(unit)s")
        % {"day": wording.day(newest, "j M"), "weight": figure(weights[-1], 1), "unit": unit}
    )
    change = ""
    if found.weekly_change is not None:
        change = _("%(change)s %(unit)s a week over four weeks") % {"change": signed(found.weekly_change), "unit": unit}
    course = weights[-WEEKS:]
    return {
        "words": words,
        "change": change,
        "drawing": drawn(dot_line(course, title=_("Bodyweight: %s") % words, width=COURSE_WIDTH))
        if len(course) > 2
        else "",
    }
