"""Strokes, blocks and bars: as many as there are, and told apart without colour."""

import itertools
import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.drawings.svg import NAMESPACE, Ink
from programs.drawings.tally import (
    LEAST_PITCH,
    adherence_columns,
    dot_line,
    items_per_stroke,
    pain_bars,
    share_bar,
    tally_rule,
)


def shown(value):
    return f"{value:g}"


def strokes(root, colour, width=None):
    return [
        x
        for n in root.iter(f"{{{NAMESPACE}}}path")
        if n.get("stroke") == f"var(--{colour})" and n.get("stroke-width") == width
        for x in map(float, re.findall(r"M([\d.]+)", n.get("d")))
    ]


def tally(done, total, **kwargs):
    root = ElementTree.fromstring(tally_rule(done, total, title="x", **kwargs))
    return strokes(root, "ink", "2"), strokes(root, "edge")


@pytest.mark.parametrize(("done", "total"), [(0, 5), (3, 5), (5, 5), (29, 31), (1, 1), (0, 0)])
def test_one_stroke_per_item(done, total):
    full, low = tally(done, total)

    assert (len(full), len(low)) == (done, total - done)


@given(st.integers(0, 500), st.integers(0, 500), st.integers(60, 400))
def test_strokes_are_evenly_spaced_and_never_too_close(one, other, width):
    done, total = sorted((one, other))
    full, low = tally(done, total, width=width)
    places = full + [x - 0.5 for x in low]
    gaps = {b - a for a, b in itertools.pairwise(places)}

    assert len(gaps) <= 1
    assert all(gap >= LEAST_PITCH for gap in gaps)
    assert all(0 < x < width for x in places)


def test_many_items_share_a_stroke_which_is_done_when_all_of_them_are():
    assert items_per_stroke(100, 152) == 3
    full, low = tally(99, 100, width=152)
    assert (len(full), len(low)) == (33, 1)
    full, low = tally(100, 100, width=152)
    assert (len(full), len(low)) == (34, 0)


@pytest.mark.parametrize(("done", "total"), [(-1, 3), (4, 3), (0, -1)])
def test_counts_that_make_no_sense_are_refused(done, total):
    with pytest.raises(ValueError):
        tally_rule(done, total, title="x")


def test_every_kind_of_session_looks_different_without_colour():
    kinds = ("done", "part", "missed", "excused", "ahead")

    assert len({adherence_columns([[kind]], title="x", ink=Ink.PRINT) for kind in kinds}) == len(kinds)


def test_a_block_per_session_stacked_from_the_foot():
    root = ElementTree.fromstring(adherence_columns([["done", "done"], ["done"]], title="x"))
    blocks = [(float(n.get("x")), float(n.get("y"))) for n in root.iter(f"{{{NAMESPACE}}}rect")]

    assert len(blocks) == 3
    assert blocks[0][0] == blocks[1][0] < blocks[2][0]
    assert blocks[0][1] == blocks[2][1] > blocks[1][1]


def test_an_empty_week_keeps_its_place():
    with_gap = ElementTree.fromstring(adherence_columns([["done"], [], ["done"]], title="x"))
    xs = [float(n.get("x")) for n in with_gap.iter(f"{{{NAMESPACE}}}rect")]

    assert xs[1] - xs[0] == 34


def test_adherence_needs_weeks_and_known_states():
    with pytest.raises(ValueError, match="weeks"):
        adherence_columns([], title="x")
    with pytest.raises(ValueError, match="no block"):
        adherence_columns([["asleep"]], title="x")


def pain(values, **kwargs):
    return ElementTree.fromstring(pain_bars(values, title="x", format_number=shown, **kwargs))


def test_pain_bars_are_in_proportion_and_numbered():
    root = pain([0, 2, 5, 10], height=44)
    heights = [float(n.get("height")) for n in root.iter(f"{{{NAMESPACE}}}rect")]

    assert heights == pytest.approx([2 * heights[2] / 10, 5 * heights[2] / 10, heights[2]], abs=0.02)
    assert [n.text for n in root.iter(f"{{{NAMESPACE}}}text")] == ["0", "2", "5", "10"]


def test_no_report_is_a_gap_and_not_a_zero():
    assert [n.text for n in pain([3, None, 0]).iter(f"{{{NAMESPACE}}}text")] == ["3", "0"]


def test_the_limit_is_dashed_and_leaves_the_numbers_clear():
    root = pain([0, 2, 0], threshold=3)
    [limit] = [n.get("d") for n in root.iter(f"{{{NAMESPACE}}}path") if n.get("stroke-dasharray")]

    assert limit.count("M") > 1
    assert not [n for n in pain([0, 2, 0]).iter() if n.get("stroke-dasharray")]


@pytest.mark.parametrize("values", [[], [11], [-1]])
def test_pain_off_its_scale_is_refused(values):
    with pytest.raises(ValueError):
        pain(values)


def test_a_course_has_a_dot_per_value_and_the_open_ones_last():
    root = ElementTree.fromstring(dot_line([86, 90, 88, 88], title="x", open_from=3))
    fills = [n.get("fill") for n in root.iter(f"{{{NAMESPACE}}}circle")]

    assert fills == ["var(--ink)"] * 3 + ["var(--sheet)"]
    assert len(list(ElementTree.fromstring(dot_line([5], title="x")).iter(f"{{{NAMESPACE}}}circle"))) == 1
    with pytest.raises(ValueError, match="values"):
        dot_line([], title="x")


def test_a_whole_share_is_solid_and_a_part_is_hatched_and_as_long_as_it_is():
    def bar(share):
        root = ElementTree.fromstring(share_bar(share, title="x", width=81))
        [box] = root.iter(f"{{{NAMESPACE}}}rect")
        return float(box.get("width")), box.get("fill"), len(list(root.iter(f"{{{NAMESPACE}}}path")))

    assert bar(1) == (80, "var(--accent)", 0)
    assert bar(0.5) == (40, None, 1)
    assert bar(0.25) == (20, None, 1)


@pytest.mark.parametrize("share", [0, -0.5, 1.5])
def test_shares_outside_zero_to_one_are_refused(share):
    with pytest.raises(ValueError):
        share_bar(share, title="x")
