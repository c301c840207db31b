"""Situations from practice as they reach the pages: units, each or both, order, open sets, pain that comes again."""

import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import permutations

import pytest
from django.urls import reverse

from clients import receiving
from clients.clock import today_for
from clients.models import LoggedSet, PainReport, Proposal
from clients.reads.history import history_of
from clients.receiving import Arrival, SetValues
from clients.services import proposals
from clients.services.merging import CannotMerge, merge
from clients.sheets import printed, wording
from programs.units import Load, load_of
from tests.clients.sheets import add_line, handed_out, session_for
from tests.factories import ExerciseFactory, LoggedSetFactory, PrescriptionFactory
from tests.pages import text_of


def alone(response):
    """The words of the line itself, without the list of the session beside it."""
    return re.sub(r"\s+", " ", re.sub(r"<aside.*?</aside>|<[^>]+>", " ", response.text, flags=re.S)).replace(
        "\u00a0", " "
    )


# The unit that is shown


STORED = ("load_value", "load_unit", "load_text", "load_grams")


@pytest.mark.parametrize(("typed", "unit", "other", "shown"), [("62.5", "kg", "lb", 137.8), ("135", "lb", "kg", 61.2)])
def test_another_unit_to_show_rewrites_nothing_and_the_first_comes_back(ana, ben, typed, unit, other, shown):
    exercise = ExerciseFactory(practice=ben.practice, load_entry="total")
    row = LoggedSetFactory(client=ben, exercise=exercise, load=Load(Decimal(typed), unit, typed))
    before = LoggedSet.objects.values(*STORED).get(pk=row.pk)
    seen = []
    for now in (unit, other, unit):
        ben.unit = ana.practice.unit = now
        ben.save()
        ana.practice.save()
        (exposure,) = history_of(ben, now).of(exercise.pk)
        seen.append(round(exposure.done[0].load, 1))
        assert LoggedSet.objects.values(*STORED).get(pk=row.pk) == before
    assert seen == [float(typed), shown, float(typed)]


def test_a_prescription_stays_in_the_unit_it_was_written_in(as_ana, ben):
    session = session_for(ben)
    line = add_line(session, load=("62.5", "kg"))
    version = handed_out(session)
    ben.unit = "lb"
    ben.save()
    assert {(row.load_value, row.load_unit) for row in line.target_sets.all()} == {(Decimal("62.5"), "kg")}
    assert wording.loads_words(version.document["lines"][0]) == "62.5\u00a0kg"


# Each or both


@pytest.fixture
def press(ben):
    return ExerciseFactory(practice=ben.practice, name="Dumbbell press", load_entry="per_hand")


def test_the_field_and_the_sheet_say_that_each_hand_is_meant(as_ben, ben, press):
    session = session_for(ben)
    add_line(session, press, load=("24", "kg"))
    goblet = ExerciseFactory(practice=ben.practice, name="Goblet squat", pattern="squat", load_entry="total")
    add_line(session, goblet, load=("24", "kg"))
    version = handed_out(session)
    both, one = (alone(as_ben.get(reverse("sheet-line", args=[version.public_id, line]))) for line in (1, 2))
    assert "Load each hand" in both and "2 × 24" in both
    assert "each hand" not in one and "2 × 24" not in one
    table = printed.context(version.document, 1, "phone")["table"]
    assert [row["load"].replace("\u00a0", " ") for row in table] == ["2 × 24", "24"]


def test_another_convention_relabels_and_neither_halves_nor_doubles(ben, press):
    LoggedSetFactory(client=ben, exercise=press, load=load_of(24, "kg"), reps=10)
    press.load_entry = "total"
    press.save()
    (exposure,) = history_of(ben, "kg").of(press.pk)
    assert (exposure.done[0].load, LoggedSet.objects.get().load_value) == (24, 24)


# Order


@pytest.mark.parametrize("order", list(permutations(range(4)))[::5])
def test_sets_done_in_turns_or_out_of_order_are_all_taken_with_their_own_time(ben, order):
    """A squat and a leg curl, two sets each; the curl was done between the squats."""
    session = session_for(ben)
    add_line(session)
    curl = ExerciseFactory(practice=ben.practice, name="Leg curl", pattern="knee_flexion")
    add_line(session, curl, load=("20", "kg"), superset="A")
    version = handed_out(session)
    start = datetime(2026, 3, 2, 16, 0, tzinfo=UTC)
    done = [(1, 1), (2, 1), (1, 2), (2, 2)]
    for at in order:
        line, number = done[at]
        arrival = Arrival(
            way="phone", performed_on=today_for(ben), performed_at=start + timedelta(minutes=3 * at), order=at + 1
        )
        values = SetValues(reps=8, load=load_of(75 if line == 1 else 20, "kg"), rir=Decimal(2))
        receiving.take_set(ben, version, line, number, values, key=f"k{at}", arrival=arrival)
    rows = list(LoggedSet.objects.order_by("performed_at").values_list("line", "number", "state"))
    assert rows == [(line, number, "counts") for line, number in done]
    history = history_of(ben, "kg")
    assert [len(one.done) for rows in history.by_exercise.values() for one in rows] == [2, 2]


def test_a_pair_that_lost_its_station_keeps_three_and_two(ben):
    session = session_for(ben)
    row = ExerciseFactory(practice=ben.practice, name="Row", pattern="horizontal_pull")
    press = ExerciseFactory(practice=ben.practice, name="Press")
    add_line(session, row, load=("20", "kg"), superset="A")
    add_line(session, press, load=("20", "kg"), superset="A")
    version = handed_out(session)
    arrival = Arrival(way="phone", performed_on=today_for(ben))
    for line, number in ((1, 1), (2, 1), (1, 2), (2, 2), (1, 3)):
        values = SetValues(reps=8, load=load_of(20, "kg"), rir=Decimal(2))
        receiving.take_set(ben, version, line, number, values, key=f"{line}{number}", arrival=arrival)
    counts = {name: LoggedSet.objects.counting().filter(exercise__name=name).count() for name in ("Row", "Press")}
    assert counts == {"Row": 3, "Press": 2}
    assert [line["superset"] for line in version.document["lines"]] == ["A", "A"]


# What the sheet asks for


def test_an_open_last_set_is_printed_with_its_plus_and_a_box(ben):
    session = session_for(ben)
    line = add_line(session, load=("80", "kg"), reps_low=5, reps_high=5)
    last = line.target_sets.last()
    type(last).objects.filter(pk=last.pk).update(open_ended=True, kind="open_ended")
    (shown,) = printed.context(handed_out(session).document, 1, "phone")["lines"]
    assert [row["aim"].replace("\u00a0", " ") for row in shown["rows"]] == ["80 × 5", "80 × 5", "80 × 5+"]
    assert "reps" in shown["columns"]


def test_sets_stand_before_reps_and_are_named(ben):
    session = session_for(ben)
    add_line(session, sets=3, load=("60", "kg"), reps_low=5, reps_high=5)
    (shown,) = printed.context(handed_out(session).document, 1, "phone")["lines"]
    assert {"label": "Sets", "value": "3\u00a0×\u00a05"} in shown["facts"]


def test_a_hold_is_told_in_seconds(ben):
    session = session_for(ben)
    plank = ExerciseFactory(practice=ben.practice, implement="bodyweight", load_entry="none", rep_unit="seconds")
    add_line(session, plank, load=None, reps_low=None, reps_high=None, seconds=90, rir=None)
    (shown,) = printed.context(handed_out(session).document, 1, "phone")["lines"]
    assert shown["columns"] == ["seconds"] and "1:30" in shown["prescription"]


def test_large_print_is_set_for_the_client_on_paper_and_phone(as_ben, ben):
    ben.large_print = True
    ben.save()
    session = session_for(ben)
    add_line(session)
    version = handed_out(session)
    usual = float(printed.PAPER_SIZE_PT)
    assert float(printed.context(version.document, 1, "paper")["size"]) > usual
    assert "large-print" in as_ben.get(reverse("sheet", args=[version.public_id])).content.decode()


# Pain


def report(ben, days_ago, score, part="shoulder"):
    felt = today_for(ben) - timedelta(days=days_ago)
    return receiving.take_pain(ben, key=f"{part}{days_ago}", score=score, body_part=part, side="right", felt_on=felt)


def test_a_small_pain_that_comes_again_reaches_the_coach_below_any_level(as_ana, ben):
    assert report(ben, 7, 2).report.state == PainReport.State.ANSWERED
    again = report(ben, 0, 2)
    assert again.report.state == PainReport.State.OPEN
    assert (again.action.action, again.action.tell_coach) == ("go_on", True)
    assert ben.initials in text_of(as_ana.get(reverse("desk")))


def test_small_pains_of_two_places_are_no_pattern(ben):
    report(ben, 7, 2, "shoulder")
    assert report(ben, 0, 2, "knee").report.state == PainReport.State.ANSWERED


@pytest.mark.parametrize(("score", "paused"), [(2, False), (3, True), (6, True)])
def test_a_pain_mark_pauses_what_loads_the_place_and_keeps_its_swaps_on_offer(as_ben, ben, score, paused):
    session = session_for(ben)
    press = ExerciseFactory(practice=ben.practice, name="Bench press", joints={"shoulder_overhead": 2})
    add_line(session, press, load=("60", "kg"))
    version = handed_out(session)
    report(ben, 0, score)
    page = as_ben.get(reverse("sheet-line", args=[version.public_id, 1])).content.decode()
    notice = re.search(r'<p class="notice notice-error held"( hidden)?>', page)
    assert (notice[1] is None) == paused
    assert 'id="swaps"' in page


# Correcting


def test_a_fields_answer_of_another_line_never_lands_here(ben):
    """Line and set are what a set answers: the same values for two lines stay two."""
    session = session_for(ben)
    for name in ("Press", "Row"):
        add_line(session, ExerciseFactory(practice=ben.practice, name=name), load=("20", "kg"))
    version = handed_out(session)
    arrival = Arrival(way="phone", performed_on=today_for(ben))
    for line in (1, 2):
        values = SetValues(reps=8, load=load_of(20, "kg"))
        receiving.take_set(ben, version, line, 1, values, key=f"k{line}", arrival=arrival)
    assert LoggedSet.objects.counting().count() == 2
    assert PrescriptionFactory._meta.model.objects.filter(session=session).count() == 2


# Names


def test_a_new_name_leaves_history_and_what_waits_as_they_were(ben, press):
    session = session_for(ben)
    add_line(session, press, load=("24", "kg"))
    LoggedSetFactory(client=ben, exercise=press, performed_on=today_for(ben) - timedelta(days=7))
    proposals.refresh(ben)
    before = Proposal.objects.waiting().get()
    press.name = "Flat dumbbell press"
    press.save()
    proposals.refresh(ben)
    assert Proposal.objects.waiting().get() == before
    assert len(history_of(ben, "kg").of(press.pk)) == 1


def test_bar_and_dumbbell_are_never_one_exercise(ana, ben, press):
    bench = ExerciseFactory(practice=ben.practice, name="Bench press", implement="barbell", load_entry="total")
    LoggedSetFactory(client=ben, exercise=press)
    LoggedSetFactory(client=ben, exercise=bench, load=load_of(80, "kg"))
    with pytest.raises(CannotMerge):
        merge(press, bench, ana)
