"""Exercise figures: poses that a body can take, drawn in one scale, light enough for a page and a PDF."""

import re
from xml.etree import ElementTree

import pytest

from programs.drawings.figures import extent, figure, keys
from programs.drawings.figures.body import front_groups, side_groups
from programs.drawings.figures.checks import RANGES, centre_of_mass, faults, on_its_own_feet, overbalance, ranges
from programs.drawings.figures.entries import entry, pose, read
from programs.drawings.figures.equipment import KINDS, Part, pieces
from programs.drawings.figures.outlines import bar, capsule, disc, polygon, rounded
from programs.drawings.figures.skeleton import ANKLE_HEIGHT, FOREARM, UPPER_ARM, along, from_the_side, two_bones
from programs.drawings.svg import NAMESPACE, Ink

MOST_BYTES = {Ink.PAGE: 9_000, Ink.PRINT: 14_000}
HOLDS = {
    "disc",
    "hub",
    "dumbbell",
    "dumbbell_end",
    "kettlebell",
    "cable",
    "barbell",
    "trap_bar",
    "band",
    "strap",
    "wheel",
}
each_key = pytest.mark.parametrize("key", keys())


@each_key
def test_a_figure_passes_every_check_of_reach_range_ground_and_balance(key):
    assert faults(entry(key)) == []


@each_key
def test_what_is_held_stays_in_the_hand_in_every_picture(key):
    pictures = entry(key).pictures
    held = [
        {prop.kind for prop in picture.props if any(joint.startswith("hand") for joint in prop.held_by())} & HOLDS
        for picture in pictures
    ]

    assert held[0] == held[-1]


@each_key
def test_a_figure_is_one_small_titled_drawing_without_arcs_circles_or_styles(key):
    for ink in Ink:
        written = figure(key, title="Start and end", ink=ink)
        root = ElementTree.fromstring(written)
        tags = {node.tag.removeprefix(f"{{{NAMESPACE}}}") for node in root.iter()}

        assert tags == {"svg", "title", "path"}
        assert root.get("role") == "img"
        assert not [node for node in root.iter() if node.get("style") or node.get("id")]
        assert not [node for node in root.iter() if "A" in (node.get("d") or "").upper()]
        assert not re.search(r"nan|inf", written)
        assert len(written) < MOST_BYTES[ink]


@each_key
def test_all_of_a_figure_lies_within_its_box(key):
    root = ElementTree.fromstring(figure(key, title="x"))
    _, _, width, height = map(float, root.get("viewBox").split())

    for node in root.iter(f"{{{NAMESPACE}}}path"):
        for start in re.findall(r"M(-?[\d.]+) (-?[\d.]+)", node.get("d")):
            x, y = map(float, start)
            assert 0 <= x <= width
            assert 0 <= y <= height


@each_key
def test_shapes_that_are_filled_together_turn_the_same_way(key):
    known = entry(key)
    for picture in known.pictures:
        groups = side_groups(picture.body) if known.view == "side" else front_groups(picture.body, arms_behind=False)
        shapes = [shape for group in groups for shape in group.shapes]
        for prop in picture.props:
            found = pieces(prop.kind, prop.points(picture.body), prop.numbers())
            shapes += [shape for piece in found if isinstance(piece, Part) for shape in piece.shapes]

        assert all(shape.area() > 0 for shape in shapes)


def test_figures_are_drawn_the_same_every_time():
    once = [figure(key, title="x") for key in keys()]

    assert once == [figure(key, title="x") for key in keys()]
    assert len(set(once)) == len(once)


def test_one_scale_holds_for_figures_that_stand_and_that_lie():
    for key in ("conventional-deadlift", "push-up"):
        root = ElementTree.fromstring(figure(key, title="x", mm_per_unit=0.25, ink=Ink.PRINT))
        width, height = extent(key)

        assert float(root.get("width").removesuffix("mm")) == pytest.approx(width * 0.25, abs=0.01)
        assert float(root.get("height").removesuffix("mm")) == pytest.approx(height * 0.25, abs=0.01)
    assert extent("push-up")[1] < extent("conventional-deadlift")[1]


def test_unknown_figures_and_sizes_are_refused():
    with pytest.raises(KeyError):
        figure("moon-walk", title="x")
    with pytest.raises(ValueError, match="size"):
        figure("push-up", title="x", mm_per_unit=0)
    with pytest.raises(ValueError, match="no joint is put anywhere"):
        pose("trunk=80")
    with pytest.raises(ValueError, match="not part of a pose"):
        pose("ankle@0,4 upright")
    with pytest.raises(ValueError, match="no such equipment"):
        pieces("trampoline", [], [])
    with pytest.raises(ValueError, match="can't stand"):
        pieces("bench", [], [1])


@pytest.mark.parametrize("target", [(10, 0), (0, -30), (-20, 12), (3, 3)])
@pytest.mark.parametrize("turn", [1, -1])
def test_two_bones_reach_their_target_and_bend_one_way_only(target, turn):
    first, second, shortfall = two_bones((0, 0), target, UPPER_ARM, FOREARM, turn)
    end = along(along((0, 0), first, UPPER_ARM), second, FOREARM)

    assert end == pytest.approx(target, abs=1e-6)
    assert shortfall == 0
    assert ((second - first) * turn) % 360 <= 180


def test_what_lies_out_of_reach_is_told():
    straight = two_bones((0, 0), (50, 0), UPPER_ARM, FOREARM, 1)

    assert straight[2] == pytest.approx(50 - UPPER_ARM - FOREARM, abs=0.05)
    assert "1: a reach falls" in faults(read({"start": "ankle@0,4 hand>60,60"}))[0]


def test_standing_is_the_zero_of_every_range():
    body = from_the_side(pose("ankle@0,4"))

    assert ranges(body)["hip"] == ranges(body)["knee"] == ranges(body)["ankle"] == ranges(body)["shoulder"] == 0
    assert body.joints["ankle"] == pytest.approx((0, ANKLE_HEIGHT))
    assert body.joints["toe"][1] > 0


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        ("ankle@0,4 thigh=-100 shin=-80", "knee at -20"),
        ("ankle@0,4 trunk=90 thigh=70 shin=-60", "hip at 160"),
        ("ankle@0,4 arm=-90 forearm=-120", "elbow at -30"),
        ("ankle@0,1", "under the ground"),
        ("ankle@0,4 trunk=88 thigh=-6 shin=-119", "topples"),
    ],
)
def test_a_pose_that_no_body_holds_is_found_out(words, fault):
    assert any(fault in found for found in faults(read({"start": words})))


def test_a_load_counts_in_the_balance():
    bare = read({"start": "ankle@0,4 arm=-30 forearm=0"}).pictures[0]
    loaded = read({"start": "ankle@0,4 arm=-30 forearm=0", "props": ["disc hand"]}).pictures[0]

    assert on_its_own_feet(bare)
    assert centre_of_mass(loaded)[0] > centre_of_mass(bare)[0]
    assert overbalance(bare) == 0
    supported = read({"start": "ankle@0,4 arm=-30", "props": ["post 20,0 20,90"]}).pictures[0]
    assert not on_its_own_feet(supported)


def test_pictures_that_hardly_differ_are_found_out():
    assert "the pictures hardly differ" in faults(read({"start": "ankle@0,4", "end": "ankle@1,4"}))


def test_ranges_are_those_of_a_joint_on_both_sides_of_standing():
    assert all(low < 0 < high for low, high in RANGES.values())


def test_shapes_turn_anticlockwise_however_they_are_given():
    square = [(0, 0), (4, 0), (4, 4), (0, 4)]

    for shape in (polygon(*square), polygon(*square[::-1]), rounded(square[::-1]), disc((0, 0), 2)):
        assert shape.area() > 0
    assert capsule((0, 0), (10, 0), 3, 1).area() > 0
    assert bar((0, 0), (0, 9), 2).area() == pytest.approx(18)
    assert capsule((0, 0), (0.5, 0), 3, 1).pieces == disc((0, 0), 3).pieces


def test_a_round_end_strays_from_its_circle_by_less_than_a_two_hundredth():
    circle = disc((0, 0), 1)
    here = circle.start
    for first, second, end in circle.pieces:
        for step in range(1, 10):
            t = step / 10
            weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            corners = (here, first, second, end)
            x = sum(w * p[0] for w, p in zip(weights, corners, strict=True))
            y = sum(w * p[1] for w, p in zip(weights, corners, strict=True))
            assert (x * x + y * y) ** 0.5 == pytest.approx(1, abs=0.005)
        here = end


def test_every_kind_of_equipment_is_used_by_a_figure():
    used = {prop.kind for key in keys() for picture in entry(key).pictures for prop in picture.props}

    assert used == set(KINDS)
