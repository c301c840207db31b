"""The trend: scales that place dates and values, and marks that say what each dot is."""

import datetime
import itertools
import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.drawings.lettering import text_width
from programs.drawings.scales import LEAST_CUT, MOST_CUT, TimeScale, between, nice_ticks
from programs.drawings.svg import NAMESPACE
from programs.drawings.trend_chart import BandPoint, Baseline, Span, TrendPoint, trend_chart

START = datetime.date(2025, 6, 23).toordinal()


def date_words(day):
    date = datetime.date.fromordinal(day)
    return f"{date.day} {date:%b}"


def draw(points, lines=(), **kwargs):
    chart = trend_chart(points, lines, title="x", format_number=lambda v: f"{v:g}", format_date=date_words, **kwargs)
    return ElementTree.fromstring(chart)


def weekly(count, first=80.0, step=0.5, kind="counted"):
    return [TrendPoint(START + 7 * week, first + step * week, kind) for week in range(count)]


def line_of(*values, start=START):
    return [BandPoint(start + 7 * i, y, y - 2, y + 2) for i, y in enumerate(values)]


def dots(root, fill):
    return [
        (float(n.get("cx")), float(n.get("cy")))
        for group in root.findall(f"{{{NAMESPACE}}}g[@fill='{fill}']")
        for n in group
    ]


def words(root):
    return [n.text for n in root.iter(f"{{{NAMESPACE}}}text")]


def trend_lines(root):
    return [
        n.get("d")
        for n in root.iter(f"{{{NAMESPACE}}}path")
        if n.get("stroke") == "var(--accent)" and n.get("stroke-width") == "2"
    ]


def band_fills(root):
    return [n for n in root.iter(f"{{{NAMESPACE}}}path") if n.get("fill") == "var(--wash)"]


@given(st.floats(-500, 500), st.floats(0, 400), st.integers(2, 8))
def test_ticks_are_even_and_enclose_the_range(low, spread, intervals):
    high = low + spread
    ticks = nice_ticks(low, high, intervals)
    steps = [b - a for a, b in itertools.pairwise(ticks)]

    assert ticks[0] <= low + 1e-6
    assert ticks[-1] >= high - 1e-6
    assert len(ticks) >= 2
    assert max(steps) == pytest.approx(min(steps), rel=1e-3)
    if spread > 1e-3:
        assert len(ticks) <= intervals + 3


def test_ticks_are_round():
    assert nice_ticks(83, 99, 5) == [80, 85, 90, 95, 100]
    assert nice_ticks(60, 60, 3)[0] < 60 < nice_ticks(60, 60, 3)[-1]
    with pytest.raises(ValueError):
        nice_ticks(2, 1, 3)


spans = st.lists(st.tuples(st.floats(-20, 420), st.floats(0, 200)).map(lambda s: (s[0], s[0] + s[1])), max_size=4)


@given(spans, st.lists(st.floats(-50, 450), min_size=2, max_size=12))
def test_time_runs_to_the_right_and_stays_in_the_plot(absences, days):
    scale = TimeScale(0, 400, 30, 830, absences)
    places = [scale.x(day) for day in sorted(days)]

    assert places == sorted(places)
    assert all(30 - 1e-6 <= x <= 830 + 1e-6 for x in places)
    assert scale.x(0) == pytest.approx(30)
    assert scale.x(400) == pytest.approx(830)


def test_an_absence_takes_little_room_however_long_it_was():
    for away in (2, 13, 300):
        [cut] = TimeScale(0, 400, 0, 800, [(50, 50 + away)]).cuts
        assert LEAST_CUT <= cut.right - cut.left <= MOST_CUT


def test_days_outside_absences_are_all_equally_wide():
    scale = TimeScale(0, 400, 0, 800, [(100, 300)])

    assert scale.x(100) - scale.x(50) == pytest.approx(scale.x(350) - scale.x(300))
    assert scale.in_cut(200)
    assert not scale.in_cut(100)


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(-100, 200)), min_size=2, max_size=10))
def test_a_run_is_cut_at_the_edges_of_the_plot(points):
    for part in between(sorted(points), 0, 100):
        assert len(part) >= 2
        assert all(-1e-6 <= y <= 100 + 1e-6 for _, y in part)


def test_a_run_inside_the_plot_is_left_as_it_is():
    run = [(0.0, 10.0), (5.0, 20.0), (9.0, 15.0)]

    assert between(run, 0, 100) == [run]
    assert between([(0.0, 10.0), (5.0, 10.0)], 20, 100) == []


def test_a_dot_a_session_left_to_right_and_higher_when_heavier():
    places = dots(draw(weekly(6)), "var(--ink)")

    assert len(places) == 6
    assert [x for x, _ in places] == sorted(x for x, _ in places)
    assert [y for _, y in places] == sorted((y for _, y in places), reverse=True)


def test_what_is_left_out_is_open():
    root = draw([*weekly(3), TrendPoint(START + 30, 78, "left_out")])

    assert len(dots(root, "var(--ink)")) == 3
    assert len(dots(root, "var(--paper)")) == 1


def test_a_record_is_a_counted_dot_with_a_pennant():
    plain, flown = draw(weekly(3)), draw([*weekly(2), TrendPoint(START + 14, 81, "record")])

    def pennants(root):
        return [n for n in root.iter(f"{{{NAMESPACE}}}path") if n.get("fill") == "var(--ink)"]

    assert len(dots(flown, "var(--ink)")) == 3
    assert (len(pennants(plain)), len(pennants(flown))) == (0, 1)


def test_a_pennant_has_room_under_the_top():
    for last in (84.9, 85, 89.9):
        root = draw([TrendPoint(START, 80), TrendPoint(START + 40, last, "record")])
        [cloth] = [n.get("d") for n in root.iter(f"{{{NAMESPACE}}}path") if n.get("fill") == "var(--ink)"]
        top = float(re.match(r"M[\d.]+ ([\d.]+)L", cloth).group(1))
        assert top >= 5


def test_each_stretch_has_its_own_line_and_band():
    root = draw(weekly(12), [line_of(80, 81, 82), line_of(83, 84, 85, start=START + 50)])

    assert len(trend_lines(root)) == 2
    assert len(band_fills(root)) == 2


def test_without_a_line_there_are_dots_alone():
    root = draw(weekly(3))

    assert len(dots(root, "var(--ink)")) == 3
    assert trend_lines(root) == band_fills(root) == []


def test_a_band_that_knows_nothing_does_not_flatten_the_chart():
    wide = [BandPoint(START + 7 * i, 81 + i, -500, 900) for i in range(3)]
    heights = [y for _, y in dots(draw(weekly(3, step=1), [wide]), "var(--ink)")]

    assert max(heights) - min(heights) > 40


def test_an_absence_cuts_the_axis_between_two_chevrons_and_is_named():
    root = draw(weekly(12), absences=[Span(START + 30, START + 43, "away 13 days")])
    chevrons = [n.get("d") for n in root.iter(f"{{{NAMESPACE}}}path") if n.get("stroke-width") == "1.5"]

    assert "away 13 days" in words(root)
    assert chevrons[0].count("M") == 2


def test_a_lighter_week_is_hatched_and_named():
    root = draw(weekly(12), deloads=[Span(START + 28, START + 35, "lighter week")])
    hatched = [n.get("d") for n in root.iter(f"{{{NAMESPACE}}}path") if n.get("stroke") == "var(--edge)"]

    assert "lighter week" in words(root)
    assert hatched[0].count("M") > 10


def test_a_new_baseline_is_a_double_line_and_named():
    root = draw(weekly(12), baselines=[Baseline(START + 40, "other machine")])

    assert "other machine" in words(root)
    doubled = [
        n.get("d")
        for n in root.iter(f"{{{NAMESPACE}}}path")
        if n.get("d", "").count("V") == 2 and n.get("stroke") == "var(--ink)" and not n.get("stroke-dasharray")
    ]
    assert len(doubled) == 1


def test_names_that_must_be_read_get_a_row_each_and_lighter_weeks_give_way():
    baselines = [Baseline(START + 40 + i, f"a machine of some other make, number {i}") for i in range(3)]
    deloads = [Span(START + 38 + i, START + 40 + i, "lighter") for i in range(6)]
    root = draw(weekly(12), baselines=baselines, deloads=deloads, width=300, height=200)

    assert [w for w in words(root) if w.startswith("a machine")] == [b.label for b in baselines]
    assert words(root).count("lighter") < 6


@pytest.mark.parametrize(("width", "height"), [(828, 300), (300, 120), (328, 200)])
@pytest.mark.parametrize("weeks", [1, 2, 16, 156])
def test_dates_stay_clear_of_each_other(width, height, weeks):
    root = draw(weekly(weeks, step=0.1), width=width, height=height)
    ends = []
    for node in root.iter(f"{{{NAMESPACE}}}text"):
        if not node.text[-1].isalpha():
            continue
        x, reach = float(node.get("x")), text_width(node.text, float(node.get("font-size")))
        left = {"middle": x - reach / 2, "end": x - reach, None: x}[node.get("text-anchor")]
        ends.append((left, left + reach))

    assert ends
    for (_, end), (start, _) in itertools.pairwise(ends):
        assert start >= end + 4
    assert ends[-1][1] <= width + 0.5


def test_given_ticks_are_kept():
    root = draw(weekly(6), value_ticks=[70, 80, 90], date_ticks=[START + 14], height=200)

    assert words(root)[:4] == ["70", "80", "90", date_words(START + 14)]


def test_one_session_alone_can_be_drawn_and_none_can_not():
    assert len(dots(draw(weekly(1)), "var(--ink)")) == 1
    with pytest.raises(ValueError, match="points"):
        draw([])
