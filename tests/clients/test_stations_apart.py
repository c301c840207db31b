"""The same figure on another station is another load: what is kept of it, asked about it, and made of it."""

from datetime import timedelta

import pytest

from clients import receiving
from clients.models import LoggedSet, Proposal
from clients.reads.history import history_of
from clients.reads.review import Review
from clients.receiving import Arrival, SetValues
from clients.services import proposals, sheets
from programs.units import load_of
from tests.clients.trained import line_in, slot_in
from tests.factories import BlockFactory, ExerciseFactory, HealthAnswersFactory, StationFactory, TrainingSessionFactory


@pytest.fixture
def row(ana):
    return ExerciseFactory(
        practice=ana.practice,
        name="Cable row",
        pattern="horizontal_pull",
        implement="cable",
        load_entry="stack",
        regions={"lat": 4},
    )


@pytest.fixture
def block(ben, today):
    block = BlockFactory(client=ben, starts_on=today - timedelta(weeks=6), weeks=9)
    HealthAnswersFactory(client=ben, answered_on=block.starts_on)
    slot_in(block, key="row")
    return block


def station(block, name):
    return StationFactory(
        place=block.place, kind="cable", name=name, loads={"holes": [str(5 * hole) for hole in range(1, 21)]}
    )


def trained(block, row, on, where, load, today, reps=(8, 8, 8), rir=2):
    """A session with its sheet, received set by set as the phone sends them."""
    number = block.sessions.count() + 1
    session = TrainingSessionFactory(block=block, cycle=number, position=0, planned_on=on)
    line_in(session, row, slot="row", load=load_of(load, "kg"), station=where)
    version = sheets.issue_sheet(session, block.client.coach).version
    arrival = Arrival(way="phone", performed_on=on)
    for index, count in enumerate(reps, start=1):
        values = SetValues(reps=count, load=load_of(load, "kg"), rir=rir)
        receiving.take_set(block.client, version, 1, index, values, key=f"{session.pk}-{index}", arrival=arrival)
    return session


@pytest.fixture
def moved(ben, block, row, today):
    """Four weeks on the old station at 50, then one on the new one at 25."""
    old, new = station(block, "left cable"), station(block, "right cable")
    for weeks in range(5, 1, -1):
        trained(block, row, today - timedelta(weeks=weeks), old, 50, today)
    session = trained(block, row, today - timedelta(weeks=1), new, 25, today)
    return old, new, session


def test_a_set_keeps_the_station_that_its_sheet_names(moved):
    old, new, session = moved
    assert set(session.logged_sets.values_list("station", flat=True)) == {new.pk}
    assert LoggedSet.objects.filter(station=old).count() == 12


def test_half_the_figure_on_another_station_is_not_asked_about(moved):
    assert not LoggedSet.objects.filter(state=LoggedSet.State.ASKED).exists()


def test_a_stand_in_was_done_on_no_station_of_the_plans(ben, block, row, today):
    where = station(block, "left cable")
    session = TrainingSessionFactory(block=block, cycle=1, position=0, planned_on=today)
    line_in(session, row, slot="row", load=load_of(50, "kg"), station=where)
    version = sheets.issue_sheet(session, ben.coach).version
    press = ExerciseFactory(practice=ben.practice)
    arrival = Arrival(way="phone", performed_on=today, exercise=press)
    receiving.take_set(ben, version, 1, 1, SetValues(reps=8, load=load_of(20, "kg")), key="a", arrival=arrival)
    assert LoggedSet.objects.get().station is None


def next_on(block, row, where, ben, today):
    session = TrainingSessionFactory(block=block, cycle=block.sessions.count() + 1, position=0, planned_on=today)
    line_in(session, row, slot="row", station=where)
    proposals.refresh(ben)
    return Proposal.objects.waiting().get(session=session)


def test_a_move_begins_a_new_baseline_and_the_old_one_is_there_on_return(ben, block, row, today, moved):
    old, new, _session = moved
    back = next_on(block, row, new, ben, today)
    assert back.new["load"] in (25, 30) and "new_machine" not in {reason["code"] for reason in back.reasons}
    back.session.delete()
    home = next_on(block, row, old, ben, today)
    # A fortnight away from this one: 95 % of its own 50, rounded down, and nothing of the other's 25.
    assert (home.kind, home.new["load"]) == ("return", 45)


def test_a_third_station_is_found_anew(ben, block, row, today, moved):
    found = next_on(block, row, station(block, "tower"), ben, today)
    assert (found.kind, found.new["load"]) == ("find_load", None)
    assert "new_machine" in {reason["code"] for reason in found.reasons}


def test_the_trend_says_nothing_of_a_fall(ben, moved):
    lift = Review(ben).lifts[0]
    assert lift.trend.verdict != "regress"
    assert [point.left_out for point in lift.trend.points] == ["other_place"] * 4 + [""]


def test_sets_of_no_known_station_belong_to_every_one(ben, row, moved):
    old, _new, _session = moved
    LoggedSet.objects.filter(station=old).update(station=None)
    place = str(old.place_id)
    assert {one.place for one in history_of(ben, "kg").of(row.pk, place, old.pk)} == {place, f"{place}/{_new.pk}"}


def test_a_barbell_is_the_same_on_every_station_of_its_kind(ben, block, today, ana):
    squat = ExerciseFactory(practice=ana.practice, implement="barbell", load_entry="total")
    bars = [StationFactory(place=block.place, kind="barbell", loads={"plates": [], "bars": []}) for _ in range(2)]
    for weeks, bar in ((2, bars[0]), (1, bars[1])):
        trained(block, squat, today - timedelta(weeks=weeks), bar, 50, today)
    assert not any(point.left_out for point in Review(ben).lifts[0].trend.points)
