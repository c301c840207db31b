"""How an exercise goes on, as the coach decides it: policies, waves over whole rounds, tests, new baselines."""

import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from clients.models import Progression, Proposal, TrainingSession
from clients.services import progressions, proposals
from clients.services.progressions import Waves
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.engine.strength import e1rm
from programs.units import load_of
from tests.clients.trained import TODAY, codes, line_in, log, proposed, session_of, weeks_of
from tests.factories import (
    MONDAY,
    BarbellFactory,
    BlockFactory,
    ExerciseFactory,
    HealthAnswersFactory,
    LoggedSetFactory,
    StationFactory,
)
from tests.pages import text_of

WAVE = [[{"share": 0.7, "reps": 5, "open_ended": False}] * 2, [{"share": 0.8, "reps": 3, "open_ended": True}]]


@pytest.fixture(autouse=True)
def _today(monkeypatch):
    for module in ("clients.services.proposing", "clients.services.sheets"):
        monkeypatch.setattr(f"{module}.today_for", lambda client: TODAY)


@pytest.fixture
def block(ben):
    block = BlockFactory(client=ben, weeks=8)
    BarbellFactory(place=block.place)
    StationFactory(place=block.place, loads={"list": [str(load) for load in range(2, 41)]})
    HealthAnswersFactory(client=ben, answered_on=MONDAY)
    return block


@pytest.fixture
def squat(ana):
    return ExerciseFactory(
        practice=ana.practice,
        name="Back squat",
        role="main",
        pattern="squat",
        implement="barbell",
        load_entry="total",
        regions={"vasti": 4},
    )


@pytest.fixture
def curl(ana):
    return ExerciseFactory(
        practice=ana.practice, name="Dumbbell curl", role="isolation", pattern="elbow_flexion", regions={"biceps": 4}
    )


def the(squat, ben):
    return Progression.objects.get(client=ben, exercise=squat)


# Policies


def test_a_policy_of_the_coach_replaces_the_usual_one(ana, ben, block, curl):
    weeks_of(block, curl, 5, reps=8, rir=4, role="isolation")
    line_in(session_of(block, 6), curl, role="isolation")
    assert "effort_easier" not in codes(proposed(ben))
    entry = progressions.save_policy(ben, curl, ana, "effort_led")
    assert "effort_easier" in codes(proposed(ben))
    journal.undo(entry, ana)
    assert "effort_easier" not in codes(proposed(ben))
    assert not Progression.objects.exists()


def test_saving_what_stands_already_is_no_act(ana, ben, curl):
    assert progressions.save_policy(ben, curl, ana, "") is None
    assert not Progression.objects.exists()
    assert progressions.save_policy(ben, curl, ana, "fixed_steps") is not None
    assert progressions.save_policy(ben, curl, ana, "fixed_steps") is None


def test_waves_without_weeks_are_refused(ana, ben, curl):
    with pytest.raises(ValueError, match="waves"):
        progressions.save_policy(ben, curl, ana, "percentage_waves")


# Waves


@pytest.fixture
def waves(ana, ben, block, squat, curl):
    LoggedSetFactory(client=ben, exercise=curl, performed_on=MONDAY - timedelta(weeks=8))  # no newcomer
    progressions.save_policy(ben, squat, ana, "percentage_waves", Waves(WAVE, load_of(100, "kg")))
    for cycle in range(1, 7):
        line_in(session_of(block, cycle), squat, slot="squat", role="main", rir=1)
    return squat


def decide(ben, ana, **more):
    """Accepts what waits for the squat, and gives what was asked for."""
    proposal = proposed(ben, "squat")
    entry = proposals.accept(proposal, ana, **more)
    rows = proposal.session.prescriptions.get(slot_key="squat").target_sets.all()
    return [(float(row.load_value), row.reps_low, row.open_ended) for row in rows], entry


def train(block, squat, cycle, sets):
    log(session_of(block, cycle), squat, sets, slot="squat")


def test_a_wave_goes_round_raises_its_max_and_one_undo_takes_that_back(ana, ben, block, waves):
    first, _entry = decide(ben, ana)
    assert first == [(70, 5, False)] * 2
    assert (the(waves, ben).week, the(waves, ben).rounds) == (1, 0)
    train(block, waves, 1, [(70, 5, 3)] * 2)
    second, _entry = decide(ben, ana)
    assert second == [(80, 3, True)]
    assert (the(waves, ben).week, the(waves, ben).rounds) == (0, 1)
    train(block, waves, 2, [(80, 9, 1)])  # six more than asked
    assert "wave_raise" in codes(proposed(ben, "squat"))
    assert the(waves, ben).working_max == 100  # nothing moves before the coach has accepted
    third, entry = decide(ben, ana)
    assert third == [(72.5, 5, False)] * 2  # 0.7 of 105, as loadable
    assert (the(waves, ben).week, the(waves, ben).working_max) == (1, Decimal(105))
    journal.undo(entry, ana)
    assert (the(waves, ben).week, the(waves, ben).rounds, the(waves, ben).working_max) == (0, 1, Decimal(100))
    assert proposed(ben, "squat").new["wave"]["after"] == 105


def test_a_wave_that_was_too_hard_lowers_its_max(ana, ben, block, waves):
    for cycle, sets in ((1, [(70, 5, 3)] * 2), (2, [(80, 1, 0)])):
        decide(ben, ana)
        train(block, waves, cycle, sets)
    assert "wave_lower" in codes(proposed(ben, "squat"))
    decide(ben, ana)
    assert the(waves, ben).working_max < 100


def test_a_declined_week_comes_again(ana, ben, block, waves):
    decide(ben, ana)
    train(block, waves, 1, [(70, 5, 3)] * 2)
    proposals.decline(proposed(ben, "squat"), ana)
    assert the(waves, ben).week == 1
    train(block, waves, 2, [(70, 5, 3)] * 2)
    assert proposed(ben, "squat").new["load"] == 80


def test_a_week_whose_session_was_missed_comes_again_and_moves_nothing_twice(ana, ben, block, waves):
    decide(ben, ana)
    block.sessions.filter(cycle=1).update(state=TrainingSession.State.MISSED)
    again, _entry = decide(ben, ana)
    assert again == [(70, 5, False)] * 2
    assert the(waves, ben).week == 1
    train(block, waves, 2, [(70, 5, 3)] * 2)
    assert proposed(ben, "squat").new["load"] == 80


def test_both_days_of_a_week_train_the_same_week_of_the_wave(ana, ben, block, waves):
    for cycle in (1, 2):
        line_in(session_of(block, cycle, occurrence=1), waves, slot="squat", role="main", rir=1)
    proposals.refresh(ben)
    both = Proposal.objects.waiting()
    assert [row.new["load"] for row in both] == [70, 70]
    proposals.accept(both.get(session__occurrence=0), ana)
    assert proposed(ben, "squat", session__occurrence=1).new["load"] == 70
    proposals.accept(proposed(ben, "squat", session__occurrence=1), ana)
    assert the(waves, ben).week == 1
    train(block, waves, 1, [(70, 5, 3)] * 2)
    assert proposed(ben, "squat", session__occurrence=0).new["load"] == 80


def test_an_easier_week_stops_no_wave(ana, ben, block, waves):
    decide(ben, ana)
    train(block, waves, 1, [(70, 5, 3)] * 2)
    block.sessions.filter(cycle=2).update(deload=True)
    easier = proposed(ben, "squat")
    assert easier.kind == "deload"
    proposals.accept(easier, ana)
    assert the(waves, ben).week == 1


def test_a_max_in_pounds_stays_in_pounds(ana, ben, block, waves):
    progressions.save_policy(ben, waves, ana, "percentage_waves", Waves(WAVE, load_of(220, "lb")))
    for cycle, sets in ((1, [(70, 5, 3)] * 2), (2, [(80, 9, 1)])):
        decide(ben, ana)
        train(block, waves, cycle, sets)
    decide(ben, ana)
    row = the(waves, ben)
    assert (row.working_max_unit, row.working_max) == ("lb", Decimal(231))


def test_new_weeks_start_afresh(ana, ben, block, waves):
    decide(ben, ana)
    fresh = [[{"share": 0.6, "reps": 8, "open_ended": False}]]
    progressions.save_policy(ben, waves, ana, "percentage_waves", Waves(fresh, load_of(100, "kg")))
    train(block, waves, 1, [(70, 5, 3)] * 2)
    found = proposed(ben, "squat")
    assert (found.new["load"], found.new["reps_low"]) == (60, 8)
    assert (the(waves, ben).week, the(waves, ben).rounds) == (0, 0)


# Check sets and test days


@pytest.fixture
def curls(block, curl):
    weeks_of(block, curl, 4, load=10, role="isolation")
    for cycle in (5, 6, 7):
        line_in(session_of(block, cycle), curl, role="isolation")
    return curl


def test_a_check_set_is_asked_for_once(ana, ben, block, curls):
    progressions.ask_test(ben, curls, ana, "check_set")
    found = proposed(ben)
    assert "check_set" in codes(found)
    assert [one["kind"] for one in found.new["work"]] == ["work", "work", "check"]
    proposals.accept(found, ana)
    assert the(curls, ben).test == "check_set"  # until it was trained
    log(session_of(block, 5), curls, [(10, 7, 2), (10, 7, 2), (10, 9, 1)])
    assert "check_set" not in codes(proposed(ben))
    assert the(curls, ben).test == "none"


def test_a_check_set_whose_session_was_missed_is_asked_for_again(ana, ben, block, curls):
    progressions.ask_test(ben, curls, ana, "check_set")
    proposals.accept(proposed(ben), ana)
    block.sessions.filter(cycle=5).update(state=TrainingSession.State.MISSED)
    block.sessions.filter(cycle=6).update(planned_on=MONDAY + timedelta(weeks=4, days=2))
    assert "check_set" in codes(proposed(ben))


def test_it_can_be_asked_for_anew_once_it_was_done(ana, ben, block, curls):
    progressions.ask_test(ben, curls, ana, "check_set")
    proposals.accept(proposed(ben), ana)
    log(session_of(block, 5), curls, [(10, 7, 2), (10, 7, 2), (10, 9, 1)])
    proposed(ben)
    progressions.ask_test(ben, curls, ana, "check_set")
    assert "check_set" in codes(proposed(ben))


def test_a_test_day_takes_the_place_of_the_work(ana, ben, block, squat):
    weeks_of(block, squat, 5, load=100, reps=7, slot="squat", role="main")
    line_in(session_of(block, 6), squat, slot="squat", role="main")
    progressions.ask_test(ben, squat, ana, "test_day")
    found = proposed(ben, "squat")
    assert found.kind == "test_day"
    assert len(found.new["work"]) == 1
    assert not found.plain


def test_no_test_day_for_a_minor(ana, ben, block, squat):
    ben.date_of_birth, ben.guardian_consent_on = date(2010, 6, 1), MONDAY
    ben.save()
    weeks_of(block, squat, 5, load=40, reps=7, slot="squat", role="main")
    line_in(session_of(block, 6), squat, slot="squat", role="main")
    progressions.ask_test(ben, squat, ana, "test_day")
    found = proposed(ben, "squat")
    assert found.kind != "test_day"
    assert "test_barred" in codes(found)
    assert found.new["work"][0]["kind"] == "work"


# A new baseline


def test_a_new_baseline_leaves_out_what_was_before(ana, ben, block, squat):
    """125 partly down becomes 60 all the way; that is no fall, and the next target goes on from 60."""
    weeks_of(block, squat, 3, load=125, slot="squat", role="main")
    for cycle in (4, 5):
        session = session_of(block, cycle)
        line_in(session, squat, slot="squat", role="main")
        log(session, squat, [(60, 7, 2)] * 3, slot="squat")
    line_in(session_of(block, 6), squat, slot="squat", role="main")
    entry = progressions.save_baseline(ben, squat, ana, MONDAY + timedelta(weeks=3), "technique")
    found = proposed(ben, "squat")
    assert (found.kind, found.new["load"]) == ("reps_up", 60)
    journal.undo(entry, ana)
    assert not Progression.objects.exists()


def test_a_baseline_from_today_asks_for_the_load_anew(ana, ben, block, squat):
    weeks_of(block, squat, 5, load=125, slot="squat", role="main")
    line_in(session_of(block, 6), squat, slot="squat", role="main")
    progressions.save_baseline(ben, squat, ana, TODAY, "technique")
    found = proposed(ben, "squat")
    assert found.new["find_load"]
    assert "new_baseline" in codes(found)


@pytest.mark.parametrize(
    ("days", "load"), [(10, 100), (14, 95), (28, 90), (40, 85)], ids=["ten days", "a fortnight", "4 weeks", "40 days"]
)
def test_back_after_time_off_the_load_follows_the_days(ana, ben, block, squat, days, load):
    """Ten days repeat the load, longer goes lower, and the reason tells the days."""
    last = TODAY - timedelta(days=days)
    for cycle in (1, 2):
        session = session_of(block, cycle)
        line_in(session, squat, slot="squat", role="main")
        log(session, squat, [(100, 8, 4)] * 3, slot="squat", on=last - timedelta(weeks=2 - cycle))
    line_in(session_of(block, 6), squat, slot="squat", role="main")
    block.sessions.filter(cycle=6).update(planned_on=TODAY)
    found = proposed(ben, "squat")
    assert found.new["load"] == load
    told = [reason["params"]["days"] for reason in found.reasons if "days" in reason["params"]]
    assert told == [days]
    assert found.plain is False


def test_the_journal_names_who_decided(ana, ben, curl):
    progressions.save_policy(ben, curl, ana, "fixed_steps")
    entry = JournalEntry.objects.get(act="progression.save")
    assert (entry.actor, entry.params["exercise"], entry.about) == (ana, "Dumbbell curl", f"client:{ben.public_id}")


# The page


def url(ben, exercise):
    return reverse("progression", args=[ben.public_id, exercise.public_id])


def rows(*sets, total=6):
    """Posted rows of a wave: (week, sets, percent, reps, open)."""
    data = {"sets-TOTAL_FORMS": str(total), "sets-INITIAL_FORMS": "0"}
    for index, (week, count, percent, reps, opened) in enumerate(sets):
        values = {"week": week, "count": count, "percent": percent, "reps": reps}
        data |= {f"sets-{index}-{name}": str(value) for name, value in values.items()}
        if opened:
            data[f"sets-{index}-open_ended"] = "on"
    return data


WAVE_ROWS = rows((1, 2, 70, 5, False), (2, 1, 80, 3, True))
TYPED = {
    "do": "policy",
    "policy": "percentage_waves",
    "source": "typed",
    "working_max": "100",
    "percent": "90",
    "week": 1,
}


def boxes_in(page):
    """What stands in each box of the page."""
    inputs = [dict(re.findall(r'(\w+)="([^"]*)"', tag)) for tag in re.findall(r"<input[^>]*>", page)]
    return {
        one["name"]: one.get("value", "") for one in inputs if one.get("type") not in ("radio", "checkbox", "hidden")
    }


def test_the_page_says_what_holds_and_what_it_stands_on(as_ana, ben, block, squat):
    weeks_of(block, squat, 5, load=100, reps=7, slot="squat", role="main")
    line_in(session_of(block, 6), squat, slot="squat", role="main")
    said = text_of(as_ana.get(url(ben, squat)))
    assert "repetitions first, then load" in said
    assert "Full body A" in said
    assert "7/7/7" in said
    assert "2/2/2" in said
    assert f"Estimated maximum {e1rm(100, 7, 2):.1f} kg" in said


def test_a_wave_is_saved_from_the_page_and_shown_at_loads_on_offer(as_ana, ben, block, squat):
    line_in(session_of(block, 6), squat, slot="squat", role="main")
    response = as_ana.post(url(ben, squat), {**TYPED, **WAVE_ROWS}, follow=True)
    row = the(squat, ben)
    assert (row.policy, row.weeks, row.working_max, row.working_max_unit) == ("percentage_waves", WAVE, 100, "kg")
    said = text_of(response)
    assert "2 × 5 at 70 kg" in said
    assert "1 × 3+ at 80 kg" in said
    assert "Undo" in said


def test_what_was_saved_stands_in_the_boxes_again(as_ana, ben, block, squat):
    as_ana.post(url(ben, squat), {**TYPED, **WAVE_ROWS})
    boxes = boxes_in(as_ana.get(url(ben, squat)).content.decode())
    assert [boxes[f"sets-0-{name}"] for name in ("week", "count", "percent", "reps")] == ["1", "2", "70", "5"]
    assert [boxes[f"sets-1-{name}"] for name in ("week", "count", "percent", "reps")] == ["2", "1", "80", "3"]


def test_a_share_of_the_estimate_becomes_the_working_max(as_ana, ben, block, squat):
    weeks_of(block, squat, 5, load=100, reps=7, slot="squat", role="main")
    as_ana.post(url(ben, squat), {**TYPED, **WAVE_ROWS, "source": "share", "working_max": "", "percent": "90"})
    row = the(squat, ben)
    assert row.fraction == Decimal("0.90")
    assert float(row.working_max) == pytest.approx(0.9 * e1rm(100, 7, 2), abs=0.05)


@pytest.mark.parametrize(
    ("typed", "sets", "field", "sentence"),
    [
        ({"working_max": "heavy"}, WAVE_ROWS, "id_working_max_error", "Write the working max as a number"),
        ({"working_max": "0"}, WAVE_ROWS, "id_working_max_error", "Write the working max as a number"),
        ({"week": "3"}, WAVE_ROWS, "id_week_error", "The wave has 2 weeks"),
        ({"week": "x"}, WAVE_ROWS, "id_week_error", "Weeks are whole numbers"),
        ({}, rows((1, 2, 170, 5, False)), "id_sets-0-percent_error", "Shares are numbers, 30 to 100."),
        ({}, rows((1, 2, 70, 500, False)), "id_sets-0-reps_error", "Reps are whole numbers, 1 to 30."),
        ({}, rows((1, 11, 70, 5, False)), "id_sets-0-count_error", "Sets are whole numbers, 1 to 10."),
        ({}, rows((1, 2, "", 5, False)), "id_sets-0-percent_error", "Fill this in, or empty the row."),
        ({}, rows((2, 2, 70, 5, False)), "sets_error", "Write at least one row for week 1."),
        ({}, rows(), "sets_error", "Write at least one row for week 1."),
    ],
)
def test_what_is_wrong_stands_beside_its_box_and_nothing_typed_is_lost(
    as_ana, ben, block, squat, typed, sets, field, sentence
):
    response = as_ana.post(url(ben, squat), {**TYPED, **sets, **typed})
    assert response.status_code == 422
    page = response.content.decode()
    error = page[page.index(f'id="{field}"') :]
    assert sentence in error[:400]
    for name, value in {**sets, **typed}.items():
        if value and name.startswith(("sets-0", "working_max", "week")):
            assert boxes_in(page)[name] == str(value)
    assert not Progression.objects.exists()


def test_a_share_outside_the_bounds_is_refused(as_ana, ben, block, squat):
    weeks_of(block, squat, 5, load=100, reps=7, slot="squat", role="main")
    response = as_ana.post(url(ben, squat), {**TYPED, **WAVE_ROWS, "source": "share", "percent": "80"})
    assert response.status_code == 422
    assert "85 to 100" in text_of(response)


def test_more_rows_keep_what_was_typed_and_judge_nothing(as_ana, ben, block, squat):
    response = as_ana.post(url(ben, squat), {**TYPED, **WAVE_ROWS, "working_max": "??", "go": "rows"})
    page = response.content.decode()
    assert response.status_code == 200
    assert "sets-9-week" in page
    assert 'value="??"' in page
    assert "Not done yet" not in page


def test_another_policy_asks_nothing_of_the_wave(as_ana, ben, block, squat):
    broken = {**TYPED, **rows((9, 99, 999, 99, False)), "policy": "effort_led", "working_max": ""}
    assert as_ana.post(url(ben, squat), broken).status_code == 302
    assert the(squat, ben).policy == "effort_led"
    assert as_ana.post(url(ben, squat), {**broken, "policy": "usual"}).status_code == 302
    assert the(squat, ben).policy == ""


def test_waves_are_not_offered_where_a_share_means_nothing(as_ana, ana, ben, block):
    plank = ExerciseFactory(practice=ana.practice, implement="bodyweight", load_entry="none", rep_unit="seconds")
    said = text_of(as_ana.get(url(ben, plank)))
    assert "Waves are not offered here" in said
    assert as_ana.post(url(ben, plank), {**TYPED, **WAVE_ROWS}).status_code == 422


def test_a_test_day_is_offered_or_barred_in_words(as_ana, ben, block, squat):
    weeks_of(block, squat, 5, load=60, reps=7, slot="squat", role="main")
    assert "Ask for a test day" in text_of(as_ana.get(url(ben, squat)))
    ben.date_of_birth = date(2010, 6, 1)
    ben.save()
    said = text_of(as_ana.get(url(ben, squat)))
    assert "Ask for a test day" not in said
    assert "No test of strength for this client." in said
    response = as_ana.post(url(ben, squat), {"do": "test_day"})
    assert response.status_code == 422
    assert not Progression.objects.exists()


def test_a_check_set_is_asked_for_and_taken_back(as_ana, ben, block, curls, squat):
    assert "it belongs on a machine" in text_of(as_ana.get(url(ben, squat)))
    said = text_of(as_ana.post(url(ben, curls), {"do": "check_set"}, follow=True))
    assert "Asked for: a check set next time." in said
    assert the(curls, ben).test == "check_set"
    as_ana.post(url(ben, curls), {"do": "none"})
    assert the(curls, ben).test == "none"


def test_a_baseline_from_the_page(as_ana, ben, block, squat):
    day = TODAY - timedelta(days=3)
    as_ana.post(url(ben, squat), {"do": "baseline", "baseline_on": str(day), "baseline_reason": "machine"})
    assert (the(squat, ben).baseline_on, the(squat, ben).baseline_reason) == (day, "machine")
    assert "the equipment changed" in text_of(as_ana.get(url(ben, squat)))
    as_ana.post(url(ben, squat), {"do": "no_baseline"})
    assert (the(squat, ben).baseline_on, the(squat, ben).baseline_reason) == (None, "")


@pytest.mark.parametrize("day", ["", "soon", "2999-01-01"])
def test_a_baseline_has_a_day_that_has_come(as_ana, ben, block, squat, day):
    data = {"do": "baseline", "baseline_on": day, "baseline_reason": "other"}
    response = as_ana.post(url(ben, squat), data)
    assert response.status_code == 422
    assert 'id="id_baseline_on_error"' in response.content.decode()
    assert not Progression.objects.exists()


def test_the_page_is_reached_from_the_session_and_from_a_proposal(as_ana, ben, block, squat):
    weeks_of(block, squat, 5, load=60, reps=7, slot="squat", role="main")
    line_in(session_of(block, 6), squat, slot="squat", role="main")
    waiting = proposed(ben, "squat")
    for page in (reverse("session", args=[waiting.session.public_id]), reverse("proposal", args=[waiting.public_id])):
        assert url(ben, squat) in as_ana.get(page).content.decode()
    assert reverse("proposal", args=[waiting.public_id]) in as_ana.get(url(ben, squat)).content.decode()


def test_an_exercise_of_another_practice_is_not_there(as_ana, ben):
    assert as_ana.get(url(ben, ExerciseFactory())).status_code == 404
    assert as_ana.post(url(ben, ExerciseFactory(practice=ben.practice)), {"do": "other"}).status_code == 404


@pytest.mark.parametrize("weeks", [1, 5])
def test_the_page_costs_the_same_however_long_the_history(as_ana, ben, block, squat, weeks, django_assert_num_queries):
    weeks_of(block, squat, weeks, load=60, reps=7, slot="squat", role="main")
    for cycle in range(weeks + 1, weeks + 3):
        line_in(session_of(block, cycle), squat, slot="squat", role="main")
    as_ana.get(url(ben, squat))
    with django_assert_num_queries(30):
        as_ana.get(url(ben, squat))


def test_a_beginners_page_says_what_their_ratings_do(as_ana, ben, block, squat):
    sentence = "A beginner’s ratings drive no loads until a check set agrees"
    assert sentence not in text_of(as_ana.get(url(ben, squat)))
    ben.experience = "novice"
    ben.save()
    assert sentence in text_of(as_ana.get(url(ben, squat)))


def test_a_working_max_above_the_estimate_is_said(as_ana, ben, block, squat):
    weeks_of(block, squat, 5, load=100, reps=7, slot="squat", role="main")
    said = "above the estimate"
    typed = {**TYPED, **WAVE_ROWS}
    assert said not in text_of(as_ana.post(url(ben, squat), {**typed, "working_max": "110"}, follow=True))
    assert said in text_of(as_ana.post(url(ben, squat), {**typed, "working_max": "1100"}, follow=True))
