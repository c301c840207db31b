"""Plates, stacks and lists: what can be put together, checked by hand and against brute force."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine import racks
from programs.engine.racks import Plate, plates_per_side
from programs.engine.ramp import warmup

FULL = {25: 8, 20: 8, 15: 8, 10: 8, 5: 8, 2.5: 8, 1.25: 8}
HOME = {20: 2, 10: 2, 5: 2, 2.5: 2}
POUNDS = {45: 8, 35: 4, 25: 4, 10: 4, 5: 4, 2.5: 4}


@pytest.mark.parametrize(
    ("total", "bar", "plates", "expected"),
    [
        pytest.param(97.5, 20, FULL, [25, 10, 2.5, 1.25], id="L5"),
        pytest.param(97.5, 25, FULL, [25, 10, 1.25], id="L6-with-two-collars"),
        pytest.param(62.5, 15, FULL, [20, 2.5, 1.25], id="L7"),
        pytest.param(97.5, 20, HOME, None, id="L8-none"),
        pytest.param(95, 20, HOME, [20, 10, 5, 2.5], id="L8-all"),
        pytest.param(90, 20, HOME, [20, 10, 5], id="L8-three"),
        pytest.param(60, 20, {15: 2, 10: 4}, [10, 10], id="L9-biggest-first-fails"),
        pytest.param(185, 45, POUNDS, [45, 25], id="L10-185"),
        pytest.param(190, 45, POUNDS, [45, 25, 2.5], id="L10-190"),
        pytest.param(192, 45, POUNDS, None, id="L10-none"),
        pytest.param(185, 45, {45: 2, 35: 4, 10: 2, 5: 2}, [35, 35], id="odd-plates"),
        pytest.param(175, 45, {45: 2, 35: 4, 10: 2, 5: 2}, None, id="odd-plates-none"),
        pytest.param(20, 20, FULL, [], id="the-bar-alone"),
        pytest.param(15, 20, FULL, None, id="less-than-the-bar"),
        pytest.param(60, 20, {}, None, id="no-plates"),
        pytest.param(60, 20, {20: -2, 0: 4}, None, id="counts-that-are-none"),
        pytest.param(100, 0, {1.25: 200}, [1.25] * 40, id="very-many-plates"),
        pytest.param(101.6466266, 20, {20.41165665: 4}, [20.41165665] * 2, id="pound-plates-in-kilograms"),
    ],
)
def test_plates_per_side(total, bar, plates, expected):
    assert plates_per_side(total, bar, plates) == expected


def test_a_lone_plate_is_never_used():
    assert plates_per_side(40, 20, {10: 1, 5: 3}) is None
    assert plates_per_side(30, 20, {10: 1, 5: 3}) == [5]


def ways(total, bar, plates):
    """By brute force, the plates of one side for every way to make ``total``."""
    sizes = sorted(plates, reverse=True)
    for counts in product(*(range(plates[size] // 2 + 1) for size in sizes)):
        side = [size for size, count in zip(sizes, counts, strict=True) for _ in range(count)]
        if bar + 2 * sum(side) == total:
            yield side


OWNED = st.dictionaries(st.sampled_from([0.5, 1.25, 2.5, 5.0, 10.0, 15.0, 20.0]), st.integers(0, 7), max_size=5)


@given(OWNED, st.sampled_from([10.0, 15.0, 20.0]), st.data())
def test_plates_add_up_never_exceed_what_exists_and_match_brute_force(plates, bar, data):
    side = [size for size, count in plates.items() for _ in range(data.draw(st.integers(0, count // 2)))]
    total = bar + 2 * sum(side)
    possible = list(ways(total, bar, plates))
    found = plates_per_side(total, bar, plates)
    assert found == min(possible, key=lambda one: (len(one), [-size for size in one]))
    assert bar + 2 * sum(found) == total
    assert all(2 * found.count(size) <= plates[size] for size in set(found))


@given(OWNED, st.sampled_from([10.0, 15.0, 20.0]), st.integers(0, 300))
def test_none_only_where_brute_force_finds_none(plates, bar, halves):
    total = bar + halves * 0.5
    assert (plates_per_side(total, bar, plates) is None) == (not any(True for _ in ways(total, bar, plates)))


@given(OWNED, st.sampled_from([10.0, 15.0, 20.0]))
def test_a_bar_offers_exactly_what_its_plates_make(plates, bar):
    rack = bar_of(plates, bar=bar)
    sides = product(*(range(count // 2 + 1) for count in plates.values()))
    made = {bar + 2 * sum(size * number for size, number in zip(plates, side, strict=True)) for side in sides}
    assert set(rack.loads) == made
    for total in rack.loads:
        assert [weight for weight, _unit in rack.loading(total).per_side] == plates_per_side(total, bar, plates)


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


def test_plates_come_in_pairs_even_from_two_owners():
    rack = racks.bar_rack([Plate(10, "kg", 1), Plate(10, "kg", 1), Plate(5, "kg", 3)], bar=20)
    assert rack.loads == (20, 30, 40, 50)


def test_pound_plates_on_a_kilogram_bar_add_up_exactly():
    rack = racks.bar_rack([Plate(45, "lb", 4)], bar=20, unit="kg")
    assert rack.loads == (20, 60.823, 101.647)
    assert rack.loading(101.647).per_side == ((45, "lb"), (45, "lb"))
    assert racks.parts(2.5, "lb") * 2 == racks.parts(5, "lb")


MIXED = [*(Plate(weight, "kg", 8) for weight in FULL), *(Plate(weight, "lb", 8) for weight in POUNDS)]


def test_mixed_plates_are_for_gaps_only():
    few = racks.bar_rack([Plate(20, "kg", 2), Plate(45, "lb", 2)], bar=20)
    assert few.loads == (20, 60, 60.823, 100.823)
    assert few.loading(100.823).per_side == ((45, "lb"), (20, "kg"))
    rack = racks.bar_rack(MIXED, bar=20)
    mixtures = [total for total in rack.loads if len({unit for _, unit in rack.loading(total).per_side}) == 2]
    assert mixtures
    for total in mixtures:
        below, above = rack.down(total), rack.up(total)
        assert total - below >= racks.MIXED_ONLY_BEYOND_KG
        assert above is None or above - total >= racks.MIXED_ONLY_BEYOND_KG


@given(
    st.lists(
        st.builds(Plate, st.sampled_from([2.5, 5, 10, 20, 25, 45]), st.sampled_from(["kg", "lb"]), st.integers(0, 5))
    )
)
def test_every_mixture_adds_up_of_plates_that_exist(plates):
    rack = racks.bar_rack(plates, bar=20)
    for total in rack.loads:
        side = rack.loading(total).per_side
        assert total == round(20 + 2 * sum(racks.convert(weight, unit, "kg") for weight, unit in side), 3)
        for weight, unit in set(side):
            owned = sum(plate.count for plate in plates if (plate.weight, plate.unit) == (weight, unit))
            assert 2 * side.count((weight, unit)) <= owned


def test_a_plan_in_kilograms_is_loaded_in_pounds():
    pounds = racks.bar_rack(
        [Plate(weight, "lb", count) for weight, count in POUNDS.items()], bar=45, bar_unit="lb", unit="lb"
    )
    assert pounds.nearest(racks.convert(60, "kg", "lb")) == 130
    assert pounds.loading(130).per_side == ((35, "lb"), (5, "lb"), (2.5, "lb"))


@pytest.mark.parametrize(
    ("load", "unit", "to", "expected"), [(225, "lb", "kg", 102.058), (100, "kg", "lb", 220.462), (60, "kg", "kg", 60)]
)
def test_units(load, unit, to, expected):
    assert racks.convert(load, unit, to) == pytest.approx(expected, abs=0.001)


@pytest.mark.parametrize("unit", ["setting", "stone"])
def test_what_is_no_weight_is_not_converted(unit):
    with pytest.raises(KeyError):
        racks.convert(7, unit, "kg")


def test_a_machine_with_and_without_its_sled():
    plates = [Plate(45, "lb", 10)]
    assert racks.bar_rack(plates, bar=None, unit="lb").heaviest == 450
    known = racks.bar_rack(plates, bar=75, bar_unit="lb", unit="lb")
    assert (known.lightest, known.heaviest) == (75, 525)
    assert known.loading(525) == racks.Loading(75, "lb", ((45, "lb"),) * 5)


def test_one_sleeve_takes_single_plates_and_four_take_fours():
    plates = [Plate(20, "kg", 3), Plate(10, "kg", 4)]
    assert racks.bar_rack(plates, bar=None, sides=1).heaviest == 100
    assert racks.bar_rack(plates, bar=None, sides=4).loads == (0, 40)


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [
        pytest.param(20.9, 20, id="L3-below"),
        pytest.param(21.0, 20, id="L3-tie"),
        pytest.param(21.3, 22, id="L3-above"),
        (1, 2),
        (99, 40),
    ],
)
def test_nearest_of_dumbbells_ties_go_down(wanted, expected):
    assert racks.list_rack(range(2, 42, 2)).nearest(wanted) == expected


def test_stack_with_an_add_on():
    rack = racks.stack_rack([5, 12, 19, 26, 33, 40], [2.3])
    assert rack.up(33) == 35.3
    assert rack.up(35.3) == 40
    assert rack.up(40) == 42.3
    assert not rack.has(35) and not rack.has(36)
    assert rack.pin(35.3) == racks.Pin(33, (2.3,))
    assert rack.pin(33) == racks.Pin(33)
    assert rack.pin(36) is None


def test_the_fewest_add_ons_are_used():
    rack = racks.stack_rack([5, 10], [2.5, 2.5, 5])
    assert rack.loads == (5, 7.5, 10, 12.5, 15, 17.5, 20)
    assert rack.pin(10) == racks.Pin(10)
    assert rack.pin(20) == racks.Pin(10, (2.5, 2.5, 5)) or rack.pin(20) == racks.Pin(10, (5, 2.5, 2.5))


def test_stack_rounding():  # L4
    assert racks.stack_rack([n * 2.5 for n in range(1, 40)]).nearest(47.6) == 47.5
    assert racks.stack_rack([n * 5 for n in range(1, 20)]).nearest(47.6) == 50


def test_barbell_rounding():  # L1
    assert bar_of(FULL, bar=20).nearest(90.217) == 90


def test_help_falls_as_strength_rises():
    rack = racks.assisted_rack(racks.stack_rack([5, 10, 15]))
    assert rack.harder(10) == 5
    assert rack.harder(5) == 0
    assert rack.easier(10) == 15
    assert rack.easiest == 15
    assert rack.nearest(7.5) == 10  # a tie goes to the easier side
    assert (rack.not_harder(7), rack.not_harder(20)) == (10, None)
    assert rack.pin(10) == racks.Pin(10)


def test_not_harder_rounds_down():
    rack = racks.list_rack([10, 12, 14])
    assert (rack.not_harder(13.9), rack.not_harder(14), rack.not_harder(9)) == (12, 14, None)
    assert rack.easiest == 10


def test_bodyweight_alone_comes_before_the_first_plate():
    rack = racks.added_rack(racks.list_rack([2.5, 5]))
    assert rack.loads == (0, 2.5, 5)
    assert rack.down(2.5) == 0
    assert rack.down(0) is None


def test_bands_step_by_name():
    rack = racks.band_rack(["light", "medium", "strong"])
    assert rack.ordinal
    assert [rack.name(load) for load in (1, rack.harder(1), 3)] == ["light", "medium", "strong"]
    assert rack.name(4) is None
    assert racks.numbered_rack(3).name(2) is None


def test_an_empty_rack_has_nothing_to_offer():
    asked = [racks.EMPTY.nearest, racks.EMPTY.up, racks.EMPTY.down, racks.EMPTY.not_harder, racks.EMPTY.loading]
    assert [ask(20) for ask in asked] == [None] * len(asked)
    assert (racks.EMPTY.lightest, racks.EMPTY.easiest) == (None, None)


def test_loads_are_ordered_however_they_come():
    assert racks.Rack((30, 10, 20, 10)).loads == (10, 20, 30)


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
    asked = (rack.nearest, rack.up, rack.down, rack.at_most, rack.at_least, rack.not_harder)
    for answer in [ask(wanted) for ask in asked] + list(rack.neighbours(wanted)):
        assert answer is None or answer in rack.loads
    nearest = rack.nearest(wanted)
    assert nearest is not None
    assert all(abs(nearest - wanted) <= abs(load - wanted) + 1e-9 for load in rack.loads)


SMALL = [Plate(20, "kg", 2), Plate(10, "kg", 3), Plate(45, "lb", 4), Plate(25, "lb", 2), Plate(2.5, "lb", 2)]


def every_side(plates, sides=2):
    """By brute force, every handful of plates that all sides can have alike, as (weight, unit)."""
    for counts in product(*(range(plate.count // sides + 1) for plate in plates)):
        yield [(plate.weight, plate.unit) for plate, count in zip(plates, counts, strict=True) for _ in range(count)]


def total_of(side, bar=20, sides=2):
    return round(bar + sides * sum(racks.convert(weight, unit, "kg") for weight, unit in side), 3)


@given(
    st.lists(
        st.builds(Plate, st.sampled_from([1.25, 5, 10, 20, 45]), st.sampled_from(["kg", "lb"]), st.integers(0, 4)),
        max_size=4,
        unique_by=lambda plate: (plate.weight, plate.unit),
    ),
    st.sampled_from([1, 2, 4]),
)
def test_any_total_of_two_units_is_made_as_brute_force_makes_it(plates, sides):
    fewest = {}
    for side in every_side(plates, sides):
        total = total_of(side, sides=sides)
        fewest[total] = min(fewest.get(total, 99), len(side))
    for total, number in fewest.items():
        found = racks.bar_loading(total, plates, bar=20, sides=sides)
        assert total_of(found.per_side, sides=sides) == total
        assert len(found.per_side) == number
        for plate in set(found.per_side):
            owned = sum(one.count for one in plates if (one.weight, one.unit) == plate)
            assert sides * found.per_side.count(plate) <= owned
        assert total + 0.01 in fewest or racks.bar_loading(total + 0.01, plates, bar=20, sides=sides) is None
    # What a bar offers leaves no gap of more than a kilogram where plates of both units could fill it.
    offered = racks.bar_rack(plates, bar=20, sides=sides)
    assert set(offered.loads) <= set(fewest)
    assert all(abs(offered.nearest(total) - total) <= racks.MIXED_ONLY_BEYOND_KG + 0.001 for total in fewest)


def test_a_mixture_that_is_not_offered_can_still_be_read():
    rack = racks.bar_rack(MIXED, bar=20)
    assert not rack.has(100.823)
    assert racks.bar_loading(100.823, MIXED, bar=20).per_side == ((45, "lb"), (20, "kg"))
    assert racks.bar_loading(100.824, SMALL, bar=20) is None


def test_two_sides_that_differ_are_told():
    pound, kilo = (45, "lb"), (20, "kg")
    assert racks.lopsided([pound], [kilo]) == 0.412
    assert racks.lopsided([kilo] * 4, [pound] * 4) == 1.647
    assert racks.lopsided([kilo, (10, "kg")], [(10, "kg"), kilo]) == 0


def test_thirty_five_pounds_are_not_fifteen_kilograms():
    assert racks.lopsided([(35, "lb")], [(15, "kg")]) == 0.876


ODD = [Plate(45, "lb", 2), Plate(35, "lb", 4), Plate(10, "lb", 2), Plate(5, "lb", 2)]


def test_around_a_load_that_cannot_be_made_stand_its_neighbours_with_their_plates():
    rack = racks.bar_rack(ODD, bar=45, bar_unit="lb", unit="lb")
    below, above = rack.around(175)
    assert (below.load, above.load) == (165, 185)
    assert (below.change, above.change) == (pytest.approx(-10 / 175), pytest.approx(10 / 175))
    assert [weight for weight, _ in below.loading.per_side] == [45, 10, 5]
    assert [weight for weight, _ in above.loading.per_side] == [35, 35]
    (itself,) = rack.around(185)
    assert (itself.load, itself.change) == (185, 0)


def test_a_pound_gym_is_as_near_as_its_smallest_pair():
    plates = [Plate(weight, "lb", 8) for weight in (45, 35, 25, 10, 5, 2.5)]
    rack = racks.bar_rack(plates, bar=45, bar_unit="lb", unit="lb")
    shares = [round(100 * one.change, 1) for one in rack.around(racks.convert(60, "kg", "lb"))]
    assert shares == [-1.7, 2.1]


def test_without_the_small_pair_today_its_loads_go():
    pairs = {20: 2, 10: 4, 5: 2, 2.5: 2, 1.25: 2}
    assert bar_of(pairs, bar=20).has(62.5)
    left = bar_of({**pairs, 1.25: 0}, bar=20)
    assert [(one.load, round(100 * one.change)) for one in left.around(62.5)] == [(60, -4), (65, 4)]


def test_around_names_pins_and_bands_and_says_nothing_of_weight_where_there_is_none():
    stack = racks.stack_rack([5, 12, 19, 26, 33, 40], [2.3])
    assert [one.pin for one in stack.around(36)] == [racks.Pin(33, (2.3,)), racks.Pin(40)]
    assert [(one.name, one.change) for one in racks.band_rack(["light", "strong"]).around(2)] == [("strong", None)]
    assert racks.EMPTY.around(20) == ()
    assert [one.load for one in racks.list_rack([8, 12]).around(20)] == [12]


@given(
    st.lists(st.sampled_from([5, 10, 12, 19, 26.5, 40]), min_size=1, max_size=4),
    st.lists(st.sampled_from([1.25, 2.3, 2.5, 5]), max_size=3),
)
def test_a_stack_offers_each_hole_with_every_handful_of_add_ons(holes, add_ons):
    rack = racks.stack_rack(holes, add_ons)
    handfuls = [
        [one for one, taken in zip(add_ons, mask, strict=True) if taken]
        for mask in product((0, 1), repeat=len(add_ons))
    ]
    made = {}
    for hole in holes:
        for handful in handfuls:
            total = round(hole + sum(handful), 3)
            made[total] = min(made.get(total, 99), len(handful))
    assert set(rack.loads) == set(made)
    for total, number in made.items():
        assert len(rack.pin(total).add_ons) == number


def test_the_same_step_is_another_share_of_each_load():
    rack = racks.list_rack(range(0, 300, 5), "lb")
    assert [round(100 * (rack.up(load) - load) / load, 1) for load in (200, 100, 45)] == [2.5, 5, 11.1]
    assert round(100 * (20 - 15) / 15) == 33


def test_kettlebells_step_as_far_as_the_next_bell_there_is():
    bells = racks.list_rack([8, 12, 16, 24, 32])
    assert (bells.up(16), bells.down(16), bells.up(32)) == (24, 12, None)
    assert racks.list_rack([16, 20, 24]).up(16) == 20


def test_from_help_over_nothing_to_added_load_is_one_line():
    line = racks.through_zero(racks.stack_rack([5, 10, 15], [2.5]), racks.list_rack([2.5, 5]))
    assert line.loads == (-17.5, -15, -12.5, -10, -7.5, -5, 0, 2.5, 5)
    assert [line.harder(load) for load in (-7.5, -5, 0)] == [-5, 0, 2.5]
    assert (line.easiest, line.easier(0), line.heaviest) == (-17.5, -5, 5)
    assert line.nearest(-6.25) == -7.5  # a tie goes to the easier side
    assert line.pin(-7.5) == racks.Pin(5, (2.5,))
    assert line.not_harder(-6) == -7.5


def test_what_has_no_weight_does_not_stand_on_the_line():
    for helped, added in [
        (racks.band_rack(["strong"]), racks.list_rack([2.5])),
        (racks.list_rack([5]), racks.list_rack([5], "lb")),
    ]:
        with pytest.raises(ValueError):
            racks.through_zero(helped, added)


@pytest.mark.parametrize(("value", "unit", "other"), [(62.5, "kg", "lb"), (135, "lb", "kg")])
def test_a_load_seen_in_the_other_unit_comes_back_as_it_was(value, unit, other):
    there = racks.convert(value, unit, other)
    assert racks.convert(there, other, unit) == pytest.approx(value, abs=1e-12)
    assert round(there, 1) == {62.5: 137.8, 135: 61.2}[value]


def test_beyond_no_help_stands_added_load_on_the_same_line():
    line = racks.assisted_rack(racks.stack_rack([5, 10, 15], [2.5]), racks.list_rack([2.5, 5]))
    assert line.loads == (-5, -2.5, 0, 5, 7.5, 10, 12.5, 15, 17.5)
    assert [line.harder(help_given) for help_given in (10, 5, 0, -2.5)] == [7.5, 0, -2.5, -5]
    assert (line.easiest, line.easier(0), line.harder(-5)) == (17.5, 5, None)
    assert line.nearest(-1.25) == 0  # a tie goes to the easier side
    assert (line.pin(7.5), line.pin(-2.5)) == (racks.Pin(5, (2.5,)), None)


@pytest.mark.parametrize("added", [racks.list_rack([5], "lb"), racks.band_rack(["strong"])])
def test_what_is_weighed_otherwise_is_left_off_the_line_of_help(added):
    assert racks.assisted_rack(racks.list_rack([5, 10]), added).loads == (0, 5, 10)


@given(
    st.lists(
        st.builds(Plate, st.sampled_from([1.25, 2.5, 10, 25]), st.sampled_from(["kg", "lb"]), st.integers(0, 3)),
        max_size=4,
        unique_by=lambda plate: (plate.weight, plate.unit),
    ),
    st.integers(1, 3),
)
def test_a_belt_carries_every_handful_of_plates(plates, most):
    made = set()
    for counts in product(*(range(plate.count + 1) for plate in plates)):
        if 0 < sum(counts) <= most:
            weights = (
                count * racks.convert(plate.weight, plate.unit, "kg")
                for plate, count in zip(plates, counts, strict=True)
            )
            made.add(round(sum(weights), 3))
    assert set(racks.belt_rack(plates, "kg", most).loads) == made


@given(
    st.lists(
        st.builds(Plate, st.sampled_from([1.25, 5, 10, 20]), st.sampled_from(["kg", "lb"]), st.integers(0, 4)),
        max_size=3,
        unique_by=lambda plate: (plate.weight, plate.unit),
    ),
    st.sampled_from([None, 15, 20]),
    st.sampled_from([0, 0.5, 5]),
    st.integers(0, 60),
)
def test_around_any_wanted_load_stand_the_nearest_that_exist(plates, bar, collars, wanted):
    """With known bars, collars and plates of two units: what brute force finds below and above, level on both sides."""
    rack = racks.bar_rack(plates, bar=bar, collars=collars)
    base = 0 if bar is None else bar + collars
    made = {total_of(side, base) for side in every_side(plates)}
    assert set(rack.loads) <= made
    if len({plate.unit for plate in plates if plate.count > 1}) < 2:
        assert set(rack.loads) == made
        around = [one.load for one in rack.around(wanted)]
        below = max((load for load in made if load <= wanted + 1e-6), default=None)
        above = min((load for load in made if load >= wanted - 1e-6), default=None)
        assert around == [load for load in dict.fromkeys((below, above)) if load is not None]
    for choice in rack.around(wanted):
        assert total_of(choice.loading.per_side, base) == choice.load


def test_lighter_bars_serve_below_the_usual_one_alone():
    plates = [Plate(10, "kg", 2), Plate(2.5, "kg", 2), Plate(1.25, "kg", 2)]
    usual, light, technique = (racks.bar_rack(plates, bar=weight) for weight in (20, 15, 7.5))
    rack = racks.with_lighter_bars(usual, [technique, light])
    assert rack.loads[:7] == (7.5, 10, 12.5, 15, 17.5, 20, 22.5)
    assert [rack.loading(load).bar for load in (7.5, 12.5, 15, 17.5, 20, 42.5)] == [7.5, 7.5, 15, 15, 20, 20]
    assert rack.heaviest == usual.heaviest
    assert racks.with_lighter_bars(usual, []).loads == usual.loads


def test_a_warm_up_stays_on_the_bar_of_the_work():
    plates = [Plate(weight, "kg", 4) for weight in (20, 10, 5, 2.5, 1.25)]
    rack = racks.with_lighter_bars(racks.bar_rack(plates, bar=20), [racks.bar_rack(plates, bar=15)])
    assert rack.on_bar_of(60).lightest == 20
    assert rack.on_bar_of(17.5).loads == (15, 17.5)
    assert all(load >= 20 for load, _reps in warmup(60, 5, rack, "main"))
    dumbbells = racks.list_rack([5, 10])
    assert dumbbells.on_bar_of(10) is dumbbells
