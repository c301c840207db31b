"""The dose strip: every length is a number of sets on one scale."""

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.drawings.dose_strip import BAR_HEIGHT, DONE_HEIGHT, dose_strip, verdict_mark
from programs.drawings.svg import NAMESPACE

WIDTH, SCALE = 181, 24


def x(sets):
    return 0.5 + sets * (WIDTH - 1) / SCALE


def draw(*amounts, **kwargs):
    root = ElementTree.fromstring(dose_strip(*amounts, title="x", width=WIDTH, **kwargs))
    return [(node.tag.split("}")[1], node.attrib) for node in root.iter() if node.tag != f"{{{NAMESPACE}}}title"]


def boxes(nodes, **paint):
    return [
        (float(a["x"]), float(a["x"]) + float(a["width"]), float(a["height"]))
        for tag, a in nodes
        if tag == "rect" and paint.items() <= a.items()
    ]


def test_the_bar_ends_at_its_sets_and_turns_to_wash_where_the_direct_part_ends():
    nodes = draw(10, 14, 10, 16, SCALE)

    assert boxes(nodes, fill="var(--accent)") == [(0.5, x(10), BAR_HEIGHT)]
    assert boxes(nodes, fill="var(--wash)") == [(x(10), x(14), BAR_HEIGHT)]
    assert boxes(nodes, stroke="var(--accent)") == [(0.5, x(14), BAR_HEIGHT)]


def test_with_a_log_the_whole_plan_is_wash_and_what_is_done_a_bar_inside():
    nodes = draw(10, 14, 10, 16, SCALE, 6)

    assert boxes(nodes, fill="var(--accent)") == []
    assert boxes(nodes, fill="var(--wash)") == [(0.5, x(14), BAR_HEIGHT)]
    assert boxes(nodes, fill="var(--ink)") == [(0, x(6), DONE_HEIGHT)]


def test_nothing_done_yet_draws_no_bar_inside():
    assert boxes(draw(10, 14, 10, 16, SCALE, 0), fill="var(--ink)") == []


def test_the_posts_stand_at_the_target_range():
    posts = [a["d"] for tag, a in draw(10, 14, 10, 16, SCALE) if tag == "path" and a.get("stroke-width") == "1.2"]

    assert posts == ["M75.5 17.5V0.5M120.5 17.5V0.5M75.5 3.5H120.5"]


def test_what_is_missing_is_an_empty_dashed_box_up_to_the_low_post():
    [dashed] = [a["d"] for tag, a in draw(4, 8, 10, 16, SCALE) if a.get("stroke-dasharray") == "2 2"]

    assert re.findall(r"[\d.]+", dashed)[0::2] == ["60.5", "75.5", "75.5", "60.5"]
    assert not [a for _, a in draw(4, 10, 10, 16, SCALE) if a.get("stroke-dasharray")]


def test_what_is_too_much_is_hatched_from_the_high_post():
    nodes = draw(9, 20, 10, 16, SCALE)
    hatched = [a["d"] for tag, a in nodes if tag == "path" and a.get("stroke") == "var(--d2)"]

    assert boxes(nodes, stroke="var(--d2)") == [(x(16), x(20), BAR_HEIGHT)]
    assert sum(d.count("M") for d in hatched) >= 3
    assert not [a for _, a in draw(9, 16, 10, 16, SCALE) if a.get("stroke") == "var(--d2)"]


def test_a_watched_group_has_no_gauge_and_no_verdict():
    nodes = draw(5, 8, None, None, SCALE)

    assert not [a for tag, a in nodes if tag == "path" and a.get("stroke-width") == "1.2"]
    assert not [a for _, a in nodes if a.get("stroke-dasharray") or a.get("stroke") == "var(--d2)"]


def test_a_bar_beyond_the_scale_ends_at_the_edge_and_is_marked_as_broken():
    beyond = draw(10, 40, 10, 16, SCALE)
    within = draw(10, SCALE, 10, 16, SCALE)

    assert boxes(beyond, stroke="var(--accent)") == [(0.5, x(SCALE), BAR_HEIGHT)]
    assert len(beyond) == len(within) + 2


amount = st.floats(0, 60, allow_nan=False)


@given(amount, amount, amount, amount, st.none() | amount)
def test_nothing_is_drawn_outside_whatever_the_amounts(direct, counted, low, spread, done):
    nodes = draw(direct, counted, low, low + spread, SCALE, done)

    for left, right, _ in boxes(nodes):
        assert 0 <= left <= right + 1e-9 <= WIDTH + 1e-6


def test_a_scale_is_needed():
    with pytest.raises(ValueError, match="scale"):
        dose_strip(1, 1, 1, 1, 0, title="x")


def test_under_is_open_and_over_is_solid_and_in_range_has_no_mark():
    under, over = verdict_mark("under"), verdict_mark("over")

    assert 'stroke="var(--ink)"' in under
    assert 'fill="var(--ink)"' not in under
    assert 'fill="var(--ink)"' in over
    with pytest.raises(ValueError, match="in range"):
        verdict_mark("in range")
