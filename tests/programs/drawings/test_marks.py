"""Marks and samples."""

from xml.etree import ElementTree

import pytest

from programs.drawings.marks import _SAMPLES, because_mark, legend_mark
from programs.drawings.svg import NAMESPACE, Ink


def test_the_because_mark_is_three_dots_with_the_point_down():
    root = ElementTree.fromstring(because_mark(title="Why 72.5 kg"))
    dots = [(float(n.get("cx")), float(n.get("cy"))) for n in root.iter(f"{{{NAMESPACE}}}circle")]

    assert len(dots) == 3
    assert dots[0][1] == dots[1][1] < dots[2][1]
    assert dots[2][0] == pytest.approx((dots[0][0] + dots[1][0]) / 2)


def test_every_sample_of_a_legend_looks_different_without_colour():
    drawn = {legend_mark(kind, title="x", ink=Ink.PRINT).split("<title>")[1] for kind in _SAMPLES}

    assert len(drawn) == len(_SAMPLES)


def test_an_unknown_sample_is_refused():
    with pytest.raises(ValueError, match="no sample"):
        legend_mark("medal")
