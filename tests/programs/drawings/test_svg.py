"""Numbers, elements, lettering and hatching."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.drawings.hatch import hatch, hatch_box
from programs.drawings.lettering import text_width, widest
from programs.drawings.svg import element, half, number, polyline, segment


@pytest.mark.parametrize(
    ("value", "places", "written"),
    [
        (1, 2, "1"),
        (1.5, 2, "1.5"),
        (1.005, 1, "1"),
        (-0.001, 2, "0"),
        (0.125, 2, "0.12"),
        (20, 0, "20"),
        (100, 2, "100"),
    ],
)
def test_numbers_are_as_short_as_can_be(value, places, written):
    assert number(value, places) == written


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_refused(value):
    with pytest.raises(ValueError, match="can't place"):
        number(value)


@given(st.floats(-1e6, 1e6))
def test_a_written_number_reads_back_to_the_same_place(value):
    assert float(number(value)) == pytest.approx(value, abs=0.0051)


@given(st.floats(-1000, 1000))
def test_half_pixels_are_near_and_end_in_a_half(value):
    assert half(value) % 1 == 0.5
    assert abs(half(value) - value) <= 0.5


def test_attributes_are_escaped_and_none_leaves_one_out():
    assert element("g", class_='a"<b', stroke_width=1.0, fill=None) == '<g class="a&quot;&lt;b" stroke-width="1"/>'


def test_straight_strokes_take_the_shortest_form():
    assert segment(1, 2, 1, 5) == "M1 2V5"
    assert segment(1, 2, 4, 2) == "M1 2H4"
    assert segment(1, 2, 4, 5) == "M1 2L4 5"
    assert polyline([(1, 2)]) == ""


def test_figures_are_all_of_one_width_and_semibold_is_wider():
    assert {text_width(figure, 100) for figure in "0123456789"} == {text_width("0", 100)}
    assert text_width("62.5", 13, semibold=True) > text_width("62.5", 13)
    assert widest([], 13) == 0


def test_accents_cost_nothing_and_full_width_letters_a_whole_em():
    assert text_width("Łódź é", 10) == pytest.approx(text_width("Łodz e", 10))
    assert text_width("週", 10) == 10


boxes = st.tuples(st.floats(-200, 200), st.floats(-200, 200), st.floats(6, 120), st.floats(6, 120))


@given(boxes, st.floats(1, 4), st.sampled_from([45, -45]))
def test_hatching_stays_inside_its_box_and_fills_it(box, pitch, angle):
    x, y, width, height = box
    strokes = hatch_box(*box, pitch, angle=angle, shortest=0.01)

    assert strokes
    for start, end in strokes:
        for px, py in (start, end):
            assert x - 1e-6 <= px <= x + width + 1e-6
            assert y - 1e-6 <= py <= y + height + 1e-6
        slope = (end[1] - start[1]) / (end[0] - start[0])
        assert slope == pytest.approx(-1 if angle == 45 else 1, abs=1e-6)
    inked = sum(math.dist(start, end) for start, end in strokes)
    # Each stroke stands for a strip one pitch wide, so together they cover the area but for its corners.
    assert inked * pitch == pytest.approx(width * height, abs=pitch * (width + height))


def test_hatching_leaves_a_hole_open():
    outer = [(0, 0), (40, 0), (40, 40), (0, 40)]
    hole = [(10, 10), (30, 10), (30, 30), (10, 30)]
    strokes = hatch([outer, hole], 3)

    middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in strokes]
    assert len(middles) > 20
    assert not [p for p in middles if 10.1 < p[0] < 29.9 and 10.1 < p[1] < 29.9]


def test_strokes_run_on_through_neighbours():
    left = hatch_box(0, 0, 20, 20, 4)
    right = hatch_box(20, 0, 20, 20, 4)
    ends = {round(max(stroke, key=lambda p: p[0])[1], 6) for stroke in left if max(p[0] for p in stroke) > 19.99}
    starts = {round(min(stroke, key=lambda p: p[0])[1], 6) for stroke in right if min(p[0] for p in stroke) < 20.01}

    assert ends & starts


def test_a_box_without_area_has_no_hatching():
    assert hatch_box(0, 0, 0, 10, 3) == []
