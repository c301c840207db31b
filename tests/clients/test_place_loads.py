"""What a place offers reaches the pages as it really is: own and missing plates, two units, help and added load."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import translation

from clients.clock import today_for
from clients.models import ClientItem, StationAbsence
from clients.reads.racks import PlaceLoads
from clients.sheets import printed, wording
from programs.engine import terms
from tests.clients.sheets import add_line, handed_out, session_for
from tests.factories import BarbellFactory, ExerciseFactory, PlaceFactory, StationFactory


@pytest.fixture
def room(ana):
    return PlaceFactory(practice=ana.practice)


def of(implement, load_entry, pattern="horizontal_push", fraction=0.0):
    return terms.Exercise(
        key="x",
        name="x",
        pattern=pattern,
        role="main",
        regions=(),
        implement=implement,
        load_entry=load_entry,
        bodyweight_fraction=fraction,
    )


PULL_UP = of("bodyweight", "added", "vertical_pull", 0.95)
HELPED_PULL_UP = of("assisted_pull_up_machine", "assisted", "vertical_pull", 0.95)


def test_what_a_client_brings_counts_in_its_own_unit(ben, room):
    StationFactory(place=room, loads={"list": ["5", "10"]})
    ClientItem.objects.create(client=ben, kind="dumbbell", loads={"list": ["5"], "unit": "lb"})
    assert PlaceLoads(room, ben).for_exercise(of("dumbbell", "per_hand")).rack.loads == (2.268, 5, 10)
    assert PlaceLoads(room).for_exercise(of("dumbbell", "per_hand")).rack.loads == (5, 10)


def test_brought_weights_are_typed_and_shown_with_their_unit(as_ana, ben):
    ben.unit = "lb"
    ben.save()
    as_ana.post(reverse("item-new", args=[ben.public_id]), {"kind": "dumbbell", "loads": "5, 8"})
    assert ben.items.get().loads == {"list": ["5", "8"], "unit": "lb"}
    assert "dumbbells, 5, 8 lb" in as_ana.get(reverse("client", args=[ben.public_id])).content.decode()


def test_collars_and_plates_of_two_units_add_up_on_the_page_of_the_place(as_ana, room):
    loads = {
        "bars": [{"name": "bar", "weight": "20", "unit": "kg"}],
        "plates": [{"weight": "45", "unit": "lb", "count": 4}, {"weight": "20", "unit": "kg", "count": 2}],
        "collars": "5",
    }
    BarbellFactory(place=room, loads=loads)
    offered = PlaceLoads(room).for_exercise(of("barbell", "total"))
    assert offered.rack.loads[0] == 25
    assert 106.647 in offered.rack.loads  # two 45 lb a side and 5 kg of collars
    # A mixture that is not offered, as something nearly as heavy is simpler, can still be told.
    assert not offered.rack.has(105.823)
    assert offered.loading(105.823).per_side == ((45, "lb"), (20, "kg"))
    html = as_ana.get(reverse("place", args=[room.public_id])).content.decode()
    assert "0.41" in html and "lopsided" in html


def test_a_place_in_one_unit_is_not_warned_of_plates_that_look_alike(as_ana, room):
    BarbellFactory(place=room)
    assert "lopsided" not in as_ana.get(reverse("place", args=[room.public_id])).content.decode()


def test_a_lighter_bar_there_serves_lighter_work_and_is_named_on_the_sheet(as_ben, ben):
    session = session_for(ben)
    barbell = session.place.stations.get(kind="barbell")
    barbell.loads["bars"] += [
        {"name": "light bar", "weight": "15", "unit": "kg"},
        {"name": "old bar", "weight": None, "unit": "kg"},
    ]
    barbell.save()
    offered = PlaceLoads(session.place).for_exercise(of("barbell", "total"))
    assert offered.rack.loads[:4] == (15, 17.5, 20, 22.5)
    add_line(session, load=("17.5", "kg"))
    (line,) = handed_out(session).document["lines"]
    assert (wording.bar_words(line["plates"]), wording.plates_words(line["plates"], "kg")) == ("bar 15\u00a0kg", "1.25")


def test_collars_weigh_the_same_on_a_lighter_bar_of_another_unit(as_ana, ben, room):
    loads = {
        "bars": [{"name": "bar", "weight": "45", "unit": "lb"}, {"name": "light bar", "weight": "10", "unit": "kg"}],
        "plates": [{"weight": "2.5", "unit": "kg", "count": 2}],
        "collars": "5",
    }
    BarbellFactory(place=room, loads=loads)
    rack = PlaceLoads(room, ben).for_exercise(of("barbell", "total")).rack
    assert rack.loads == (12.268, 17.268, 22.68, 27.68)  # 5 lb of collars on either bar
    page = as_ana.get(reverse("place", args=[room.public_id])).content.decode()
    assert "12.27–17.27 kg" in page and "22.68–27.68 kg" in page


def test_plates_of_one_size_may_be_noted_in_two_rows(ben, room):
    rows = [{"weight": "20", "unit": "kg", "count": 2}, {"weight": "20", "unit": "kg", "count": 4}]
    bar = BarbellFactory(place=room, loads={"bars": [{"name": "", "weight": "20", "unit": "kg"}], "plates": rows})
    day = today_for(ben)
    away = [{"weight": "20", "unit": "kg", "count": 2}, {"weight": "20", "unit": "kg", "count": 2}]
    StationAbsence.objects.create(station=bar, day=day, plates=away)
    barbell = of("barbell", "total")
    assert PlaceLoads(room, None, day).for_exercise(barbell).rack.loads == (20, 60)
    assert PlaceLoads(room).for_exercise(barbell).rack.loads == (20, 60, 100, 140)


def test_a_missing_pair_is_missing_that_day_alone(ben, room):
    station = BarbellFactory(place=room)
    day = today_for(ben)
    StationAbsence.objects.create(station=station, day=day, plates=[{"weight": "1.25", "unit": "kg", "count": 4}])
    bench = of("barbell", "total")
    assert not PlaceLoads(room, ben, day).for_exercise(bench).rack.has(62.5)
    assert PlaceLoads(room, ben, day + timedelta(days=1)).for_exercise(bench).rack.has(62.5)


def test_several_plates_hang_on_a_belt_and_one_is_held_without(ben, room):
    BarbellFactory(place=room)
    without = PlaceLoads(room).for_exercise(PULL_UP).rack
    assert without.heaviest == 20
    StationFactory(place=room, kind="dip_belt", loads={})
    belted = PlaceLoads(room).for_exercise(PULL_UP).rack
    assert belted.heaviest == 60
    assert belted.up(20) == 21.25


def test_help_goes_on_into_added_load(room):
    StationFactory(place=room, kind="assisted_pull_up_machine", loads={"holes": ["5", "10", "15"]})
    StationFactory(place=room, kind="plate", loads={"list": ["2.5"]})
    line = PlaceLoads(room).for_exercise(HELPED_PULL_UP).rack
    assert [line.harder(help_given) for help_given in (10, 5, 0)] == [5, 0, -2.5]
    added = PlaceLoads(room).for_exercise(PULL_UP, helped=True).rack
    assert added.loads == (-15, -10, -5, 0, 2.5)
    assert PlaceLoads(room).for_exercise(PULL_UP).rack.loads == (0, 2.5)


def test_a_numbered_machine_helps_in_numbers_and_stays_off_the_line(room):
    StationFactory(place=room, kind="assisted_pull_up_machine", loads={"settings": 8})
    StationFactory(place=room, kind="plate", loads={"list": ["2.5"]})
    assert PlaceLoads(room).for_exercise(PULL_UP, helped=True).rack.loads == (0, 2.5)
    assert PlaceLoads(room).for_exercise(HELPED_PULL_UP).rack.loads == tuple(range(9))


# What a sheet says of a load that can't be made there that day


@pytest.fixture
def short_of_small_plates(ben):
    session = session_for(ben)
    add_line(session, load=("62.5", "kg"))
    station = session.place.stations.get(kind="barbell")
    StationAbsence.objects.create(
        station=station, day=session.planned_on, plates=[{"weight": "1.25", "unit": "kg", "count": 4}]
    )
    return session


SAID = (
    "62.5\u00a0kg can’t be made at {place}: 60\u00a0kg (per side 20), −4\u00a0%, "
    "or 65\u00a0kg (per side 20\u00a0+ 2.5), +4\u00a0%."
)


def test_a_sheet_names_what_can_be_made_instead_with_plates(as_ben, short_of_small_plates):
    version = handed_out(short_of_small_plates)
    said = SAID.format(place=short_of_small_plates.place.name)
    assert said in as_ben.get(reverse("sheet-line", args=[version.public_id, 1])).content.decode()
    for layout in ("phone", "paper"):
        (line,) = printed.context(version.document, 1, layout)["lines"]
        assert line["instead"] == said


def test_what_can_be_made_is_not_said_twice(as_ben, ben):
    session = session_for(ben)
    add_line(session, load=("62.5", "kg"))
    version = handed_out(session)
    assert "instead" not in version.document["lines"][0]
    assert "can’t be made" not in as_ben.get(reverse("sheet-line", args=[version.public_id, 1])).content.decode()


def test_a_plan_in_kilograms_says_both_sides_where_plates_are_in_pounds(ben):
    session = session_for(ben)
    place = session.place
    place.unit = "lb"
    place.save()
    plates = [{"weight": weight, "unit": "lb", "count": 4} for weight in ("45", "25", "10", "5", "2.5")]
    barbell = place.stations.get(kind="barbell")
    barbell.loads = {"bars": [{"name": "bar", "weight": "45", "unit": "lb"}], "plates": plates, "collars": "0"}
    barbell.save()
    add_line(session, load=("60", "kg"))
    (said,) = wording.instead_words(handed_out(session).document["lines"][0], place.name)
    assert said == (
        f"60\u00a0kg can’t be made at {place.name}: "
        "130\u00a0lb (per side 25\u00a0+ 10\u00a0+ 5\u00a0+ 2.5), −1.7\u00a0%, "
        "or 135\u00a0lb (per side 45), +2.1\u00a0%."
    )


# How loads read


def line_of(load_entry, *values, unit="kg", fraction=0.95, limbs="two", names=()):
    exercise = {"load_entry": load_entry, "bodyweight_fraction": fraction, "limbs": limbs, "pattern": "vertical_pull"}
    sets = [{"kind": "work", "load": None if value is None else {"value": value, "unit": unit}} for value in values]
    return {"exercise": exercise, "sets": sets, "load_names": names, "unit": unit}


@pytest.mark.parametrize(
    ("line", "figure", "words"),
    [
        (line_of("added", "0"), "body", "bodyweight"),
        (line_of("added", "10"), "+10", "bodyweight + 10 kg"),
        (line_of("added", "-15"), "−15", "15 kg help"),
        (line_of("added", "5", "10"), "+5–10", "bodyweight + 5–10 kg"),
        (line_of("added", "0", "10"), "+0–10", "bodyweight + 0–10 kg"),
        (line_of("added", "-5", "2.5"), "−5 – +2.5", "5 kg help – bodyweight + 2.5 kg"),
        (line_of("assisted", "20"), "20", "20 kg help"),
        (line_of("assisted", "20", "25"), "20–25", "20–25 kg help"),
        (line_of("assisted", "0"), "body", "no help"),
        (line_of("assisted", "-2.5"), "+2.5", "bodyweight + 2.5 kg"),
        (line_of("assisted", "20", fraction=0), "20", "20 kg help"),
        (line_of("assisted", "0", fraction=0), "0", "no help"),
        (line_of("per_hand", "14", "16"), "2 × 14–16", "2 × 14–16 kg"),
        (line_of("per_hand", "14", limbs="one"), "14", "14 kg"),
        (line_of("numbered_setting", "5", "7", unit="setting"), "5–7", "hole 5–7"),
        (line_of("band", "1", "2", unit="band", names=("red", "blue")), "red – blue", "red – blue"),
        (line_of("total", None), "–", "load to be found"),
    ],
)
def test_a_load_reads_as_it_is_meant(line, figure, words):
    assert wording.loads_figure(line).replace("\u00a0", " ") == figure
    assert wording.loads_words(line).replace("\u00a0", " ") == words


def test_bodyweight_alone_is_no_nought_under_the_unit(ben):
    session = session_for(ben)
    pull_up = ExerciseFactory(
        practice=ben.practice,
        name="Pull-up",
        pattern="vertical_pull",
        implement="bodyweight",
        load_entry="added",
        bodyweight_fraction="0.95",
    )
    add_line(session, pull_up, load=(0, "kg"))
    with translation.override("en"):
        (row,) = printed.context(handed_out(session).document, 1, "phone")["table"]
    assert row["load"] == "body"


def test_holds_say_nothing_of_the_unit_of_a_place_in_pounds(ben):
    session = session_for(ben)
    session.place.unit = "lb"
    session.place.save()
    plank = ExerciseFactory(practice=ben.practice, implement="bodyweight", load_entry="none", rep_unit="seconds")
    add_line(session, plank, load=None, reps_low=None, reps_high=None, seconds=45, rir=None)
    assert printed.context(handed_out(session).document, 1, "phone")["unit"] == "lb"
