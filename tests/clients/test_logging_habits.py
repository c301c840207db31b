"""What a log's figures give away about themselves: told to the coach quietly, and to nobody else."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clients.models import Condition, LoggedSet, Prescription
from clients.sheets import printed
from programs.engine.progress.honesty import last_check
from programs.engine.terms import Exposure, SetDone
from programs.units import columns, load_of
from tests.clients.sheets import add_line, handed_out, session_for
from tests.clients.test_progress_page import MONDAY, TODAY, block, page, squat, trained
from tests.factories import ExerciseFactory
from tests.pages import text_of

__all__ = ["block", "squat"]  # fixtures

QUIET = ("ratings", "contradict", "ticked as planned", "than was said", "Only coaches see this")


def check_set(block, squat, session, reps):
    LoggedSet.objects.create(
        client=block.client,
        key="check",
        exercise=squat,
        session=session,
        line=1,
        number=9,
        order=9,
        slot_key="squat",
        occurrence=0,
        place=block.place,
        kind="check",
        reps=reps,
        rir=0,
        performed_on=session.trained_on,
        way="phone",
        **columns(load_of(80, "kg")),
    )


def test_the_same_figures_six_times_running_are_a_question(as_ana, ben, block, squat):
    for weeks_ago in range(6, 0, -1):
        trained(block, squat, weeks_ago, 80, rir=1)
    answer = page(as_ana, ben)
    said = text_of(answer)
    assert "6 sessions running with the same figures." in said and "Only coaches see this." in said
    assert reverse("progression", args=[ben.public_id, squat.public_id]) in answer.content.decode()


@pytest.mark.parametrize(
    ("reps", "words"),
    [
        (13, "The check set showed 4 reps more than was said."),
        (10, "1 rep more than was said."),
        (9, "as was said."),
        (7, "2 reps fewer than was said."),
        (5, "The check set showed 4 reps fewer than was said; the ratings don’t count for now."),
    ],
)
def test_the_last_check_set_is_told_with_its_gap(as_ana, ben, block, squat, reps, words):
    session = trained(block, squat, 1, 80, rir=1)
    check_set(block, squat, session, reps)
    assert words in text_of(page(as_ana, ben))


def test_only_ticks_are_a_question(as_ana, ben, block, squat):
    for weeks_ago in (2, 1):
        trained(block, squat, weeks_ago, 80)
    LoggedSet.objects.update(as_planned=True)
    assert "All sets of 21 days were ticked as planned, none typed." in text_of(page(as_ana, ben))
    LoggedSet.objects.filter(number=1).update(as_planned=False)
    assert "ticked as planned" not in text_of(page(as_ana, ben))


def test_sets_that_contradict_each_other_are_a_question(as_ana, ben, block, squat):
    session = trained(block, squat, 0, 80, reps=(8, 11, 14, 17), rir=1)
    LoggedSet.objects.update(performed_on=TODAY - timedelta(days=1))
    assert "3 sets in 14 days contradict their ratings" in text_of(page(as_ana, ben))
    assert session.prescriptions.count() == 1


def test_nobody_whose_effort_is_bounded_is_sent_near_failure_to_find_out(as_ana, ben, block, squat):
    trained(block, squat, 0, 80, reps=(8, 11, 14, 17), rir=1)
    LoggedSet.objects.update(performed_on=TODAY - timedelta(days=1))
    advice = "let the last set of one machine go to 0–1 in reserve"
    said = text_of(page(as_ana, ben))
    assert advice in said and "a check set would tell" in said and "Ask for a check set" in said
    Condition.objects.create(client=ben, code="pregnant", since=TODAY - timedelta(days=60))
    said = text_of(page(as_ana, ben))
    assert "3 sets in 14 days contradict their ratings." in said
    assert advice not in said and "check set" not in said


def test_an_ordinary_log_says_nothing_of_itself(as_ana, ben, block, squat):
    for weeks_ago in range(4, 0, -1):
        trained(block, squat, weeks_ago, 80 + weeks_ago)
    said = text_of(page(as_ana, ben))
    assert not any(words in said for words in QUIET)


def test_it_costs_no_query_of_its_own(as_ana, ana, ben, block):
    def asked(lifts):
        for number in range(lifts):
            squat = ExerciseFactory(practice=ana.practice, name=f"Squat {lifts}.{number}", load_entry="total")
            for weeks_ago in range(6, 0, -1):
                trained(block, squat, weeks_ago, 80, rir=1)
        page(as_ana, ben)
        with CaptureQueriesContext(connection) as queries:
            assert text_of(page(as_ana, ben)).count("sessions running with the same figures") >= lifts
        return len(queries)

    assert asked(1) == asked(6)


def test_nothing_of_it_reaches_the_client(as_ana, as_ben, ben):
    """On the phone, on both papers, and however a proposal with such a reason was accepted."""
    session = session_for(ben)
    line = add_line(session, load=("60", "kg"))
    exercise = line.exercise
    for day in range(3):
        for number, reps in enumerate((8, 11, 14), start=1):
            LoggedSet.objects.create(
                client=ben,
                key=f"{day}-{number}",
                exercise=exercise,
                reps=reps,
                rir=1,
                as_planned=False,
                performed_on=TODAY - timedelta(days=2 + day),
                way="phone",
                **columns(load_of(60, "kg")),
            )
    codes = ("ratings_read_low", "ratings_read_high", "check_set_suggested", "ratings_never_vary", "all_as_planned")
    params = {"by": 4, "signs": 3, "days": 14, "sessions": 6}
    Prescription.objects.update(reasons=[{"code": code, "params": params} for code in codes])
    version = handed_out(session)
    assert "contradict their ratings" in text_of(page(as_ana, ben))
    pages = [
        as_ben.get(reverse("sheet", args=[version.public_id])),
        as_ben.get(reverse("sheet-line", args=[version.public_id, 1])),
    ]
    said = [text_of(answer) for answer in pages]
    said += [repr(printed.context(version.document, 1, layout)["lines"]) for layout in ("phone", "paper")]
    assert not any(words in text for words in QUIET for text in said)


def test_the_latest_check_set_counts_and_its_day_is_known():
    def checked(day, reps):
        return Exposure(day, (SetDone(reps=8, load=60, rir=2), SetDone(reps=reps, load=60, rir=0, kind="check")))

    found = last_check([checked(MONDAY, 11), checked(MONDAY - timedelta(days=7), 15)])
    assert (found.day, found.gap) == (MONDAY, 1)
    assert last_check([Exposure(MONDAY, (SetDone(reps=8, load=60, rir=2),))]) is None
