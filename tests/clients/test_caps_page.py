"""The page on how far loads may change: read by coaches, changed by the owner within bounds, felt by what waits."""

import pytest
from django.test import Client as Browser
from hypothesis import example, given
from hypothesis import strategies as st

from clients.models import Proposal
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.capping import BY_NAME, LEVER_WORDS
from programs.engine.progress import CAP_BOUNDS, LEVERS, Caps
from programs.models import OwnCaps
from programs.reads import caps_of
from programs.services.caps import save_caps
from tests.clients.trained import TODAY, line_in, proposed, session_of, weeks_of
from tests.factories import MONDAY, BlockFactory, CoachFactory, ExerciseFactory, HealthAnswersFactory, StationFactory
from tests.pages import text_of, value_of

PAGE = "/practice/caps/"
USUAL = {"rise": "5", "rise_most": "10", "rise_week": "10", "fall_most": "10"}


@pytest.fixture(autouse=True)
def _today(monkeypatch):
    for module in ("clients.services.proposing", "clients.services.sheets"):
        monkeypatch.setattr(f"{module}.today_for", lambda client: TODAY)


def fields(levers=LEVERS, **typed):
    return {**USUAL, **{f"lever_{place}": code for place, code in enumerate(levers)}, **typed}


def stored(practice):
    return list(OwnCaps.objects.filter(practice=practice).values_list("own", flat=True))


def test_every_bound_is_told_with_what_it_comes_to(as_ana):
    page = as_ana.get(PAGE)
    assert {name: value_of(page, name) for name in USUAL} == USUAL
    assert set(BY_NAME) == set(CAP_BOUNDS)
    assert set(LEVER_WORDS) == set(LEVERS)
    said = text_of(page)
    assert "5 %: from 100 kg to 105 kg at most the next time." in said
    assert "10 %: from 100 kg to 90 kg at the lowest." in said
    assert all(str(known.about) in said for known in BY_NAME.values())


def test_what_differs_is_stored_and_nothing_else(as_ana, ana):
    assert as_ana.post(PAGE, fields(rise="2,5", rise_week="7.5")).status_code == 302
    assert stored(ana.practice) == [{"rise": 0.025, "rise_week": 0.075}]
    assert caps_of(ana.practice)[0] == Caps(rise=0.025, rise_week=0.075)
    assert "2.5 %: from 100 kg to 102.5 kg" in text_of(as_ana.get(PAGE))


def test_the_order_of_other_ways_is_kept(as_ana, ana):
    wanted = ("pauses", "extra_set", "more_reps", "one_sided", "slower_lowering")
    as_ana.post(PAGE, fields(levers=wanted))
    assert stored(ana.practice) == [{"levers": list(wanted)}]
    assert caps_of(ana.practice)[1] == wanted


@pytest.mark.parametrize(
    ("typed", "name", "sentence"),
    [
        ({"rise": "11"}, "rise", "Write a number, 1 to 10."),
        ({"rise": "0"}, "rise", "Write a number, 1 to 10."),
        ({"rise_most": "much"}, "rise_most", "Write a number, 2 to 10."),
        ({"rise_week": "10.5"}, "rise_week", "Write a number, 2 to 10."),
        ({"fall_most": "25"}, "fall_most", "Write a number, 5 to 10."),
        ({"rise": "8", "rise_most": "6"}, "rise_most", "Write 8 or more"),
        ({"rise": "8", "rise_week": "6"}, "rise_week", "Write 8 or more"),
        ({"lever_1": "more_reps"}, "lever_1", "Each way once"),
    ],
)
def test_what_is_wrong_stands_beside_its_box_and_nothing_typed_is_lost(as_ana, ana, typed, name, sentence):
    page = as_ana.post(PAGE, fields(**typed))
    assert page.status_code == 422
    text = page.content.decode()
    assert sentence in text[text.index(f'id="id_{name}_error"') :][:300]
    assert {key: value_of(page, key) for key in typed if key in USUAL} == {k: v for k, v in typed.items() if k in USUAL}
    assert stored(ana.practice) == []


def test_the_usual_is_filled_in_and_counts_once_saved(as_ana, ana):
    save_caps(ana, Caps(rise=0.02), LEVERS)
    page = as_ana.post(PAGE, {**fields(rise="2"), "back": "1"})
    assert value_of(page, "rise") == "5"
    assert stored(ana.practice) == [{"rise": 0.02}]
    as_ana.post(PAGE, fields())
    assert stored(ana.practice) == [{}]


def test_saving_is_one_act_and_saving_nothing_new_none(as_ana, ana):
    as_ana.post(PAGE, fields())
    assert not JournalEntry.objects.exists()
    as_ana.post(PAGE, fields(rise="3"))
    entry = JournalEntry.objects.get(act="caps.save")
    journal.undo(entry, ana)
    assert caps_of(ana.practice)[0] == Caps()


def test_a_coach_who_is_not_the_owner_reads_and_changes_nothing(ana):
    browser = Browser()
    browser.force_login(CoachFactory(practice=ana.practice, is_owner=False))
    said = text_of(browser.get(PAGE))
    assert "The owner of the practice may change them." in said
    assert "Save bounds" not in said
    assert browser.post(PAGE, fields(rise="3")).status_code in (403, 404)
    assert stored(ana.practice) == []


def test_each_practice_has_its_own(as_ana, ana, cleo):
    as_ana.post(PAGE, fields(rise="3"))
    assert caps_of(cleo.practice)[0] == Caps()


def test_what_waits_is_reckoned_again_by_the_new_bounds_and_after_undo(
    as_ana, ana, ben, django_capture_on_commit_callbacks
):
    block = BlockFactory(client=ben, weeks=8)
    StationFactory(place=block.place, loads={"list": [str(load) for load in range(2, 41)]})
    HealthAnswersFactory(client=ben, answered_on=MONDAY)
    press = ExerciseFactory(practice=ana.practice, role="secondary")
    weeks_of(block, press, 5, reps=8)
    line_in(session_of(block, 6), press)
    assert proposed(ben).kind == "load_up"
    with django_capture_on_commit_callbacks(execute=True):
        as_ana.post(PAGE, fields(rise="2", rise_most="4"))
    assert Proposal.objects.waiting().get().kind == "step_too_big"
    with django_capture_on_commit_callbacks(execute=True):
        journal.undo(JournalEntry.objects.get(act="caps.save"), ana)
    assert Proposal.objects.waiting().get().kind == "load_up"


@example({"rise": float("nan"), "fall_most": float("inf")})
@given(st.dictionaries(st.sampled_from([*CAP_BOUNDS, "other"]), st.floats() | st.none() | st.text() | st.booleans()))
def test_whatever_is_stored_no_bound_is_ever_wider_than_the_widest(own):
    caps = Caps.of(own)
    for name, (low, high) in CAP_BOUNDS.items():
        assert low <= getattr(caps, name) <= high
    assert caps.rise <= caps.rise_most
