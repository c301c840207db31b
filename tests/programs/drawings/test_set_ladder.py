"""The set ladder: rungs as high as their loads, beads as many as reps in reserve."""

import itertools
import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.drawings.lettering import text_width
from programs.drawings.set_ladder import (
    MAX_COLUMN,
    MIN_COLUMN,
    WARM_HEIGHT,
    WORK_HEIGHT,
    Rung,
    set_ladder,
    stem_length,
)
from programs.drawings.svg import NAMESPACE, Ink


def work(load, reps=8, **kwargs):
    return Rung("work", load, "?" if load is None else f"{load:g}", f"×{reps}", **kwargs)


def warm(load, reps=5, **kwargs):
    return Rung("warm", load, f"{load:g}", f"×{reps}", **kwargs)


def draw(rungs, **kwargs):
    return ElementTree.fromstring(set_ladder(rungs, title="x", **kwargs))


def boxes(root, height):
    return [n.attrib for n in root.iter(f"{{{NAMESPACE}}}rect") if float(n.get("height")) == height]


def underside(box):
    return float(box["y"]) + float(box["height"])


def base_of(root):
    base = next(n for n in root.iter(f"{{{NAMESPACE}}}path") if n.get("stroke") == "var(--rule)")
    return float(re.search(r"M0 ([\d.]+)", base.get("d")).group(1))


def test_rungs_stand_as_high_as_they_are_heavy():
    root = draw([warm(20), warm(40), work(80), work(80)], plot=88)
    base = base_of(root)
    heights = [base - underside(box) for box in boxes(root, WARM_HEIGHT) + boxes(root, WORK_HEIGHT)]

    assert heights == pytest.approx([20, 40, 80, 80], abs=0.51)


@given(st.lists(st.floats(1, 300), min_size=1, max_size=8), st.floats(40, 120))
def test_a_stem_is_in_proportion_to_its_load(loads, plot):
    heaviest = max(loads)
    for load in loads:
        assert stem_length(work(load), heaviest, plot) == pytest.approx((plot - WORK_HEIGHT) * load / heaviest)


def test_one_bead_per_rep_in_reserve_and_none_for_none_or_unknown():
    def beads(rir):
        return len(list(draw([work(60, rir=rir)]).iter(f"{{{NAMESPACE}}}circle")))

    assert [beads(rir) for rir in (None, 0, 1, 4)] == [0, 0, 1, 4]


def test_each_state_looks_different_without_colour():
    drawn = {
        state: set_ladder([work(60, state=state)], title="x", ink=Ink.PRINT)
        for state in ("todo", "now", "done", "missed")
    }

    assert len(set(drawn.values())) == 4
    assert boxes(ElementTree.fromstring(drawn["todo"]), WORK_HEIGHT)[0]["fill"] == "#FFF"
    assert boxes(ElementTree.fromstring(drawn["done"]), WORK_HEIGHT)[0]["fill"] == "#000"
    assert len(boxes(ElementTree.fromstring(drawn["now"]), 3)) == 1


def test_the_set_in_hand_is_accented_with_its_beads():
    root = draw([work(60, rir=2, state="now"), work(60, rir=2)])
    colours = [n.get("stroke") for n in root.iter(f"{{{NAMESPACE}}}circle")]

    assert boxes(root, WORK_HEIGHT)[0]["fill"] == "var(--accent)"
    assert colours == ["var(--accent)"] * 2 + ["var(--ink)"] * 2


def test_working_sets_are_semibold_and_warm_ups_are_not():
    texts = {n.text: n.get("font-weight") for n in draw([warm(40), work(80)]).iter(f"{{{NAMESPACE}}}text")}

    assert texts == {"40": None, "×5": None, "80": "600", "×8": None}


def test_each_exercise_of_a_superset_has_its_own_scale_and_rounds_are_joined():
    rungs = [
        work(60, round=1, mark="A"),
        work(12, exercise=1, round=1, mark="B"),
        work(60, round=2, mark="A"),
        work(12, exercise=1, round=2, mark="B"),
    ]
    root = draw(rungs)
    brackets = [n.get("d") for n in root.iter(f"{{{NAMESPACE}}}path") if n.get("stroke-linecap") == "square"]

    assert len({underside(box) for box in boxes(root, WORK_HEIGHT)}) == 1
    assert len(brackets) == 2


def test_a_round_of_one_has_no_bracket():
    root = draw([work(60, round=1), work(60, round=2)])

    assert not [n for n in root.iter() if n.get("stroke-linecap") == "square"]


def test_a_drop_steps_down_without_a_gap():
    first, second = boxes(draw([work(60), work(40, drop=True)]), WORK_HEIGHT)
    apart_first, apart_second = boxes(draw([work(60), work(40)]), WORK_HEIGHT)

    assert float(second["x"]) == float(first["x"]) + float(first["width"])
    assert float(apart_second["x"]) > float(apart_first["x"]) + float(apart_first["width"])


def test_a_load_still_to_be_found_is_dashed():
    [box] = boxes(draw([work(None)]), WORK_HEIGHT)

    assert box["stroke-dasharray"] == "2 2"


def test_bodyweight_sets_without_a_load_stand_at_the_top():
    root = draw([work(0), work(0)], plot=64)

    assert [base_of(root) - underside(box) for box in boxes(root, WORK_HEIGHT)] == pytest.approx([56, 56], abs=0.51)


@pytest.mark.parametrize("ink", Ink)
@pytest.mark.parametrize(("count", "width"), [(1, 328), (6, 328), (10, 328), (13, 328), (7, 190), (3, 60)])
def test_columns_keep_within_their_limits_and_numbers_within_their_column(count, width, ink):
    root = draw([work(102.5) for _ in range(count)], width=width, ink=ink)
    labels = [n for n in root.iter(f"{{{NAMESPACE}}}text") if n.text == "102.5"]
    columns = sorted({float(n.get("x")) for n in labels})
    size = float(labels[0].get("font-size"))

    assert len(labels) == count
    for left, right in itertools.pairwise(columns):
        assert MIN_COLUMN - 1 <= right - left <= MAX_COLUMN + 1
        assert right - left > text_width("102.5", size, semibold=True)


def test_the_box_keeps_its_width_unless_told_otherwise():
    def box_width(**kwargs):
        return float(draw([work(60)] * 3, width=328, **kwargs).get("viewBox").split()[2])

    assert box_width() == 328
    assert box_width(full_width=False) == 3 * MAX_COLUMN


def test_what_belongs_together_is_not_parted_by_a_new_row():
    rungs = [
        work(60, reps=1),
        work(60, reps=2),
        work(60, reps=3),
        work(40, reps=4, drop=True),
        work(60, reps=5),
    ]
    root = draw(rungs, width=100)
    first_row = [n.text for n in root.findall(f"{{{NAMESPACE}}}text") if n.text.startswith("×")]

    assert first_row == ["×1", "×2"]


def test_a_ladder_needs_rungs():
    with pytest.raises(ValueError, match="rungs"):
        set_ladder([], title="x")
