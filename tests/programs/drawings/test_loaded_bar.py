"""The loaded bar: discs by weight, heaviest inside, each with its number."""

import itertools
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.drawings.loaded_bar import DISCS, PITCH, disc_size, loaded_bar
from programs.drawings.svg import NAMESPACE


def shown(weight):
    return f"{weight:g}".replace(".", ",")


def draw(plates, bar=20, unit="kg", **kwargs):
    return ElementTree.fromstring(loaded_bar(plates, bar, unit, title="x", format_number=shown, **kwargs))


def discs(root):
    [group] = root.findall(f"{{{NAMESPACE}}}g[@fill='var(--ink)']")
    return [
        (float(n.get("x")) + float(n.get("width")) / 2, float(n.get("height")), float(n.get("width"))) for n in group
    ]


def numbers(root):
    return [(float(n.get("x")), n.text) for n in root.iter(f"{{{NAMESPACE}}}text")]


def test_discs_go_on_heaviest_first_and_evenly_spaced():
    root = draw([2.5, 20, 5])
    centres = [x for x, _, _ in discs(root)]

    assert [(height, width) for _, height, width in discs(root)] == [(46, 11), (25, 7), (19, 6)]
    assert [b - a for a, b in itertools.pairwise(centres)] == [PITCH, PITCH]
    assert numbers(root) == list(zip(centres, ["20", "5", "2,5"], strict=True))


def test_plates_marked_in_the_other_unit_keep_their_own_numbers():
    root = draw([20.4, 2.5], labels=["45 lb", "2,5"])

    assert [words for _, words in numbers(root)] == ["45 lb", "2,5"]


def test_an_empty_bar_has_no_discs_and_no_numbers():
    root = draw([])

    assert root.findall(f"{{{NAMESPACE}}}g") == []
    assert numbers(root) == []


def test_a_bar_of_unknown_weight_is_dashed():
    assert [n for n in draw([5], bar=None).iter() if n.get("stroke-dasharray")]
    assert not [n for n in draw([5], bar=20).iter() if n.get("stroke-dasharray")]


@pytest.mark.parametrize("unit", DISCS)
def test_known_weights_have_their_own_size_and_others_lie_between(unit):
    for weight, size in DISCS[unit].items():
        assert disc_size(weight, unit) == size
    heaviest, lightest = max(DISCS[unit]), min(DISCS[unit])
    assert disc_size(heaviest * 2, unit) == DISCS[unit][heaviest]
    assert disc_size(lightest / 2, unit) == DISCS[unit][lightest]


@given(st.floats(0.1, 60), st.floats(0.1, 60), st.sampled_from(["kg", "lb"]))
def test_a_heavier_disc_is_never_drawn_smaller(one, other, unit):
    light, heavy = sorted((one, other))

    assert disc_size(light, unit)[0] <= disc_size(heavy, unit)[0] + 1e-9


def test_everything_is_inside_however_many_discs():
    root = draw([25] * 8)
    width = float(root.get("viewBox").split()[2])

    assert len(discs(root)) == 8
    assert max(x + w / 2 for x, _, w in discs(root)) < width


@pytest.mark.parametrize(("plates", "unit"), [([0], "kg"), ([-5], "kg"), ([5], "stone")])
def test_impossible_plates_are_refused(plates, unit):
    with pytest.raises(ValueError):
        loaded_bar(plates, 20, unit, title="x", format_number=shown)


def test_labels_must_match_the_plates():
    with pytest.raises(ValueError):
        draw([20, 5], labels=["20"])
