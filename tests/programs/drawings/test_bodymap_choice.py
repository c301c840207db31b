"""The body as a filter: every group can be met with a finger."""

import re
import xml.etree.ElementTree as ET

import pytest

from programs.drawings.bodymap import HEIGHT, WIDTH
from programs.drawings.bodymap_choice import TARGET, area_of, shapes_of, targets_of
from programs.engine.vocabulary import GROUP_OF_REGION, GROUPS

NARROWEST = 204  # px, where filters stand beside the table


def regions_of(group):
    return tuple(region for region, own in GROUP_OF_REGION.items() if own == group)


@pytest.mark.parametrize("group", GROUPS)
def test_every_group_has_shapes_and_boxes_large_enough(group):
    shapes, boxes = shapes_of(regions_of(group)), targets_of(regions_of(group))
    assert shapes.count("<path") >= 1
    sizes = re.findall(r'width="([\d.]+)" height="([\d.]+)"/>', boxes)
    assert sizes and all(min(float(width), float(height)) >= TARGET for width, height in sizes)


def test_the_least_box_is_24_px_where_the_drawing_is_narrowest():
    assert TARGET * NARROWEST / WIDTH >= 24


@pytest.mark.parametrize("draw", [shapes_of, targets_of])
def test_the_parts_lie_over_the_map_and_carry_no_style(draw):
    text = draw(("hams",))
    root = ET.fromstring(text)
    assert root.get("viewBox") == f"0 0 {WIDTH} {HEIGHT}" and root.get("aria-hidden") == "true"
    assert "style=" not in text and 'fill="#' not in text


def test_small_groups_take_less_than_large_ones():
    assert area_of(("neck",)) < area_of(regions_of("quads"))
