"""Places and stations: what is typed, what is stored, what can be loaded."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone, translation

from clients.forms.loads import read_loads, read_plates, write_loads
from clients.forms.places import MACHINES, way_of
from clients.models import ClientItem, Place, Station, StationAbsence
from clients.reads.places import rack_words
from clients.reads.racks import PlaceLoads
from clients.sheets import document, wording
from clients.starting_sets import SETS
from coachdesk.practice.models import JournalEntry
from programs.engine import racks, terms, vocabulary
from tests.factories import BarbellFactory, ClientFactory, PlaceFactory, PrescriptionFactory, StationFactory


@pytest.fixture
def room(ana):
    return PlaceFactory(practice=ana.practice, name="Net Loft room")


def at(name, place, *more):
    return reverse(name, args=[place.public_id, *more])


def table(prefix, rows):
    data = {f"{prefix}-TOTAL_FORMS": len(rows) + 1, f"{prefix}-INITIAL_FORMS": 0}
    for number, row in enumerate(rows):
        data |= {f"{prefix}-{number}-{name}": value for name, value in row.items()}
    return data


def bar(bars=({"name": "long bar", "weight": "20", "unit": "kg"},), plates=(), **changes):
    base = {"name": "", "count": "1", "note": "", "collars": "", "sides": "2"}
    return base | table("bars", bars) | table("plates", plates) | changes


PLATES = [{"weight": "20", "unit": "kg", "count": "4"}, {"weight": "2.5", "unit": "kg", "count": "2"}]


@pytest.mark.parametrize(
    ("text", "first", "last", "count"),
    [
        ("2–20 by 2, 22.5, 25", "2", "25", 12),
        ("2-20 by 2", "2", "20", 10),
        ("2 to 20 in steps of 2; 30", "2", "30", 11),
        ("10\n8\n8", "8", "10", 2),
        ("5, 12, 19, 26, 33, 40", "5", "40", 6),
        ("1.25-5 by 1.25", "1.25", "5", 4),
    ],
)
def test_loads_are_read_as_coaches_write_them(text, first, last, count):
    loads = read_loads(text)
    assert (loads[0], loads[-1], len(loads)) == (Decimal(first), Decimal(last), count)


def test_a_comma_is_a_decimal_mark_where_the_reader_writes_it_so():
    with translation.override("de"):
        assert read_loads("2,5; 5") == [Decimal("2.5"), Decimal(5)]
        assert read_loads("2,5, 5") == [Decimal("2.5"), Decimal(5)]
        assert read_loads("2,4,6") == [2, 4, 6]
        assert write_loads(["2.5", "5"]) == "2,5; 5"
    with translation.override("en"):
        assert read_loads("2,5") == [2, 5]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2–20", "in which steps"),
        ("20–2 by 2", "the lighter load comes first"),
        ("2–20 by 5", "never come to 20"),
        ("0", "above 0"),
        ("2000", "at most 1000"),
        ("1-1000 by 1", "more than 200"),
        ("many", "can’t be read"),
    ],
)
def test_loads_that_can_not_be_read_say_how_to_write_them(text, said):
    with pytest.raises(ValidationError, match=said):
        read_loads(text)


@pytest.mark.parametrize("text", ["2–20 by 2, 22.5, 25", "5, 12, 19", "8–32 by 4", "1.25, 2.5, 5, 10, 15, 20, 25"])
def test_loads_come_back_as_short_as_they_can_be_typed_and_mean_the_same(text):
    with translation.override("en"):
        assert read_loads(write_loads(read_loads(text))) == read_loads(text)
        assert write_loads(read_loads("2–20 by 2, 22.5, 25")) == "2–20 by 2, 22.5, 25"


def test_small_plates_are_read_with_their_number_a_pair_unless_said():
    assert read_plates("0.5 × 2, 1.25lb x4, 5", "kg") == [
        {"weight": "0.5", "unit": "kg", "count": 2},
        {"weight": "1.25", "unit": "lb", "count": 4},
        {"weight": "5", "unit": "kg", "count": 2},
    ]


def test_every_kind_has_a_way_to_give_its_loads():
    for kind in vocabulary.LOADED_STATIONS:
        assert way_of(kind) in ("plates", "list", "stack", "bands")
    for kind in vocabulary.APPARATUS:
        assert way_of(kind) == ""
    for kind in MACHINES:
        assert way_of(kind, {"holes": ["5"]}) == "stack" and way_of(kind, {"plates": []}) == "plates"


@pytest.mark.parametrize(
    ("rack", "words"),
    [
        (racks.list_rack([2, 4, 6, 8]), "2–8 kg, steps of 2"),
        (racks.list_rack([2, 4, 6, 7]), "2–7 kg, steps of 1 and 2"),
        (racks.stack_rack([5, 12, 19], [2.3]), "5–21.3 kg, steps of 2.3 and 4.7"),
        (racks.list_rack([1, 2, 4, 7, 11]), "1–11 kg, steps of 1 to 4"),
        (racks.numbered_rack(15), "settings 1 to 15"),
        (racks.band_rack(["yellow", "green", "red"]), "yellow to red, 3 bands"),
        (racks.list_rack([24]), "24 kg"),
        (racks.EMPTY, "nothing to load yet"),
    ],
)
def test_what_can_be_loaded_is_said_in_words(rack, words):
    assert rack_words(rack) == words


def test_a_place_is_added_filled_and_described(as_ana, ana):
    as_ana.post(reverse("place-new"), {"name": "Net Loft room", "unit": "kg"})
    place = Place.objects.get(practice=ana.practice)
    assert "Nothing yet" in as_ana.get(at("place", place)).content.decode()
    as_ana.post(at("place-fill", place, "strength-room"))
    html = as_ana.get(at("place", place)).content.decode()
    assert "long bar 20 kg: 20–" in html
    assert "sled of unknown weight, plates alone: 0–" in html
    assert "all there" in html
    # A second click adds nothing twice.
    count = place.stations.count()
    as_ana.post(at("place-fill", place, "strength-room"))
    assert place.stations.count() == count


@pytest.mark.parametrize("unit", ["kg", "lb"])
@pytest.mark.parametrize("key", list(SETS))
def test_every_ready_made_set_is_whole_and_can_be_loaded(ana, key, unit):
    place = PlaceFactory(practice=ana.practice, unit=unit)
    for kind, count, loads in SETS[key].stations(unit):
        station = StationFactory(place=place, kind=kind, count=count, loads=loads, unit=unit)
        station.full_clean()
        if kind in vocabulary.LOADED_STATIONS:
            rack = PlaceLoads(place).of_station(station)
            assert rack.loads, kind
            assert rack.ordinal or rack.unit == unit


def test_filling_can_be_taken_back_in_one(as_ana, room):
    as_ana.post(at("place-fill", room, "home-dumbbells"))
    entry = JournalEntry.objects.get(act="place.fill")
    as_ana.post(reverse("undo", args=[entry.public_id]))
    assert not room.stations.exists()
    assert as_ana.post(at("place-fill", room, "no-such-set")).status_code == 404


def test_two_places_of_a_practice_have_two_names(as_ana, room, cleo):
    answer = as_ana.post(reverse("place-new"), {"name": "net loft ROOM", "unit": "kg"})
    assert answer.status_code == 422 and "of this name already" in answer.content.decode()
    dates = {"name": "Hotel", "unit": "kg", "opens_on": "2026-03-02", "closes_on": "2026-03-01"}
    answer = as_ana.post(reverse("place-new"), dates)
    assert answer.status_code == 422 and "ends before it starts" in answer.content.decode()
    assert Place.objects.filter(practice=room.practice).count() == 1


def test_a_place_may_be_one_clients_own(as_ana, ben, room):
    as_ana.post(reverse("place-new"), {"name": "Ben’s kitchen", "unit": "kg", "owner": ben.pk})
    kitchen = Place.objects.get(name="Ben’s kitchen")
    assert kitchen.owner == ben
    assert "Only for Ben Quay." in as_ana.get(at("place", kitchen)).content.decode()
    form = as_ana.get(reverse("client-change", args=[ben.public_id, "training"])).content.decode()
    assert "Ben’s kitchen" in form and "Net Loft room" in form


def test_another_practices_client_can_not_own_a_place(as_ana, cleo):
    stranger = ClientFactory(practice=cleo.practice, coach=cleo)
    answer = as_ana.post(reverse("place-new"), {"name": "Kitchen", "unit": "kg", "owner": stranger.pk})
    assert answer.status_code == 422 and not Place.objects.exists()


def test_a_place_changes_its_name_and_back(as_ana, room):
    as_ana.post(at("place-change", room), {"name": "Boat shed", "unit": "kg"})
    room.refresh_from_db()
    assert room.name == "Boat shed"
    entry = JournalEntry.objects.get(act="place.change")
    as_ana.post(reverse("undo", args=[entry.public_id]))
    room.refresh_from_db()
    assert room.name == "Net Loft room"


def test_a_barbell_with_its_plates(as_ana, room):
    as_ana.post(at("station-new", room) + "?kind=barbell", bar(plates=PLATES))
    station = room.stations.get()
    assert station.loads == {
        "bars": [{"name": "long bar", "weight": "20", "unit": "kg"}],
        "plates": [{"weight": "20", "unit": "kg", "count": 4}, {"weight": "2.5", "unit": "kg", "count": 2}],
        "collars": "0",
    }
    assert PlaceLoads(room).of_station(station).loads == (20, 25, 60, 65, 100, 105)
    html = as_ana.get(at("place", room)).content.decode()
    assert "long bar 20 kg: 20–105 kg" in html and "20 kg × 4, 2.5 kg × 2" in html
    form = as_ana.get(at("station", room, station.public_id)).content.decode()
    assert 'value="long bar"' in form and 'value="2.5"' in form


def test_a_bar_of_unknown_weight_counts_plates_alone(as_ana, room):
    bars = [{"name": "old bar", "weight": "", "unit": "kg"}]
    as_ana.post(at("station-new", room) + "?kind=barbell", bar(bars=bars, plates=PLATES))
    assert room.stations.get().loads["bars"][0]["weight"] is None
    assert "old bar of unknown weight, plates alone" in as_ana.get(at("place", room)).content.decode()


def test_a_machine_with_one_sleeve_takes_plates_one_by_one(as_ana, room):
    plates = [{"weight": "10", "unit": "kg", "count": "3"}]
    bars = [{"name": "arm", "weight": "", "unit": "kg"}]
    as_ana.post(at("station-new", room) + "?kind=t_bar_row", bar(bars=bars, plates=plates, sides="1"))
    station = room.stations.get()
    assert station.loads["sides"] == 1
    assert PlaceLoads(room).of_station(station).loads == (0, 10, 20, 30)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"bars-0-weight": "twenty"}, "Write a weight between 0 and 500"),
        ({"plates-0-count": ""}, "Fill this in, or empty the row"),
        ({"plates-0-count": "two"}, "Enter a whole number"),
        ({"collars": "x"}, "Write a weight between 0 and 20"),
        ({"count": "0"}, "Write 1 or more."),
        ({"name": "x" * 61}, "Write at most 60 characters; this is 61 long."),
    ],
)
def test_wrong_bars_and_plates_are_said_and_stay_as_typed(as_ana, room, changes, said):
    answer = as_ana.post(at("station-new", room) + "?kind=barbell", bar(plates=PLATES) | changes)
    html = answer.content.decode()
    assert answer.status_code == 422 and said in html
    assert all(f'value="{value}"' in html for value in changes.values() if value)
    assert 'value="long bar"' in html
    assert not room.stations.exists()


def test_neither_bar_nor_plates_is_nothing_to_lift(as_ana, room):
    answer = as_ana.post(at("station-new", room) + "?kind=barbell", bar(bars=()))
    assert answer.status_code == 422 and "at least one bar or one size of plate" in answer.content.decode()


def test_more_rows_keep_what_was_typed(as_ana, room):
    data = bar(plates=PLATES) | {"go": "rows", "plates-0-count": "two"}
    html = as_ana.post(at("station-new", room) + "?kind=barbell", data).content.decode()
    assert 'value="two"' in html and 'class="error"' not in html and 'name="plates-6-weight"' in html
    assert not room.stations.exists()


@pytest.mark.parametrize(
    ("kind", "data", "loads"),
    [
        ("dumbbell", {"weights": "2–6 by 2, 7.5", "unit": "kg"}, {"list": ["2", "4", "6", "7.5"]}),
        ("kettlebell", {"weights": "35, 53", "unit": "lb"}, {"list": ["35", "53"]}),
        (
            "cable",
            {"marked": "weights", "holes": "5, 12, 19", "add_ons": "2.3", "unit": "kg"},
            {"holes": ["5", "12", "19"], "add_ons": ["2.3"]},
        ),
        ("cable", {"marked": "numbers", "settings": "15", "unit": "kg"}, {"settings": 15}),
        ("band", {"bands": "yellow\n green \n\nred"}, {"bands": ["yellow", "green", "red"]}),
    ],
)
def test_each_kind_has_a_form_that_fits(as_ana, room, kind, data, loads):
    full = {"name": "", "count": "1", "note": ""} | data
    as_ana.post(at("station-new", room) + f"?kind={kind}", full)
    station = room.stations.get()
    assert station.loads == loads and station.unit == data.get("unit", "kg")
    # What is stored fills the form again, and saving it changes nothing.
    page = as_ana.get(at("station", room, station.public_id))
    assert page.status_code == 200
    as_ana.post(at("station", room, station.public_id), full)
    assert not JournalEntry.objects.filter(act="station.change").exists()


@pytest.mark.parametrize(
    ("kind", "data", "said"),
    [
        ("dumbbell", {"weights": "2–20", "unit": "kg"}, "in which steps"),
        ("dumbbell", {"weights": "", "unit": "kg"}, "Fill this in"),
        ("cable", {"marked": "weights", "holes": "", "unit": "kg"}, "Write the weights"),
        ("cable", {"marked": "numbers", "settings": "", "unit": "kg"}, "how many numbers"),
        ("band", {"bands": "red\nred"}, "the same name"),
    ],
)
def test_loads_that_do_not_fit_are_said(as_ana, room, kind, data, said):
    answer = as_ana.post(at("station-new", room) + f"?kind={kind}", {"name": "left one", "count": "1"} | data)
    assert answer.status_code == 422 and said in answer.content.decode()
    assert 'value="left one"' in answer.content.decode()
    assert not room.stations.exists()


def test_a_row_machine_may_have_a_stack(as_ana, room):
    address = at("station-new", room) + "?kind=row_machine&way=stack"
    as_ana.post(address, {"name": "", "count": "1", "marked": "weights", "holes": "5–25 by 5", "unit": "kg"})
    station = room.stations.get()
    assert PlaceLoads(room).of_station(station).loads == (5, 10, 15, 20, 25)
    exercise = terms.Exercise(
        key="x",
        name="x",
        pattern="horizontal_pull",
        role="main",
        regions=(),
        implement="row_machine",
        load_entry="stack",
    )
    assert PlaceLoads(room).for_exercise(exercise).rack.loads == (5, 10, 15, 20, 25)


def test_ticks_say_what_is_just_there(as_ana, room):
    as_ana.post(at("place-apparatus", room), {"here": ["flat_bench", "squat_stand"]})
    assert {station.kind for station in room.stations.all()} == {"flat_bench", "squat_stand"}
    as_ana.post(at("place-apparatus", room), {"here": ["flat_bench"]})
    assert {row.kind for row in room.stations.filter(count__gt=0)} == {"flat_bench"}
    as_ana.post(at("place-apparatus", room), {"here": ["flat_bench", "squat_stand"]})
    assert room.stations.filter(count__gt=0).count() == room.stations.count() == 2
    answer = as_ana.post(at("place-apparatus", room), {"here": ["trampoline"]})
    assert answer.status_code == 422


def test_a_station_that_was_used_stays_in_the_records(as_ana, room):
    unused = StationFactory(place=room)
    used = BarbellFactory(place=room)
    PrescriptionFactory(session__block__client__practice=room.practice, station=used)
    for station in (unused, used):
        as_ana.post(at("station-remove", room, station.public_id))
    assert list(room.stations.values_list("pk", "count")) == [(used.pk, 0)]
    html = as_ana.get(at("place", room)).content.decode()
    assert "No longer there" in html
    entry = JournalEntry.objects.filter(act="station.remove").last()
    as_ana.post(reverse("undo", args=[entry.public_id]))
    assert Station.objects.filter(pk=unused.pk).exists()


def test_not_here_today_leaves_the_place_as_it_is(as_ana, room):
    station = BarbellFactory(place=room)
    today = timezone.localdate()
    as_ana.post(at("station-away", room, station.public_id), {"day": today.isoformat(), "plates": "1.25 × 4"})
    absence = StationAbsence.objects.get()
    assert absence.plates == [{"weight": "1.25", "unit": "kg", "count": 4}]
    assert PlaceLoads(room, None, today).of_station(station).up(60) == 65
    assert PlaceLoads(room, None, today + timedelta(days=1)).of_station(station).up(60) == 62.5
    assert "not here today: 1.25 kg × 4" in as_ana.get(at("place", room)).content.decode()
    as_ana.post(at("station-back", room, station.public_id), {"day": today.isoformat()})
    assert not StationAbsence.objects.exists()


def test_plates_that_are_not_there_can_not_be_away(as_ana, room):
    station = BarbellFactory(place=room)
    answer = as_ana.post(at("station-away", room, station.public_id), {"day": "2026-03-02", "plates": "7 × 2"})
    assert answer.status_code == 422 and "no plate of 7 kg here" in answer.content.decode()
    assert 'value="7 × 2"' in answer.content.decode()


def test_own_small_plates_go_on_the_bars_of_any_place_and_are_no_bar(as_ana, ben, room):
    station = BarbellFactory(place=room)
    as_ana.post(reverse("item-new", args=[ben.public_id]), {"kind": "plate", "loads": "0.5 × 2"})
    item = ben.items.get()
    assert item.loads == {"plates": [{"weight": "0.5", "unit": "kg", "count": 2}], "list": ["0.5"]}
    assert PlaceLoads(room, ben).for_exercise(bench()).rack.up(60) == 61
    assert PlaceLoads(room).of_station(station).up(60) == 62.5
    empty = PlaceFactory(practice=room.practice)
    assert PlaceLoads(empty, ben).for_exercise(bench()).rack.loads in ((), (0.0,))
    html = as_ana.get(reverse("client", args=[ben.public_id])).content.decode()
    assert "loose plates, 0.5 kg × 2" in html
    as_ana.post(reverse("item-remove", args=[ben.public_id, item.public_id]))
    assert not ClientItem.objects.exists()


def test_a_bar_in_an_anchor_carries_plates_on_its_free_end_alone(room):
    BarbellFactory(place=room)
    offered = PlaceLoads(room)
    assert offered.for_exercise(bench()).rack.loads[:2] == (20, 22.5)
    put_on = offered.for_exercise(replace(bench(), load_entry="added", needs_all=("bar_anchor",))).rack
    assert put_on.loads[:3] == (0, 1.25, 2.5)
    loading = put_on.loading(11.25)
    assert loading.bar is None and loading.sides == 1 and sum(weight for weight, _ in loading.per_side) == 11.25
    whole = offered.for_exercise(replace(bench(), needs_all=("bar_anchor",))).rack
    assert whole.loads[:2] == (20, 21.25)


@pytest.mark.parametrize(
    ("needs", "words", "heading"),
    [(("bar_anchor",), "on the sleeve 10", "On the sleeve"), ((), "per side 5", "Per side")],
)
def test_a_sheet_says_where_the_plates_go(room, needs, words, heading):
    BarbellFactory(place=room)
    entry = "added" if needs else "total"
    rack = PlaceLoads(room).for_exercise(replace(bench(), load_entry=entry, needs_all=needs)).rack
    plates = document.plates_of(rack, 10.0 if needs else 30.0)
    assert wording.put_on_words(plates, "kg") == words and wording.plates_heading(plates) == heading
    assert wording.bar_words(plates) == ("plates alone count" if needs else "bar 20\u00a0kg")


def bench():
    return terms.Exercise(
        key="x", name="x", pattern="horizontal_push", role="main", regions=(), implement="barbell", load_entry="total"
    )


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"kind": "plate", "loads": ""}, "Say which ones"),
        ({"kind": "plate", "loads": "small"}, "Write weight and number"),
        ({"kind": "dumbbell", "loads": "2–20"}, "in which steps"),
    ],
)
def test_what_is_brought_has_to_be_said(as_ana, ben, data, said):
    answer = as_ana.post(reverse("item-new", args=[ben.public_id]), data)
    assert answer.status_code == 422 and said in answer.content.decode()
    assert not ben.items.exists()


def test_strangers_find_no_place(as_cleo, as_ana, room):
    station = StationFactory(place=room)
    elsewhere = PlaceFactory(practice=room.practice)
    assert as_cleo.get(at("place", room)).status_code == 404
    assert "Net Loft" not in as_cleo.get(reverse("places")).content.decode()
    assert as_cleo.post(at("station-remove", room, station.public_id)).status_code == 404
    assert as_ana.get(at("station", elsewhere, station.public_id)).status_code == 404
    assert as_ana.get(at("station-new", room) + "?kind=flat_bench").status_code == 404
    assert as_ana.get(at("station-remove", room, station.public_id)).status_code == 405
    assert Station.objects.filter(pk=station.pk).exists()


@pytest.mark.parametrize("count", [1, 30])
def test_a_place_costs_the_same_however_full(as_ana, room, count, django_assert_num_queries):
    for _number in range(count):
        StationFactory(place=room)
        BarbellFactory(place=room)
    with django_assert_num_queries(8):
        html = as_ana.get(at("place", room)).content.decode()
    assert html.count('<th scope="row">') == 2 * count


@pytest.mark.parametrize("count", [1, 30])
def test_the_list_of_places_costs_the_same(as_ana, ana, count, django_assert_num_queries):
    PlaceFactory.create_batch(count, practice=ana.practice)
    with django_assert_num_queries(3):
        html = as_ana.get(reverse("places")).content.decode()
    assert html.count('<th scope="row">') == count
