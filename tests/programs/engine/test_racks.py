"""Plates, stacks and lists: what can be put together, checked by hand and against brute force."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine import racks
from programs.engine.racks import Plate, plates_per_side

FULL = {25: 8, 20: 8, 15: 8, 10: 8, 5: 8, 2.5: 8, 1.25: 8}
HOME = {20: 2, 10: 2, 5: 2, 2.5: 2}
POUNDS = {45: 8, 35: 4, 25: 4, 10: 4, 5: 4, 2.5: 4}


@pytest.mark.parametrize(
    ("total", "bar", "plates", "expected"),
    [
        (97.5, 20, FULL, [25, 10, 2.5, 1.25]),
        (97.5, 25, FULL, [25, 10, 1.25]),  # the bar with two 2.5 kg collars
        (62.5, 15, FULL, [20, 2.5, 1.25]),
        (97.5, 20, HOME, None),
        (95, 20, HOME, [20, 10, 5, 2.5]),
        (90, 20, HOME, [20, 10, 5]),
        (60, 20, {15: 2, 10: 4}, [10, 10]),  # biggest first fails here
        (185, 45, POUNDS, [45, 25]),
        (190, 45, POUNDS, [45, 25, 2.5]),
        (192, 45, POUNDS, None),
        (185, 45, {45: 2, 35: 4, 10: 2, 5: 2}, [35, 35]),
        (175, 45, {45: 2, 35: 4, 10: 2, 5: 2}, None),
        (20, 20, FULL, []),
        (15, 20, FULL, None),
    ],
)
def test_plates_per_side(total, bar, plates, expected):
    assert plates_per_side(total, bar, plates) == expected


def test_a_lone_plate_is_never_used():
    assert plates_per_side(40, 20, {10: 1, 5: 3}) is None
    assert plates_per_side(30, 20, {10: 1, 5: 3}) == [5]


@given(
    st.dictionaries(st.sampled_from([0.5, 1.25, 2.5, 5.0, 10.0, 15.0, 20.0]), st.integers(0, 5), max_size=5),
    st.sampled_from([10.0, 15.0, 20.0]),
    st.integers(0, 60),
)
def test_plates_add_up_never_exceed_what_exists_and_match_brute_force(plates, bar, steps):
    total = bar + steps * 2.5
    found = plates_per_side(total, bar, plates)
    sizes = sorted(plates, reverse=True)
    fewest = None
    for counts in product(*(range(plates[size] // 2 + 1) for size in sizes)):
        if sum(size * count for size, count in zip(sizes, counts, strict=True)) * 2 + bar == total:
            fewest = sum(counts) if fewest is None else min(fewest, sum(counts))
    if found is None:
        assert fewest is None
        return
    assert bar + 2 * sum(found) == total
    assert len(found) == fewest
    assert found == sorted(found, reverse=True)
    assert all(2 * found.count(size) <= plates[size] for size in set(found))


def bar_of(plates, **options):
    return racks.bar_rack([Plate(weight, "kg", count) for weight, count in plates.items()], **options)


def test_steps_come_from_the_smallest_pair():
    coarse = bar_of({20: 4, 10: 4, 5: 4, 2.5: 4}, bar=20)
    assert coarse.up(40) == 45
    own_plates = bar_of({20: 4, 10: 4, 5: 4, 2.5: 4, 1.25: 4, 0.5: 2}, bar=20)
    assert own_plates.up(40) == 41


def test_same_plates_on_a_lighter_bar():
    assert 40 in bar_of({10: 2, 2.5: 2}, bar=15).loads
    assert 45 in bar_of({10: 2, 2.5: 2}, bar=20).loads


def test_unknown_bar_counts_plates_only():
    assert bar_of({10: 2}, bar=None).loads == (0, 20)


def test_mixed_kilogram_and_pound_plates_add_up_exactly():
    rack = racks.bar_rack([Plate(45, "lb", 4)], bar=20, unit="kg")
    assert rack.heaviest == pytest.approx(20 + 4 * 45 * 0.45359237, abs=0.001)
    loading = rack.loading(rack.heaviest)
    assert loading is not None
    assert loading.per_side == ((45, "lb"), (45, "lb"))
    assert racks.parts(2.5, "lb") * 2 == racks.parts(5, "lb")


@pytest.mark.parametrize(("wanted", "expected"), [(20.9, 20), (21.0, 20), (21.3, 22), (1, 2), (99, 40)])
def test_nearest_of_dumbbells_ties_go_down(wanted, expected):
    assert racks.list_rack(range(2, 42, 2)).nearest(wanted) == expected


def test_stack_with_an_add_on():
    rack = racks.stack_rack([5, 12, 19, 26, 33, 40], [2.3])
    assert rack.up(33) == 35.3
    assert rack.up(35.3) == 40
    assert rack.up(40) == 42.3
    assert not rack.has(35) and not rack.has(36)


def test_stack_rounding():
    assert racks.stack_rack([n * 2.5 for n in range(1, 40)]).nearest(47.6) == 47.5
    assert racks.stack_rack([n * 5 for n in range(1, 20)]).nearest(47.6) == 50


def test_barbell_rounding():
    assert bar_of(FULL, bar=20).nearest(90.217) == 90


def test_help_falls_as_strength_rises():
    rack = racks.assisted_rack(racks.stack_rack([5, 10, 15]))
    assert rack.harder(10) == 5
    assert rack.harder(5) == 0
    assert rack.easier(10) == 15


def test_top_of_the_rack():
    rack = racks.list_rack(range(2, 22, 2))
    assert rack.up(20) is None
    assert rack.heaviest == 20


def test_numbered_settings_step():
    rack = racks.numbered_rack(15)
    assert rack.ordinal
    assert rack.up(7) == 8


def test_what_cannot_be_loaded_names_its_neighbours():
    rack = racks.bar_rack(
        [Plate(45, "lb", 2), Plate(35, "lb", 4), Plate(10, "lb", 2), Plate(5, "lb", 2)],
        bar=45,
        bar_unit="lb",
        unit="lb",
    )
    assert rack.neighbours(175) == (165, 185)


@given(st.lists(st.floats(1, 200).map(lambda load: round(load, 1)), min_size=1, max_size=20), st.floats(0, 250))
def test_rounding_never_leaves_the_rack(loads, wanted):
    rack = racks.list_rack(loads)
    for answer in (rack.nearest(wanted), rack.up(wanted), rack.down(wanted), rack.at_most(wanted)):
        assert answer is None or answer in rack.loads
    nearest = rack.nearest(wanted)
    assert nearest is not None
    assert all(abs(nearest - wanted) <= abs(load - wanted) + 1e-9 for load in rack.loads)
