"""What is plain, and each thing that keeps a proposal for the coach's own eye."""

from datetime import date, timedelta

import pytest

from clients.models import Clearance, LoggedSet, PainReport, Proposal, SheetVersion
from clients.reads.health import standing_of
from clients.reads.history import history_of
from clients.services import plainness, proposals
from programs.engine.progress import Ask, NextStep
from programs.engine.terms import Because, TargetSet
from programs.reasons import sentence_of
from tests.clients.lifting import TODAY, dumbbell_press, five_weeks, loft_block, planned, trained
from tests.factories import (
    MONDAY,
    ExerciseFactory,
    LoggedSetFactory,
    PrescriptionFactory,
    TargetSetFactory,
    TrainingSessionFactory,
)


@pytest.fixture(autouse=True)
def _today(monkeypatch):
    monkeypatch.setattr("clients.services.proposing.today_for", lambda client: TODAY)


@pytest.fixture
def block(ben):
    return loft_block(ben)


@pytest.fixture
def press(ana):
    return dumbbell_press(ana.practice)


@pytest.fixture
def after_five_weeks(block, press):
    return five_weeks(block, press)


def against(client):
    """Codes that stand against the one proposal of the client, once it was reckoned again."""
    proposals.refresh(client)
    found = Proposal.objects.waiting().get(client=client)
    codes = [reason["code"] for reason in found.new["not_plain"]]
    assert found.plain == (not codes)
    assert all("Noted" not in sentence_of(reason) for reason in found.new["not_plain"])
    return codes


def step(change="load_up", codes=(), *, plain=True, sets=3):
    ask = Ask(sets, 20)
    work = (TargetSet(reps_low=6, reps_high=8),) * sets
    return NextStep(work, change, ask, ask, tuple(Because(code) for code in codes), plain)


def codes_of(line, taken):
    found = plainness.Line(line.session, line, taken)
    return [reason.code for reason in plainness._of_step(found.step)]


def test_a_usual_step_is_plain(ben, after_five_weeks):
    assert against(ben) == []


def test_pain_keeps_it_until_answered(ben, after_five_weeks):
    report = hurt(ben, patterns=[])
    assert against(ben) == ["plain.pain"]
    report.state = PainReport.State.ANSWERED
    report.save()
    assert against(ben) == []


def test_what_hurts_is_told_from_another_lift(ben, after_five_weeks):
    hurt(ben, patterns=["horizontal_push"])
    assert against(ben) == ["plain.pain", "plain.touches_pain"]
    assert plainness.touches_pain(Proposal.objects.waiting().get())


def hurt(client, patterns):
    affected = {"joints": [], "patterns": patterns, "regions": [], "everything": False, "part": "shoulder"}
    return PainReport.objects.create(
        client=client, key="k", body_part="shoulder", score=4, action="freeze", felt_on=TODAY, affected=affected
    )


@pytest.mark.parametrize(
    ("change", "codes", "wanted"),
    [
        ("return", ["absence"], ["plain.absence"]),
        ("returning", ["returning"], ["plain.absence"]),
        ("same", ["pause_longer_than_usual"], ["plain.absence"]),
        ("ill", ["ill_easy"], ["plain.ill"]),
        ("return", ["after_illness"], ["plain.ill"]),
        ("stop", ["pain_stop"], ["plain.touches_pain"]),
        ("return", ["pain_return_load"], ["plain.touches_pain"]),
        ("same", ["stopped_for_pain"], ["plain.touches_pain"]),
        ("load_up", ["load_step", "over_usual_cap"], ["plain.cap"]),
        ("step_too_big", ["step_too_big"], ["plain.cap"]),
        ("load_up", ["load_step", "rir_floor"], ["plain.bounded"]),
        ("load_up", ["load_step"], []),
        ("same", ["week_cap"], []),
    ],
)
def test_what_a_step_says_of_pain_absence_and_caps(change, codes, wanted):
    taken = step(change, codes, plain=not wanted)
    assert [reason.code for reason in plainness._of_step(taken)] == wanted


def test_a_choice_between_ways_is_not_plain():
    assert [reason.code for reason in plainness._of_step(step("load_ceiling", plain=False))] == ["plain.choice"]


def test_time_away_is_not_plain(ben, block, press):
    for cycle in (1, 2):
        trained(block, press, cycle)
    planned(block, press, 6)
    assert "plain.absence" in against(ben)


def test_a_doubtful_log_keeps_it(ben, after_five_weeks, press):
    asked = LoggedSetFactory(client=ben, exercise=press, state=LoggedSet.State.ASKED, performed_on=TODAY)
    assert against(ben) == ["plain.doubtful"]
    asked.state = LoggedSet.State.TAKEN_BACK
    asked.save()
    assert against(ben) == []


@pytest.mark.parametrize(
    ("born", "code"),
    [(date(2010, 1, 1), "plain.minor"), (date(1958, 1, 1), "plain.older"), (None, "plain.age_unknown")],
)
def test_never_for_the_young_the_old_and_whoever_might_be(ben, after_five_weeks, born, code):
    ben.date_of_birth = born
    ben.guardian_consent_on = MONDAY
    ben.save()
    assert code in against(ben)


@pytest.mark.parametrize(
    ("born", "plain"), [(date(1961, 4, 10), False), (date(1961, 4, 11), True)], ids=["65 today", "64 until tomorrow"]
)
def test_the_line_is_at_the_birthday(ben, after_five_weeks, born, plain):
    assert date(2026, 4, 10) == TODAY
    ben.date_of_birth = born
    ben.save()
    assert ("plain.older" not in against(ben)) == plain


def test_never_in_pregnancy_and_the_word_stays_with_the_health_answers(ben, after_five_weeks):
    ben.conditions.create(code="pregnant", since=MONDAY)
    assert "plain.health" in against(ben)
    kept = Proposal.objects.waiting().get()
    assert "pregnan" not in str((kept.new["not_plain"], kept.reasons))


def test_never_for_a_clearance_within_limits(ana, ben, after_five_weeks):
    row = ben.health_answers.get()
    row.answers = {**row.answers, "chest_discomfort_with_effort": True}
    row.save()
    assert "plain.not_cleared" in against(ben)
    given = Clearance.objects.create(
        client=ben,
        given_by="Dr Ness",
        scope=Clearance.Scope.MODERATE,
        given_on=MONDAY,
        expires_on=TODAY + timedelta(days=90),
        recorded_by=ana,
    )
    assert "plain.health" in against(ben)
    given.delete()


def test_never_in_a_clients_first_four_weeks(ben, block, press):
    for cycle in (2, 3, 4, 5):
        trained(block, press, cycle)
    planned(block, press, 6)
    assert against(ben) == []
    LoggedSet.objects.filter(performed_on__lte=TODAY - timedelta(days=28)).delete()
    assert against(ben) == ["plain.newcomer"]


def test_what_was_trained_from_a_replaced_sheet(ben, after_five_weeks, press):
    session = press_session(ben)
    version = SheetVersion.objects.create(
        session=session, number=1, document={}, digest="d", state=SheetVersion.State.SUPERSEDED
    )
    LoggedSet.objects.filter(session=session).update(version=version)
    assert against(ben) == ["plain.sheet_replaced"]
    version.state = SheetVersion.State.ISSUED
    version.save()
    assert against(ben) == []


def press_session(client):
    return client.blocks.get().sessions.get(cycle=5)


def test_a_pinned_number_of_sets_is_not_changed_unseen(ben, after_five_weeks):
    after_five_weeks.pinned = ["sets"]
    after_five_weeks.save()
    assert against(ben) == []
    after_five_weeks.target_sets.last().delete()
    fewer = plainness.Line(after_five_weeks.session, after_five_weeks, step(sets=3))
    health, history = standing_of(ben, TODAY), history_of(ben, "kg")
    (reasons,) = plainness.against(ben, health, history, TODAY, [fewer]).values()
    assert "plain.pinned_sets" in [reason.code for reason in reasons]


@pytest.fixture
def in_range(block, press, after_five_weeks):
    """Beside the press, as many more chest sets as bring the group to the top of its range of 10 to 16."""
    other = ExerciseFactory(practice=press.practice, name="Push-up", regions={"pec_stern": 4})
    session = TrainingSessionFactory(block=block, cycle=6, position=1, occurrence=1, day_key="other")
    press.regions.all().delete()
    press.regions.create(region="pec_stern", quarters=4)
    line = PrescriptionFactory(session=session, exercise=other, slot_key="more", position=0, target_sets=None)
    for number in range(1, 14):
        TargetSetFactory(prescription=line, number=number)
    return line


def lines(client, *pairs):
    found = [plainness.Line(line.session, line, taken) for line, taken in pairs]
    reasons = dict(plainness._out_of_range(client, TODAY, found))
    return {key[1]: reason for key, reason in reasons.items()}


def test_sets_that_stay_within_the_range_are_plain(ben, after_five_weeks, in_range):
    in_range.target_sets.filter(number__gt=12).delete()
    assert lines(ben, (after_five_weeks, step(sets=4))) == {}


def test_sets_that_push_a_group_out_of_its_range_are_not(ben, after_five_weeks, in_range):
    found = lines(ben, (after_five_weeks, step(sets=4)))
    assert found["press"].code == "plain.out_of_range"
    assert found["press"].params["group"] == "chest"
    assert found["press"].params["counted"] == 17


def test_two_that_go_together_out_of_it_are_neither(ben, after_five_weeks, in_range):
    in_range.target_sets.filter(number__gt=12).delete()
    found = lines(ben, (after_five_weeks, step(sets=4)), (in_range, step(sets=13)))
    assert set(found) == {"press", "more"}


def test_nearer_to_the_range_is_no_push_out_of_it(ben, after_five_weeks, in_range):
    assert lines(ben, (after_five_weeks, step(sets=3)), (in_range, step(sets=12))) == {}
    in_range.target_sets.filter(number__gt=3).delete()
    assert lines(ben, (after_five_weeks, step(sets=4))) == {}
    assert set(lines(ben, (after_five_weeks, step(sets=2)))) == {"press"}


def test_an_easier_week_is_meant_to_lie_below(ben, after_five_weeks, in_range):
    session = after_five_weeks.session
    session.deload = True
    assert lines(ben, (after_five_weeks, step("deload", sets=1))) == {}


def test_the_week_costs_the_same_however_many_lines(ben, block, after_five_weeks, in_range, django_assert_num_queries):
    with django_assert_num_queries(6):  # sets of each line, of the week, exercises with regions, priorities
        lines(ben, (after_five_weeks, step(sets=4)), (in_range, step(sets=4)))
