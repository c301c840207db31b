"""The one door in: written once, whatever arrives how often and in which order."""

from decimal import Decimal
from itertools import permutations

import pytest

from clients import receiving
from clients.models import LoggedSet, LoggedSetRevision, PainReport, SheetVersion, TrainingSession
from clients.receiving import Arrival, PartValues, SetValues
from clients.receiving.pain import held_back, is_held
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.units import Load, load_of
from tests.factories import MONDAY, ExerciseFactory, LoggedSetFactory, PrescriptionFactory, TrainingSessionFactory

ON_PHONE = Arrival(way="phone", performed_on=MONDAY)


@pytest.fixture
def version(ben):
    session = TrainingSessionFactory(block__client=ben)
    line = PrescriptionFactory(session=session)
    document = {
        "lines": [
            {
                "number": 1,
                "free": False,
                "slot": line.slot_key,
                "exercise": {"id": line.exercise.key},
                "sets": [
                    {"number": number, "load": {"value": "20", "unit": "kg"}, "reps": [6, 8]} for number in (1, 2, 3)
                ],
            }
        ]
    }
    return SheetVersion.objects.create(session=session, number=1, document=document, digest="d" * 64)


def done(reps=8, load="20", rir="2", **more):
    return SetValues(reps=reps, load=load_of(load, "kg", load), rir=None if rir is None else Decimal(rir), **more)


def take(ben, version, values, key, number=1, arrival=ON_PHONE):
    return receiving.take_set(ben, version, 1, number, values, key=key, arrival=arrival)


def test_a_set_is_kept_as_it_was_typed(ben, version):
    received = take(ben, version, SetValues(reps=8, load=Load(Decimal("22.5"), "kg", "22,5")), "a")
    logged = LoggedSet.objects.get()
    assert received.outcome == "new"
    assert (logged.load_value, logged.load_unit, logged.load_text, logged.load_grams) == (
        Decimal("22.5"),
        "kg",
        "22,5",
        22500,
    )
    assert logged.rir is None
    assert (logged.line, logged.number, logged.session, logged.version) == (1, 1, version.session, version)


def test_the_first_set_makes_the_session_trained_on_the_day_it_was_performed(ben, version):
    take(ben, version, done(), "a")
    session = TrainingSession.objects.get()
    assert (session.state, session.trained_on) == ("trained", MONDAY)


def test_same_key_and_content_again_is_nothing(ben, version):
    first = take(ben, version, done(), "a")
    again = take(ben, version, done(), "a")
    assert again.outcome == "known"
    assert again.logged.pk == first.logged.pk
    assert LoggedSet.objects.count() == 1


def test_two_truly_equal_sets_stay_two(ben, version):
    take(ben, version, done(), "a", number=1)
    take(ben, version, done(), "b", number=2)
    assert LoggedSet.objects.counting().count() == 2


def test_same_key_with_other_content_is_an_edit_that_keeps_the_old_values(ben, version):
    take(ben, version, done(reps=18), "a")
    edited = take(ben, version, done(reps=8), "a")
    assert edited.outcome == "edited"
    logged = LoggedSet.objects.get()
    assert (logged.reps, logged.revision) == (8, 2)
    assert LoggedSetRevision.objects.get().values["reps"] == 18


def test_another_key_with_the_same_values_is_the_same_set(ben, ana, version):
    take(ben, version, done(), "phone")
    typed = take(ben, version, done(), "paper", arrival=Arrival(way="paper", performed_on=MONDAY, recorded_by=ana))
    assert typed.outcome == "known"
    assert LoggedSet.objects.count() == 1


def test_another_key_with_other_values_keeps_both_and_asks(ben, version):
    take(ben, version, done(reps=8), "phone")
    take(ben, version, done(reps=6), "paper")
    assert sorted(LoggedSet.objects.values_list("reps", "state")) == [(6, "asked"), (8, "asked")]
    assert not LoggedSet.objects.counting().exists()


def test_sets_arriving_in_any_order_end_the_same(ben, version):
    ways = set()
    for order in permutations([("a", 1, 8), ("b", 2, 7), ("c", 2, 6), ("a", 1, 8)]):
        LoggedSet.objects.all().delete()
        for key, number, reps in order:
            take(ben, version, done(reps=reps), key, number=number)
        ways.add(tuple(sorted(LoggedSet.objects.values_list("key", "number", "reps", "state"))))
    assert len(ways) == 1


def test_settling_one_of_two_answers_takes_the_other_back_and_can_be_undone(ben, ana, version):
    take(ben, version, done(reps=8), "phone")
    take(ben, version, done(reps=6), "paper")
    receiving.settle(LoggedSet.objects.get(key="paper"), counts=True, coach=ana)
    assert dict(LoggedSet.objects.values_list("key", "state")) == {"phone": "back", "paper": "counts"}
    journal.undo(JournalEntry.objects.get(), ana)
    assert set(LoggedSet.objects.values_list("state", flat=True)) == {"asked"}


def test_taking_back_frees_the_line_and_a_late_retry_adds_nothing(ben, version):
    take(ben, version, done(), "a")
    receiving.take_back(ben, "a")
    assert TrainingSession.objects.get().state == "planned"
    assert take(ben, version, done(), "a").outcome == "known"
    assert not LoggedSet.objects.counting().exists()
    take(ben, version, done(reps=7), "b")
    assert LoggedSet.objects.counting().get().reps == 7


def test_taking_one_of_two_answers_back_settles_the_other(ben, version):
    take(ben, version, done(reps=8), "a")
    take(ben, version, done(reps=6), "b")
    receiving.take_back(ben, "b")
    assert LoggedSet.objects.get(key="a").state == "counts"


def test_a_coach_corrects_a_set_with_its_parts_and_can_undo(ben, ana, version):
    dropped = done(parts=(PartValues("drop", reps=6, load=load_of(16, "kg")),))
    take(ben, version, dropped, "a")
    receiving.edit_set(LoggedSet.objects.get(), done(reps=9), ana)
    assert LoggedSet.objects.get().parts.count() == 0
    journal.undo(JournalEntry.objects.get(), ana)
    logged = LoggedSet.objects.get()
    assert (logged.reps, [part.reps for part in logged.parts.all()]) == (8, [6])
    assert LoggedSetRevision.objects.count() == 0


@pytest.mark.parametrize(
    ("typed", "code"),
    [("44.1", "other_unit"), ("200", "ten_times"), ("2", "tenth"), ("40", "both_for_one")],
)
def test_odd_loads_are_asked_about_and_do_not_count_yet(ben, version, typed, code):
    exercise = version.session.prescriptions.get().exercise
    LoggedSetFactory.create_batch(6, client=ben, exercise=exercise, place=version.session.block.place)
    received = take(ben, version, done(load=typed), "a")
    assert received.asked
    assert received.logged.doubts[0]["code"] == code
    assert received.logged.load_text == typed


def test_a_step_up_after_a_flat_history_is_not_odd(ben, version):
    exercise = version.session.prescriptions.get().exercise
    LoggedSetFactory.create_batch(10, client=ben, exercise=exercise, place=version.session.block.place)
    assert not take(ben, version, done(load="22"), "a").asked


def test_a_line_the_sheet_does_not_have_is_refused(ben, version):
    from django.http import Http404

    with pytest.raises(Http404):
        receiving.take_set(ben, version, 9, 1, done(), key="a", arrival=ON_PHONE)


def test_a_swap_keeps_what_was_really_done(ben, version):
    other = ExerciseFactory(practice=ben.practice)
    take(ben, version, done(), "a", arrival=Arrival(way="phone", performed_on=MONDAY, exercise=other))
    assert LoggedSet.objects.get().exercise == other


def test_a_superseded_sheet_still_takes_its_log(ben, version):
    version.state = SheetVersion.State.SUPERSEDED
    version.save()
    assert take(ben, version, done(), "a").outcome == "new"


@pytest.mark.parametrize(
    ("score", "alarms", "action", "state"),
    [(2, (), "go_on", "answered"), (3, (), "freeze", "open"), (5, (), "stop", "open"), (1, ("sharp",), "stop", "open")],
)
def test_pain_is_banded_and_asks_for_the_coach_from_three(ben, score, alarms, action, state):
    received = receiving.take_pain(
        ben, key="p", score=score, body_part="shoulder", side="left", felt_on=MONDAY, alarms=alarms
    )
    assert (received.action.action, received.report.action, received.report.state) == (action, action, state)


def test_the_same_pain_report_twice_is_one(ben):
    for _ in range(2):
        receiving.take_pain(ben, key="p", score=4, body_part="knee", side="right", felt_on=MONDAY)
    assert PainReport.objects.count() == 1


def test_pain_holds_back_what_loads_the_place_until_the_coach_answers(ben, ana):
    receiving.take_pain(ben, key="p", score=4, body_part="knee", side="right", felt_on=MONDAY)
    squat = {"pattern": "squat", "joints": ["knee_deep_flexion"], "regions": ["vasti"]}
    press = {"pattern": "horizontal_push", "joints": ["elbow"], "regions": ["pec_stern"]}
    holds = held_back(ben)
    assert is_held(squat, holds) and not is_held(press, holds)
    receiving.answer_pain(PainReport.objects.get(), ana, "Box squats this week.")
    assert held_back(ben) == []


def test_a_place_nothing_is_known_of_holds_back_the_whole_session(ben):
    receiving.take_pain(ben, key="p", score=6, body_part="elsewhere", side="both", felt_on=MONDAY)
    assert is_held({"pattern": "neck", "joints": [], "regions": []}, held_back(ben))


def test_a_late_retry_does_not_put_back_what_a_coach_corrected(ana, ben, version):
    take(ben, version, done(reps=8), "a")
    receiving.edit_set(LoggedSet.objects.get(), done(reps=7), ana)
    assert take(ben, version, done(reps=8), "a").outcome == "known"
    assert LoggedSet.objects.get().reps == 7


def test_a_coach_takes_a_set_back_and_brings_it_again(ana, ben, version):
    take(ben, version, done(), "a")
    receiving.take_back(ben, "a", coach=ana)
    version.session.refresh_from_db()
    assert version.session.state == TrainingSession.State.PLANNED
    journal.undo(JournalEntry.objects.get(act="log.take_back"), ana)
    version.session.refresh_from_db()
    assert LoggedSet.objects.get().state == LoggedSet.State.COUNTS
    assert version.session.state == TrainingSession.State.TRAINED


def test_a_session_can_be_received_before_any_sheet_went_out(ana, ben):
    line = PrescriptionFactory(session__block__client=ben)
    sheet_line = {"number": 1, "slot": line.slot_key, "exercise": {"id": line.exercise.key}, "sets": []}
    arrival = Arrival(way="paper", performed_on=MONDAY, recorded_by=ana)
    receiving.take_session_set(ben, line.session, sheet_line, 1, done(), key="a", arrival=arrival)
    logged = LoggedSet.objects.get()
    assert (logged.session, logged.line, logged.number, logged.version) == (line.session, 1, 1, None)
