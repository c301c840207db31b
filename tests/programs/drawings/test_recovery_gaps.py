"""The week strip: sessions on their days, gaps dimensioned between them."""

import itertools
from xml.etree import ElementTree

import pytest

from programs.drawings.lettering import text_width
from programs.drawings.recovery_gaps import BLOCK_HEIGHT, BLOCK_SHARE, LABEL_SIZE, Gap, Lane, recovery_gaps
from programs.drawings.svg import NAMESPACE

DAYS = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
WIDTH = 700


def draw(lanes, days=DAYS, **kwargs):
    return ElementTree.fromstring(recovery_gaps(days, lanes, title="x", **{"width": WIDTH, **kwargs}))


def blocks(root):
    return [
        (float(n.get("x")), float(n.get("width")))
        for n in root.iter(f"{{{NAMESPACE}}}rect")
        if float(n.get("height")) == BLOCK_HEIGHT
    ]


def texts(root):
    return {n.text: (float(n.get("x")), float(n.get("y"))) for n in root.iter(f"{{{NAMESPACE}}}text")}


def dashed(root):
    return [n for n in root.iter(f"{{{NAMESPACE}}}path") if n.get("stroke-dasharray")]


def heads(root):
    """Arrowheads: closed filled paths."""
    return [n for n in root.iter(f"{{{NAMESPACE}}}path") if n.get("fill") == "var(--ink)"]


def test_a_session_takes_its_share_of_its_day():
    root = draw([Lane("Upper", [(0, "Up A"), (3, "Up B")])])

    assert [width for _, width in blocks(root)] == pytest.approx([BLOCK_SHARE * 100] * 2, abs=1)
    assert [x + width / 2 for x, width in blocks(root)] == pytest.approx([50, 350], abs=1)


def test_a_longer_name_widens_its_block_but_not_beyond_its_day():
    [(_, width)] = blocks(draw([Lane("Full", [(0, "Full body A")])]))

    assert BLOCK_SHARE * 100 < width <= 100


def test_a_gap_has_its_hours_in_the_middle_and_a_head_at_either_end():
    root = draw([Lane("Upper", [(0, "A"), (3, "B")], [Gap(0, 3, 71, 48, "71 h")])])

    assert texts(root)["71 h"][0] == pytest.approx(200, abs=1)
    assert len(heads(root)) == 2
    assert not dashed(root)


def test_too_short_a_gap_is_dashed_and_semibold():
    root = draw([Lane("Upper", [(0, "A"), (2, "B")], [Gap(0, 2, 31, 48, "31 h")])])
    [label] = [n for n in root.iter(f"{{{NAMESPACE}}}text") if n.text == "31 h"]

    assert len(dashed(root)) == 1
    assert label.get("font-weight") == "600"


@pytest.mark.parametrize("to_day", [None, 7, 12])
def test_a_gap_past_the_last_day_runs_off_the_edge_without_a_head_there(to_day):
    root = draw([Lane("Upper", [(3, "B")], [Gap(3, to_day, 95, 48, "95 h to Monday")])])

    assert len(heads(root)) == 1
    assert [n for n in root.iter(f"{{{NAMESPACE}}}path") if n.get("d", "").endswith(f"H{WIDTH}")]


def test_a_gap_from_last_week_comes_in_at_the_left_edge():
    root = draw([Lane("Upper", [(3, "B")], [Gap(-1, 3, 95, 48, "95 h")])])

    assert len(heads(root)) == 1


def test_a_label_without_room_stands_under_its_lane_clear_of_its_neighbours():
    gaps = [Gap(day, day + 1, 24, 48, "24 h only, 48 wanted") for day in range(4)]
    root = draw([Lane("Full", [(day, "A") for day in range(5)], gaps)])
    labels = [n for n in root.iter(f"{{{NAMESPACE}}}text") if n.text.startswith("24 h")]
    block_bottom = 22 + 6 + BLOCK_HEIGHT
    width = text_width(labels[0].text, LABEL_SIZE, semibold=True)

    assert len(labels) == 4
    assert all(float(n.get("y")) > block_bottom for n in labels)
    spans = sorted((float(n.get("y")), float(n.get("x")) - width / 2) for n in labels)
    for (y1, x1), (y2, x2) in itertools.pairwise(spans):
        assert y1 != y2 or x1 + width <= x2


def test_a_narrow_strip_puts_names_under_their_blocks_and_grows():
    wide, narrow = draw([Lane("U", [(0, "Upper A")])]), draw([Lane("U", [(0, "Upper A")])], width=200)

    assert texts(narrow)["Upper A"][1] > texts(wide)["Upper A"][1]
    assert float(narrow.get("height")) > float(wide.get("height"))
    assert texts(narrow)["Upper A"][0] - text_width("Upper A", LABEL_SIZE, semibold=True) / 2 >= -0.01


def test_the_rules_of_the_days_leave_lettering_clear():
    root = draw([Lane("Upper", [(0, "A"), (5, "B")], [Gap(0, 5, 119, 48, "119 h")])])
    rules = next(n.get("d") for n in root.iter(f"{{{NAMESPACE}}}path") if n.get("stroke") == "var(--rule)")

    assert texts(root)["119 h"][0] == pytest.approx(300, abs=1)
    # One more stroke than there are days: the rule at 300 px is in two pieces.
    assert rules.count("M300.5 ") == 2
    assert rules.count("M") == len(DAYS) + 1


def test_a_cycle_may_have_any_length():
    root = draw([Lane("Full", [(0, "A"), (4, "B"), (9, "C")])], days=[str(day) for day in range(10)])

    assert len(blocks(root)) == 3


def test_lane_names_are_drawn_where_they_have_room():
    assert "Upper body" in texts(draw([Lane("Upper body", [(0, "A")])], name_width=80))
    assert "Upper body" not in texts(draw([Lane("Upper body", [(0, "A")])]))


def test_days_are_needed_and_blocks_lie_on_them():
    with pytest.raises(ValueError, match="days"):
        recovery_gaps([], [], title="x")
    with pytest.raises(ValueError, match="not drawn"):
        recovery_gaps(DAYS, [Lane("Upper", [(7, "A")])], title="x")
