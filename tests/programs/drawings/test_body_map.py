"""The body map: every part drawn, inside the body, apart from its neighbours, and small where it is small."""

import math
import re
from xml.etree import ElementTree

import pytest

from programs.drawings.bodymap import HEIGHT, WIDTH, body_map, contour_outline, region_outlines
from programs.drawings.bodymap_shapes import BACK, FRONT, REGIONS, Shape
from programs.drawings.curves import smooth, whole
from programs.drawings.svg import NAMESPACE, Ink
from programs.engine import vocabulary

CLEARANCE = 1.5
EACH_REGION = [("front", code) for code in FRONT] + [("back", code) for code in BACK]


def inside(point, ring):
    x, y = point
    crossed = False
    for (x1, y1), (x2, y2) in zip(ring, ring[1:] + ring[:1], strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (x2 - x1) * (y - y1) / (y2 - y1):
            crossed = not crossed
    return crossed


def distance(point, ring):
    """From a point to the nearest piece of a closed ring."""
    px, py = point
    nearest = math.inf
    for (x1, y1), (x2, y2) in zip(ring, ring[1:] + ring[:1], strict=True):
        dx, dy = x2 - x1, y2 - y1
        length = dx * dx + dy * dy
        t = min(max(((px - x1) * dx + (py - y1) * dy) / length, 0), 1) if length else 0
        nearest = min(nearest, math.hypot(px - x1 - t * dx, py - y1 - t * dy))
    return nearest


def paths(svg):
    return [node.attrib for node in ElementTree.fromstring(svg).iter(f"{{{NAMESPACE}}}path")]


def subpaths(drawn, **paint):
    return sum(attributes["d"].count("M") for attributes in drawn if paint.items() <= attributes.items())


def test_the_map_has_the_31_regions_of_the_engine():
    assert set(vocabulary.REGIONS) == REGIONS
    assert len(REGIONS) == 31


@pytest.mark.parametrize(("view", "code"), EACH_REGION)
def test_every_region_lies_inside_the_body(view, code):
    body = contour_outline().flattened()
    outlines = region_outlines(view, code)

    assert outlines
    for outline in outlines:
        for point in outline.flattened():
            assert inside(point, body)
            assert distance(point, body) >= CLEARANCE


@pytest.mark.parametrize("view", ["front", "back"])
def test_regions_keep_apart_from_each_other_and_from_the_midline(view):
    regions = FRONT if view == "front" else BACK
    rings = [(code, outline.flattened()) for code in regions for outline in region_outlines(view, code)[::2]]

    for index, (code, ring) in enumerate(rings):
        assert min(x for x, _ in ring) >= CLEARANCE, code
        for other_code, other in rings[index + 1 :]:
            gap = min(distance(point, other) for point in ring)
            assert gap >= CLEARANCE - 0.05, (code, other_code)
            assert not inside(ring[0], other), (code, other_code)


def test_the_body_is_symmetric_and_of_the_stated_height():
    points = contour_outline().flattened()
    mirrored = {(round(-x, 6), round(y, 6)) for x, y in points}

    assert mirrored == {(round(x, 6), round(y, 6)) for x, y in points}
    assert min(y for _, y in points) == pytest.approx(0, abs=0.5)
    assert max(y for _, y in points) == pytest.approx(800, abs=2)


@pytest.mark.parametrize("code", sorted(REGIONS))
def test_each_region_is_drawn_solid_when_worked_most_and_hatched_when_also_worked(code):
    pieces = sum(len(region_outlines(view, code)) for view in ("front", "back"))
    solid = paths(body_map([code], [], height_mm=60, title="x", ink=Ink.PRINT))
    hatched = paths(body_map([], [code], height_mm=60, title="x", ink=Ink.PRINT))

    assert subpaths(solid, fill="#000") == pieces
    assert subpaths(hatched, fill="#000") == 0
    outlines = [drawn for drawn in hatched if drawn.get("stroke") == "#000" and drawn.get("fill") == "#FFF"]
    assert sum(drawn["d"].count("M") for drawn in outlines) == pieces
    strokes = [drawn for drawn in hatched if re.match(r"M[-\d. ]+L", drawn["d"])]
    assert sum(drawn["d"].count("M") for drawn in strokes) >= 2 * pieces


def test_all_regions_together_leave_none_at_rest():
    drawn = paths(body_map(REGIONS, [], height_mm=120, title="x"))

    assert subpaths(drawn, fill="var(--accent)") == sum(len(region_outlines(*key)) for key in EACH_REGION)
    assert not [d for d in drawn if d.get("fill") == "var(--sheet)" and d.get("stroke") == "var(--edge)"]


def test_a_region_in_both_lists_counts_as_worked_most():
    both = body_map(["lat"], ["lat"], height_mm=60, title="x")

    assert both == body_map(["lat"], [], height_mm=60, title="x")


def test_the_order_of_the_lists_does_not_matter():
    one = body_map(["lat", "hams"], ["abs", "neck"], height_mm=60, title="x")

    assert one == body_map(["hams", "lat"], ["neck", "abs"], height_mm=60, title="x")


def test_the_small_form_leaves_out_what_rests_and_closes_neighbours_up():
    small = body_map(["pec_stern", "pec_clav"], ["biceps"], height_mm=20, title="x", ink=Ink.PRINT)
    drawn = paths(small)

    assert 'class="drawing body-map body-map-small"' in small
    assert not [d for d in drawn if d.get("stroke") == Ink.PRINT.value.edge]
    assert [d["stroke-width"] for d in drawn if d.get("fill") == "#000"] == ["6"]
    assert len(small) < 15_000


def test_the_full_form_shows_what_rests_from_45_mm_on():
    assert "body-map-small" in body_map(["abs"], [], height_mm=44.9, title="x")
    assert "body-map-small" not in body_map(["abs"], [], height_mm=45, title="x")


def test_print_has_its_size_in_millimetres_and_a_page_leaves_it_to_the_stylesheet():
    printed = ElementTree.fromstring(body_map(["abs"], [], height_mm=20, title="x", ink=Ink.PRINT))
    shown = ElementTree.fromstring(body_map(["abs"], [], height_mm=20, title="x"))

    assert (printed.get("width"), printed.get("height")) == ("19.4mm", "20.4mm")
    assert (shown.get("width"), shown.get("height")) == (None, None)
    assert shown.get("viewBox") == f"0 0 {WIDTH} {HEIGHT}"


def test_a_prefix_shares_the_contour_and_keeps_ids_apart():
    one = body_map(["abs"], [], height_mm=60, title="x", id_prefix="one")
    two = body_map(["abs"], [], height_mm=60, title="x", id_prefix="two")

    assert re.findall(r' id="([^"]+)"', one) == ["one-contour"]
    assert set(re.findall(r'href="#([^"]+)"', one)) == {"one-contour"}
    assert not set(re.findall(r' id="([^"]+)"', one)) & set(re.findall(r' id="([^"]+)"', two))
    alone = body_map(["abs"], [], height_mm=60, title="x")
    assert " id=" not in alone
    assert len(one) < 0.75 * len(alone)


def test_hatching_is_finer_on_a_smaller_map_but_never_below_half_a_millimetre():
    def pitch_in_mm(height_mm):
        drawn = paths(body_map([], ["lat"], height_mm=height_mm, title="x", ink=Ink.PRINT))
        stroke = next(float(d["stroke-width"]) for d in drawn if re.match(r"M[-\d. ]+L", d["d"]))
        return stroke / 0.36 * height_mm / 800

    assert pitch_in_mm(20) == pytest.approx(0.5, abs=0.01)
    assert pitch_in_mm(60) == pytest.approx(0.69, abs=0.01)
    assert pitch_in_mm(120) == pytest.approx(1.1, abs=0.01)


def test_unknown_regions_and_heights_are_refused():
    with pytest.raises(ValueError, match="not on the body map: tail"):
        body_map(["tail"], [], height_mm=60, title="x")
    with pytest.raises(ValueError, match="height"):
        body_map(["abs"], [], height_mm=0, title="x")


def test_a_smooth_outline_goes_through_its_points_and_keeps_its_corners():
    square = Shape(((0, 0), (10, 0), (10, 10), (0, 10)), frozenset(range(4)))
    outline = smooth(square, closed=True)

    assert [piece[2] for piece in outline.pieces] == [(10, 0), (10, 10), (0, 10), (0, 0)]
    assert outline.path(0) == "M0 0c0 0 10 0 10 0 0 0 0 10 0 10 0 0-10 0-10 0 0 0 0-10 0-10z"
    half_shape = Shape(((0, 0), (5, 5), (0, 10)), frozenset({1}))
    assert whole(half_shape) == Shape(((0, 0), (5, 5), (0, 10), (-5, 5)), frozenset({1, 3}))
