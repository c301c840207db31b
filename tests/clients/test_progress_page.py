"""Progress: what the page says of the last weeks, at the same cost for twelve weeks and for sixty."""

import re
from datetime import timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from clients.models import Bodyweight, GroupPriority, LoggedSet, PainReport, TargetSet, TrainingSession
from clients.progress_page import leading, quarters, signed, verdict_sentence
from clients.reads.review import WEEKS, Review
from programs.units import columns, load_of
from tests.factories import (
    BlockFactory,
    CoachFactory,
    ExerciseFactory,
    HealthAnswersFactory,
    LoggedSetFactory,
    PrescriptionFactory,
    ProposalFactory,
    TargetSetFactory,
    TrainingSessionFactory,
)
from tests.pages import text_of

TODAY = timezone.localdate(timezone=ZoneInfo("Europe/Helsinki"))  # where everybody in these tests lives
MONDAY = TODAY - timedelta(days=TODAY.weekday())


@pytest.fixture
def block(ben):
    HealthAnswersFactory(client=ben, answered_on=TODAY - timedelta(days=10))
    return BlockFactory(client=ben, starts_on=MONDAY - timedelta(weeks=80), weeks=90)


@pytest.fixture
def squat(ana):
    return ExerciseFactory(
        practice=ana.practice,
        name="Back squat",
        load_entry="total",
        implement="barbell",
        regions={"vasti": 4, "glute_max": 4, "erector": 2},
    )


def trained(block, squat, weeks_ago, load, *, reps=(8, 8, 8), rir=2, planned=3, **more):
    """One session on the Monday so many weeks ago, with its sets; nothing on a day that is still to come."""
    day = MONDAY - timedelta(weeks=weeks_ago)
    session = TrainingSessionFactory(
        block=block, planned_on=day, trained_on=day, state=TrainingSession.State.TRAINED, cycle=1, **more
    )
    line = PrescriptionFactory(session=session, exercise=squat, slot_key="squat", target_sets=None)
    TargetSet.objects.bulk_create(
        TargetSet(
            prescription=line, number=n, reps_low=6, reps_high=8, rir=2, rest_s=150, **columns(load_of(load, "kg"))
        )
        for n in range(1, planned + 1)
    )
    LoggedSet.objects.bulk_create(
        LoggedSet(
            client=block.client,
            key=f"{session.pk}-{n}",
            exercise=squat,
            session=session,
            line=1,
            number=n,
            order=n,
            slot_key="squat",
            occurrence=0,
            place=block.place,
            reps=count,
            rir=rir,
            performed_on=day,
            way="phone",
            **columns(load_of(load, "kg")),
        )
        for n, count in enumerate(reps, start=1)
    )
    return session


def rising(block, squat, weeks=12, step=1.0):
    for ago in range(weeks, -1, -1):
        trained(block, squat, ago, 80 + step * (weeks - ago))


def page(browser, client, query=""):
    return browser.get(reverse("client-progress", args=[client.public_id]) + query)


@pytest.mark.parametrize("weeks", [12, 60])
def test_the_page_costs_the_same_however_long_the_history(as_ana, ben, block, squat, weeks, django_assert_num_queries):
    rising(block, squat, weeks, 0.5)
    with django_assert_num_queries(27):
        response = page(as_ana, ben)
    assert response.status_code == 200


def test_without_logs_it_says_so(as_ana, ben):
    HealthAnswersFactory(client=ben)
    assert "Nothing is logged yet." in text_of(page(as_ana, ben))


def test_a_rising_lift_is_called_rising_with_its_interval(as_ana, ben, block, squat):
    rising(block, squat, step=0.3)
    response = page(as_ana, ben)
    text = text_of(response)
    assert re.search(r"Going up by [\d.]+ % a week, between [\d.]+ and [\d.]+\. From \d+ to \d+ kg\.", text)
    assert "trend-chart" in response.content.decode()


def test_a_flat_lift_is_not_called_rising(as_ana, ben, block, squat):
    rising(block, squat, step=0.0)
    assert "Going up" not in text_of(page(as_ana, ben))


def test_too_little_is_said_to_be_too_little(as_ana, ben, block, squat):
    rising(block, squat, weeks=2)
    assert "Can’t tell yet." in text_of(page(as_ana, ben))


def test_unknown_effort_draws_nothing_and_says_what_is_missing(as_ana, ben, block, squat):
    for ago in range(8, -1, -1):
        trained(block, squat, ago, 80, rir=None)
    response = page(as_ana, ben)
    assert "No session gives an estimate" in text_of(response)
    assert "trend-chart" not in response.content.decode()


def test_the_chart_is_also_a_table(as_ana, ben, block, squat):
    rising(block, squat, weeks=8)
    points = page(as_ana, ben, "?table=1").context["points"]
    assert len(points) == 9
    assert points[0]["set"].replace("\u00a0", " ") == "88 kg × 8"
    assert not page(as_ana, ben).context["points"]


def test_another_lift_can_be_looked_at(as_ana, ana, ben, block, squat):
    rising(block, squat, weeks=8)
    curl = ExerciseFactory(practice=ana.practice, name="Curl", role="isolation")
    LoggedSetFactory(client=ben, exercise=curl, performed_on=TODAY)
    assert page(as_ana, ben).context["lift"].exercise == squat
    assert page(as_ana, ben, f"?lift={curl.key}").context["lift"].exercise == curl
    assert [row["name"] for row in page(as_ana, ben).context["lifts"]] == ["Back squat", "Curl"]


def test_a_lift_left_off_long_ago_is_not_listed(ben, block, squat):
    for ago in range(14, 7, -1):
        trained(block, squat, ago, 80)
    assert Review(ben).lifts == []


def test_what_is_older_than_the_window_costs_nothing(ben, block, squat):
    trained(block, squat, WEEKS + 2, 80)
    trained(block, squat, 1, 90)
    (lift,) = Review(ben).lifts
    assert len(lift.exposures) == 1


def test_sets_are_counted_by_group_and_week(ben, block, squat):
    trained(block, squat, 1, 80)
    row = next(row for row in Review(ben).groups if row.group == "quads")
    assert [week.done for week in row.weeks][-1] == 3
    low_back = next(row for row in Review(ben).groups if row.group == "low_back")
    assert low_back.weeks[-1].done == 1.5
    assert row.weeks[-1].judgement.verdict == "under"


def test_easy_and_drop_sets_count_as_the_engine_says(ben, block, squat):
    trained(block, squat, 1, 80, reps=(8, 8), rir=5)
    row = next(row for row in Review(ben).groups if row.group == "quads")
    assert row.weeks[-1].done == 1


def test_an_easier_week_is_not_judged(ben, block, squat):
    trained(block, squat, 1, 80, deload=True)
    row = next(row for row in Review(ben).groups if row.group == "quads")
    assert row.weeks[-1].judgement is None


def test_this_week_shows_what_is_planned_and_what_is_done(ben, block, squat):
    trained(block, squat, 0, 80, reps=(8, 8), planned=4)
    row = next(row for row in Review(ben).groups if row.group == "quads")
    assert (row.planned.counted, row.done) == (4, 2)


def test_a_priority_moves_the_target(ben, block, squat):
    trained(block, squat, 1, 80)
    GroupPriority.objects.create(client=ben, group="quads", priority="more")
    usual = next(row for row in Review(ben).groups if row.group == "hamstrings").range
    more = next(row for row in Review(ben).groups if row.group == "quads").range
    assert more.low > usual.low


def test_sessions_missed_and_left_out_are_told_apart(as_ana, ben, block, squat):
    trained(block, squat, 2, 80)
    day = MONDAY - timedelta(weeks=1)
    for state, offset in (("missed", 0), ("dropped", 1), ("planned", 2)):
        TrainingSessionFactory(block=block, planned_on=day + timedelta(days=offset), state=state)
    review = Review(ben)
    assert review.attendance[-2] == ["missed", "excused", "missed"]
    assert review.adherence.sessions == pytest.approx(1 / 3)
    assert "1 of 3 in 3 weeks, 1 of 3 in the last four." in text_of(page(as_ana, ben))


def test_the_share_of_sets_that_were_only_confirmed(as_ana, ben, block, squat):
    trained(block, squat, 1, 80)
    LoggedSet.objects.filter(number=1).update(as_planned=True)
    assert "1 of 3 sets confirmed as planned, the rest typed." in text_of(page(as_ana, ben))


def test_effort_is_checked_against_the_next_set(as_ana, ben, block, squat):
    trained(block, squat, 0, 80, reps=(6, 10))
    text = text_of(page(as_ana, ben))
    assert "1 set easier than said" in text


def test_bodyweight_is_a_median_with_its_change(as_ana, ben, block, squat):
    trained(block, squat, 1, 80)
    for days in range(0, 28, 3):
        value = Decimal(80) + Decimal(days) / 10
        Bodyweight.objects.create(
            client=ben, measured_on=TODAY - timedelta(days=days), value=value, unit="kg", grams=int(value * 1000)
        )
    text = text_of(page(as_ana, ben))
    assert "80.3 kg, the median of seven days" in text
    assert "−0.7 kg a week over four weeks" in text


def test_pain_is_for_those_who_may_read_it(as_ana, ana, ben, block, squat):
    trained(block, squat, 1, 80)
    PainReport.objects.create(
        client=ben, key="k", body_part="knee", side="left", score=4, felt_on=TODAY, action="freeze"
    )
    assert "Left knee: 4 of 10" in text_of(page(as_ana, ben))
    browser = Browser()
    browser.force_login(CoachFactory(practice=ana.practice, sees_health=False))
    response = page(browser, ben)
    assert response.context["pain"] is None
    assert "knee" not in text_of(response)


def test_waiting_proposals_stand_below_plain_ones_folded(as_ana, ben, block, squat):
    session = TrainingSessionFactory(block=block, planned_on=TODAY)
    new = {"load": 82.5, "unit": "kg", "sets": 3, "reps_low": 6, "reps_high": 8}
    for plain in (True, False):
        ProposalFactory(client=ben, session=session, exercise=squat, old={}, new=new, plain=plain)
    response = page(as_ana, ben)
    assert (len(response.context["proposals"]), len(response.context["plain"])) == (1, 1)
    assert "Accept 1 plain proposal" in text_of(response)


def test_another_practice_gets_404_and_other_methods_405(as_cleo, as_ana, ben):
    url = reverse("client-progress", args=[ben.public_id])
    assert as_cleo.get(url).status_code == 404
    assert as_ana.post(url).status_code == 405


def test_figures_as_they_are_said():
    assert quarters(9.13) == "9.25"
    assert (signed(0.04), signed(-0.36), signed(0.7)) == ("0", "−0.4", "+0.7")


def test_the_leading_lift_is_a_main_one_with_estimates(ana, ben, block, squat):
    rising(block, squat, weeks=6)
    curl = ExerciseFactory(practice=ana.practice, name="Curl", role="isolation")
    for days in range(0, 40, 2):
        LoggedSetFactory(client=ben, exercise=curl, performed_on=TODAY - timedelta(days=days))
    review = Review(ben)
    assert leading(review, "").exercise == squat
    assert "kg" in verdict_sentence(leading(review, ""), review.unit)


def test_targets_without_numbers_of_their_own_are_no_trouble(as_ana, ben, block, ana):
    plank = ExerciseFactory(practice=ana.practice, name="Plank", load_entry="none", rep_unit="seconds")
    session = TrainingSessionFactory(block=block, planned_on=TODAY, state="trained", trained_on=TODAY)
    line = PrescriptionFactory(session=session, exercise=plank, target_sets=None)
    TargetSetFactory(prescription=line, reps_low=None, reps_high=None, seconds=45, load=None, rir=None)
    LoggedSetFactory(client=ben, exercise=plank, session=session, reps=None, seconds=45, load=None, performed_on=TODAY)
    assert page(as_ana, ben).status_code == 200
