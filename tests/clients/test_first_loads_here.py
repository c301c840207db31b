"""A first load stands on what says something at this place: in the unit of its rack, and of a machine on this one."""

from datetime import timedelta

import pytest

from clients.clock import today_for
from clients.reads.library import exercise_term
from clients.reads.starting import Starting
from programs.engine.compose.request import Slot
from programs.units import load_of
from tests.factories import ExerciseFactory, LoggedSetFactory, PlaceFactory, StationFactory

STACK = {"holes": [str(5 * hole) for hole in range(1, 41)]}


@pytest.fixture
def room(ana):
    return PlaceFactory(practice=ana.practice)


def slot():
    return Slot("press", "full", ("pec_stern",), "secondary", 3, 3, reps=((8, 8),))


def first(ben, place, exercise):
    starting = Starting.gather(ben, place, today_for(ben), {exercise.key: exercise.pk})
    return starting.load(exercise_term(exercise), slot(), 0, 2.0)


def did(ben, exercise, place, load, unit="kg", station=None, days_ago=3):
    LoggedSetFactory(
        client=ben,
        exercise=exercise,
        place=place,
        station=station,
        load=load_of(load, unit),
        reps=8,
        rir=2,
        performed_on=today_for(ben) - timedelta(days=days_ago),
    )


def test_a_rack_marked_in_pounds_at_a_place_in_kilograms_is_asked_in_pounds(ben, room):
    StationFactory(place=room, unit="lb", loads={"list": [str(weight) for weight in range(5, 105, 5)]})
    press = ExerciseFactory(practice=ben.practice)
    did(ben, press, room, 50, "lb")
    found = first(ben, room, press)
    assert found.load == 50
    assert found.reasons[0].params["load"] == 50 and found.reasons[0].params["unit"] == "lb"


def test_another_machines_figures_are_no_first_load_here(ben, room, ana):
    elsewhere = PlaceFactory(practice=ana.practice)
    for place in (room, elsewhere):
        StationFactory(place=place, kind="leg_extension_machine", loads=STACK)
    curl = ExerciseFactory(practice=ben.practice, implement="leg_extension_machine", load_entry="stack")
    did(ben, curl, elsewhere, 100)
    found = first(ben, room, curl)
    assert (found.load, found.find) == (None, True)
    did(ben, curl, room, 60)
    assert first(ben, room, curl).load == 60


def test_nor_are_those_of_the_other_one_in_the_same_room(ben, room):
    here = StationFactory(place=room, kind="leg_extension_machine", loads=STACK)
    other = StationFactory(place=room, kind="leg_extension_machine", loads=STACK)
    curl = ExerciseFactory(practice=ben.practice, implement="leg_extension_machine", load_entry="stack")
    did(ben, curl, room, 100, station=other)
    assert first(ben, room, curl).find
    did(ben, curl, room, 40, station=here, days_ago=4)
    assert first(ben, room, curl).load == 40


def test_a_dumbbell_is_the_same_wherever_it_was_lifted(ben, room, ana):
    StationFactory(place=room)
    press = ExerciseFactory(practice=ben.practice)
    did(ben, press, PlaceFactory(practice=ana.practice), 20)
    assert first(ben, room, press).load == 20
