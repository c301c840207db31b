"""What holds for all drawings alike: well formed, titled, escaped, free of styles, two colour ways."""

import re
from collections.abc import Callable
from xml.etree import ElementTree

import pytest

from programs.drawings.bodymap import body_map
from programs.drawings.dose_strip import dose_strip, verdict_mark
from programs.drawings.figures import figure
from programs.drawings.loaded_bar import loaded_bar
from programs.drawings.marks import because_mark, legend_mark
from programs.drawings.recovery_gaps import Gap, Lane, recovery_gaps
from programs.drawings.set_ladder import Rung, set_ladder
from programs.drawings.svg import NAMESPACE, Ink
from programs.drawings.tally import adherence_columns, dot_line, pain_bars, share_bar, tally_rule
from programs.drawings.trend_chart import BandPoint, Baseline, Span, TrendPoint, trend_chart

AWKWARD = 'Row & "press" <b>62.5</b>'
LADDER = [
    Rung("warm", 20, AWKWARD, "×8", None, "done"),
    Rung("work", 60, "60", "×8", 2, "now", round=1, mark="A"),
    Rung("work", 12, "12", "×8", 3, "missed", exercise=1, round=1, mark="B"),
    Rung("work", None, "?", "×8", 0, drop=True),
]
WEEK = [Lane("Upper", [(0, AWKWARD), (3, "Upper B")], [Gap(0, 3, 31, 48, AWKWARD), Gap(3, None, 95, 48, "95 h")])]
DOTS = [TrendPoint(1, 60), TrendPoint(8, 62, "record"), TrendPoint(15, 58, "left_out"), TrendPoint(60, 63)]
LINES = [[BandPoint(1, 60, 58, 62), BandPoint(16, 61, 59, 63)]]

DRAWINGS: dict[str, Callable[[str, Ink], str]] = {
    "body map": lambda title, ink: body_map(["lat"], ["biceps", "abs"], height_mm=60, title=title, ink=ink),
    "small body map": lambda title, ink: body_map(["abs"], ["hams"], height_mm=20, title=title, ink=ink),
    "shared contour": lambda title, ink: body_map(["abs"], [], height_mm=60, title=title, ink=ink, id_prefix="one"),
    "dose": lambda title, ink: dose_strip(9, 18, 10, 16, 24, title=title, ink=ink),
    "dose with log": lambda title, ink: dose_strip(4, 8, 10, 16, 24, 5, title=title, ink=ink),
    "verdict": lambda title, ink: verdict_mark("under", title=title, ink=ink),
    "bar": lambda title, ink: loaded_bar([20, 2.5], None, "kg", title=title, format_number=lambda _: AWKWARD, ink=ink),
    "ladder": lambda title, ink: set_ladder(LADDER, title=title, ink=ink),
    "week": lambda title, ink: recovery_gaps([AWKWARD, *"234567"], WEEK, title=title, ink=ink),
    "trend": lambda title, ink: trend_chart(
        DOTS,
        LINES,
        title=title,
        format_number=str,
        format_date=lambda _: AWKWARD,
        deloads=[Span(14, 21, AWKWARD)],
        absences=[Span(22, 58, "away")],
        baselines=[Baseline(59, "other bench")],
        ink=ink,
    ),
    "figure": lambda title, ink: figure("push-up", title=title, ink=ink),
    "figure from the front": lambda title, ink: figure("pull-up", title=title, mm_per_unit=0.2, ink=ink),
    "tally": lambda title, ink: tally_rule(5, 12, title=title, ink=ink),
    "adherence": lambda title, ink: adherence_columns(
        [["done", "part", "missed"], ["excused", "ahead"]], title=title, ink=ink
    ),
    "pain": lambda title, ink: pain_bars(
        [0, 2, None, 5], title=title, format_number=lambda _: AWKWARD, threshold=3, ink=ink
    ),
    "course": lambda title, ink: dot_line([86, 90, 90], title=title, open_from=2, ink=ink),
    "share": lambda title, ink: share_bar(0.5, title=title, ink=ink),
    "because": lambda title, ink: because_mark(title=title, ink=ink),
    "sample": lambda title, ink: legend_mark("hatched", title=title, ink=ink),
}
each_drawing = pytest.mark.parametrize("draw", DRAWINGS.values(), ids=DRAWINGS.keys())
each_ink = pytest.mark.parametrize("ink", Ink)


@each_drawing
@each_ink
def test_a_drawing_is_one_titled_svg_element_whatever_the_words(draw, ink):
    root = ElementTree.fromstring(draw(AWKWARD, ink))

    assert root.tag == f"{{{NAMESPACE}}}svg"
    assert root.get("role") == "img"
    assert root[0].tag == f"{{{NAMESPACE}}}title"
    assert root[0].text == AWKWARD


@each_drawing
@each_ink
def test_a_drawing_has_nothing_that_a_strict_content_policy_refuses(draw, ink):
    root = ElementTree.fromstring(draw("Said", ink))

    tags = {node.tag.split("}")[1] for node in root.iter()}
    attributes = {name for node in root.iter() for name in node.attrib}
    assert not tags & {"style", "script", "pattern", "image", "foreignObject"}
    assert "style" not in attributes
    assert not {name for name in attributes if name.startswith("on")}


@each_drawing
def test_print_has_literal_black_set_only(draw):
    written = draw("Said", Ink.PRINT)

    assert "var(" not in written
    assert set(re.findall(r"#[0-9a-fA-F]{3,6}\b", written)) <= {"#000", "#333", "#555", "#999", "#D5D5D5", "#FFF"}


@each_drawing
def test_a_page_has_token_colours_only(draw):
    root = ElementTree.fromstring(draw("Said", Ink.PAGE))

    paints = {node.get(name) for node in root.iter() for name in ("fill", "stroke")} - {None, "none"}
    assert paints
    assert all(re.fullmatch(r"var\(--[a-z]+[0-9]?\)", paint) for paint in paints)


@each_drawing
@each_ink
def test_every_number_is_finite_and_every_text_is_inside_the_box(draw, ink):
    written = draw("Said", ink)
    root = ElementTree.fromstring(written)

    assert not re.search(r"nan|inf", re.sub(r">[^<]*<", "><", written))
    _, _, width, height = map(float, root.get("viewBox").split())
    for node in root.iter(f"{{{NAMESPACE}}}text"):
        assert 0 <= float(node.get("x")) <= width
        assert 0 <= float(node.get("y")) <= height


@each_drawing
def test_lettering_on_paper_is_never_below_ten_points(draw):
    root = ElementTree.fromstring(draw("Said", Ink.PRINT))

    sizes = [float(node.get("font-size")) for node in root.iter(f"{{{NAMESPACE}}}text")]
    assert all(size * 0.75 >= 10 for size in sizes)


@each_drawing
def test_strokes_on_paper_are_at_least_half_a_point(draw):
    root = ElementTree.fromstring(draw("Said", Ink.PRINT))
    width = root.get("width")
    in_points = 0.75
    if width.endswith("mm"):
        in_points = float(width.removesuffix("mm")) / float(root.get("viewBox").split()[2]) * 72 / 25.4

    strokes = [float(node.get("stroke-width")) for node in root.iter() if node.get("stroke-width")]
    # The faint outlines of parts at rest are the one exception: they say nothing.
    least = 0.42 if "body-map" in root.get("class") else 0.5
    assert all(stroke * in_points >= least for stroke in strokes)


@each_drawing
def test_without_a_title_a_page_hides_the_drawing_and_paper_refuses_it(draw):
    root = ElementTree.fromstring(draw("", Ink.PAGE))

    assert root.get("aria-hidden") == "true"
    assert root.get("role") is None
    with pytest.raises(ValueError, match="needs a title"):
        draw("", Ink.PRINT)
