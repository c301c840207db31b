"""Steps towards the work that were logged as sets: asked about once an exercise, and remembered."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from clients import receiving
from clients.clock import today_for
from clients.models import LoggedSet
from clients.reads.history import history_of
from clients.receiving import Arrival, SetValues
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.engine.dose import counted_sets
from programs.engine.progress.terms import WORK_KINDS
from programs.units import load_of
from tests.clients.sheets import add_line, handed_out, session_for
from tests.factories import LoggedSetFactory

RAMP = (60, 75, 85, 100)


@pytest.fixture
def version(ben):
    session = session_for(ben)
    add_line(session, sets=4, load=("100", "kg"))
    return handed_out(session)


def done(version, ben, day, loads=RAMP, key="a", order=None):
    arrival = Arrival(way="phone", performed_on=day)
    for number, load in order or enumerate(loads, start=1):
        values = SetValues(reps=6, load=load_of(load, "kg"), rir=Decimal(2))
        receiving.take_set(ben, version, 1, number, values, key=f"{key}{number}", arrival=arrival)


def asked(ben):
    rows = LoggedSet.objects.filter(client=ben, state=LoggedSet.State.ASKED).order_by("number")
    return [int(row.load_value) for row in rows]


@pytest.fixture(params=["nothing done before", "a long past at the same load"])
def ramp(request, ben, version):
    if request.param != "nothing done before":
        exercise = version.session.prescriptions.get().exercise
        place = version.session.place
        LoggedSetFactory.create_batch(8, client=ben, exercise=exercise, place=place, load=load_of(100, "kg"), reps=6)
    done(version, ben, today_for(ben))
    return version


def test_three_steps_and_one_set_are_asked_about_and_answered_once(as_ana, ana, ben, ramp):
    assert asked(ben) == [60, 75, 85]
    page = as_ana.get(reverse("session-log", args=[ramp.session.public_id])).content.decode()
    assert page.count("It was a warm-up") == 3
    for row in LoggedSet.objects.filter(state=LoggedSet.State.ASKED):
        as_ana.post(reverse("settle-set", args=[row.public_id]), {"answer": "warm_up"})
    exercise = ramp.session.prescriptions.get().exercise
    (today,) = [one for one in history_of(ben, "kg").of(exercise.pk) if one.day == today_for(ben)]
    assert [one.load for one in today.done if one.kind in WORK_KINDS] == [100]
    assert counted_sets(today.done) == 1
    # The next time nobody is asked.
    again = session_for(ben)
    add_line(again, sets=4, load=("100", "kg"))
    done(handed_out(again), ben, today_for(ben), key="b")
    assert asked(ben) == []
    assert list(again.logged_sets.order_by("number").values_list("kind", flat=True)) == ["warm_up"] * 3 + ["work"]


def test_as_many_are_to_be_checked_as_the_page_then_shows(as_ana, ana, ben, version):
    def typed(session):
        cells = {f"c-1-{number}": f"{load}x6@2" for number, load in enumerate(RAMP, start=1)}
        data = {"form_key": uuid4().hex, "day": today_for(ben).isoformat(), "go": "save", **cells}
        return as_ana.post(reverse("session-log", args=[session.public_id]), data, follow=True).content.decode()

    assert "4 sets taken in, 3 to be checked." in typed(version.session)
    for row in LoggedSet.objects.filter(state=LoggedSet.State.ASKED):
        as_ana.post(reverse("settle-set", args=[row.public_id]), {"answer": "warm_up"})
    again = session_for(ben)
    add_line(again, sets=4, load=("100", "kg"))
    handed_out(again)
    assert "4 sets taken in." in typed(again)


def test_a_day_on_which_all_is_light_is_work_until_somebody_says_otherwise(as_ana, ana, ben, ramp):
    for row in LoggedSet.objects.filter(state=LoggedSet.State.ASKED):
        as_ana.post(reverse("settle-set", args=[row.public_id]), {"answer": "warm_up"})
    again = session_for(ben)
    add_line(again, sets=4, load=("100", "kg"))
    done(handed_out(again), ben, today_for(ben), loads=(60, 60, 60), key="b")
    assert set(again.logged_sets.values_list("kind", flat=True)) == {"work"}


def test_what_the_phone_sends_again_stays_a_warm_up(as_ana, ana, ben, ramp):
    for row in LoggedSet.objects.filter(state=LoggedSet.State.ASKED):
        as_ana.post(reverse("settle-set", args=[row.public_id]), {"answer": "warm_up"})
    again = session_for(ben)
    add_line(again, sets=4, load=("100", "kg"))
    version = handed_out(again)
    for _once_more in range(2):
        done(version, ben, today_for(ben), key="b")
    kinds = again.logged_sets.order_by("number").values_list("kind", flat=True)
    assert list(kinds) == ["warm_up"] * 3 + ["work"]
    # Another number of reps changes nothing of that; another load may be the work.
    values = SetValues(reps=5, load=load_of(60, "kg"), rir=Decimal(2))
    arrival = Arrival(way="phone", performed_on=today_for(ben))
    receiving.take_set(ben, version, 1, 1, values, key="b1", arrival=arrival)
    assert (again.logged_sets.get(number=1).reps, again.logged_sets.get(number=1).kind) == (5, "warm_up")
    values = SetValues(reps=5, load=load_of(100, "kg"), rir=Decimal(2))
    receiving.take_set(ben, version, 1, 1, values, key="b1", arrival=arrival)
    assert again.logged_sets.get(number=1).kind == "work"


def test_the_answer_can_be_taken_back(as_ana, ana, ben, ramp):
    row = LoggedSet.objects.filter(state=LoggedSet.State.ASKED).first()
    as_ana.post(reverse("settle-set", args=[row.public_id]), {"answer": "warm_up"})
    row.refresh_from_db()
    assert (row.kind, row.state) == ("warm_up", LoggedSet.State.COUNTS)
    journal.undo(JournalEntry.objects.get(act="log.edit"), ana)
    row.refresh_from_db()
    assert (row.kind, row.state) == ("work", LoggedSet.State.ASKED)


def test_they_may_have_been_work(as_ana, ben, ramp):
    row = LoggedSet.objects.filter(state=LoggedSet.State.ASKED).first()
    as_ana.post(reverse("settle-set", args=[row.public_id]), {"answer": "counts"})
    row.refresh_from_db()
    assert (row.kind, row.state) == ("work", LoggedSet.State.COUNTS)


def test_back_off_sets_and_lighter_days_within_a_tenth_are_work(ben, version):
    done(version, ben, today_for(ben), (100, 100, 92.5, 90))
    assert asked(ben) == []


def test_a_load_far_above_is_never_offered_as_a_warm_up(as_ana, ben, version):
    exercise = version.session.prescriptions.get().exercise
    LoggedSetFactory.create_batch(
        8, client=ben, exercise=exercise, place=version.session.place, load=load_of(100, "kg"), reps=6
    )
    done(version, ben, today_for(ben), (140,))
    row = LoggedSet.objects.get(state=LoggedSet.State.ASKED)
    assert as_ana.post(reverse("settle-set", args=[row.public_id]), {"answer": "warm_up"}).status_code == 404


@pytest.mark.parametrize("order", [(1, 0, 3, 2), (3, 2, 1, 0), (0, 3, 1, 2)])
def test_in_whatever_order_they_arrive(ben, version, order):
    done(version, ben, today_for(ben), order=[(at + 1, RAMP[at]) for at in order])
    assert asked(ben) == [60, 75, 85]


def test_a_client_who_lifts_less_than_asked_has_done_work(ben, version):
    done(version, ben, today_for(ben), (80, 80, 80, 80))
    assert asked(ben) == []


def test_what_was_answered_is_not_asked_again_when_more_comes(as_ana, ben, version):
    done(version, ben, today_for(ben), (60, 100))
    row = LoggedSet.objects.get(state=LoggedSet.State.ASKED)
    as_ana.post(reverse("settle-set", args=[row.public_id]), {"answer": "counts"})
    done(version, ben, today_for(ben), order=[(3, 100), (4, 100)], key="b")
    assert asked(ben) == []


def test_a_wave_that_rises_as_asked_is_work(ben):
    session = session_for(ben)
    line = add_line(session, sets=3, load=("100", "kg"))
    for target, load in zip(line.target_sets.all(), ("65", "75", "85"), strict=True):
        type(target).objects.filter(pk=target.pk).update(load_value=load, load_grams=int(load) * 1000)
    done(handed_out(session), ben, today_for(ben), (65, 75, 85))
    assert asked(ben) == []
