"""The page on what composing weighs: read by coaches, changed by the owner, tried on a template, taken back."""

import re

import pytest
from django.urls import reverse

from clients.acts import act_words
from clients.reads.composing import compose_inputs
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.engine.compose import Weights
from programs.engine.compose.weights import DEFAULTS
from programs.models import OwnWeights
from programs.reads import weights_of
from programs.services.weights import save_weights
from programs.weighing import GROUPS, KNOWN
from tests.factories import (
    MONDAY,
    CoachFactory,
    ExerciseFactory,
    OutlineDayFactory,
    OutlineFactory,
    OutlineSlotFactory,
    PlaceFactory,
    SlotCandidateFactory,
)
from tests.pages import text_of, value_of

PAGE = "/practice/weights/"


def fields(**typed):
    return {**{name: str(value) for name, value in DEFAULTS.items()}, **{k: str(v) for k, v in typed.items()}}


def stored(practice):
    return list(OwnWeights.objects.filter(practice=practice).values_list("own", flat=True))


def test_every_weight_is_on_the_page_with_what_it_does(as_ana, ana):
    page = as_ana.get(PAGE)
    assert set(KNOWN) == set(DEFAULTS)
    assert {name: value_of(page, name) for name in DEFAULTS} == {name: str(value) for name, value in DEFAULTS.items()}
    said = text_of(page)
    for group in GROUPS:
        assert str(group.title) in said
        for known in group.weights:
            assert str(known.about) in said
    assert "8: one step down in your ranking costs as much as a third of a missing set." in said
    assert "All of them stand at what is usual." in said


def test_what_differs_is_stored_and_nothing_else(as_ana, ana):
    assert as_ana.post(PAGE, fields(rank_step=12, outside_ranking=80)).status_code == 302
    assert stored(ana.practice) == [{"rank_step": 12, "outside_ranking": 80}]
    said = text_of(as_ana.get(PAGE))
    assert f"2 of {len(DEFAULTS)} are your own." in said
    assert "12: one step down in your ranking costs as much as half a missing set." in said


def test_an_empty_field_is_what_is_usual(as_ana, ana):
    as_ana.post(PAGE, fields(rank_step="", liked=25))
    assert stored(ana.practice) == [{"liked": 25}]


def test_saving_is_one_act_and_undone_from_the_toast(as_ana, ana):
    response = as_ana.post(PAGE, fields(liked=25), follow=True)
    entry = JournalEntry.objects.get(act="weights.save")
    assert entry.params == {"count": 1}
    assert reverse("undo", args=[entry.public_id]) in response.content.decode()
    as_ana.post(PAGE, fields(liked=30))
    second = JournalEntry.objects.filter(act="weights.save").first()
    journal.undo(second, ana)
    assert weights_of(ana.practice) == Weights(liked=25)
    journal.undo(entry, ana)
    assert weights_of(ana.practice) == Weights()


def test_saving_nothing_new_is_no_act(as_ana, ana):
    assert as_ana.post(PAGE, fields()).status_code == 302
    assert not JournalEntry.objects.exists()
    assert stored(ana.practice) == []


@pytest.mark.parametrize(
    ("typed", "name", "sentence"),
    [
        ({"liked": "501"}, "liked", "Write a whole number, 0 to 500."),
        ({"liked": "-1"}, "liked", "Write a whole number, 0 to 500."),
        ({"rank_step": "a lot"}, "rank_step", "Write a whole number, 0 to 500."),
        ({"priority_factor": "0"}, "priority_factor", "Write a whole number, 1 to 10."),
        ({"rank_step": "20"}, "outside_ranking", "Write 120 or more."),
        ({"superset_clash": "6"}, "superset_clash", "A bad superset must cost more"),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_nothing_typed_is_lost(as_ana, ana, typed, name, sentence):
    page = as_ana.post(PAGE, fields(**{"disliked": 77, **typed}))
    assert page.status_code == 422
    text = page.content.decode()
    error = text[text.index(f'id="id_{name}_error"') :]
    assert sentence in error[: error.index("</div>")]
    assert value_of(page, "disliked") == "77"
    assert {name: value_of(page, name) for name in typed} == typed
    assert stored(ana.practice) == []


def test_a_group_goes_back_to_what_is_usual_once_saved(as_ana, ana):
    save_weights(ana, Weights(rank_step=5, liked=25, disliked=50))
    page = as_ana.post(PAGE, {**fields(rank_step=5, liked=25, disliked=50, stalled=99), "back": "client"})
    text = page.content.decode()
    assert page.status_code == 200
    assert [value_of(page, name) for name in ("liked", "disliked", "rank_step", "stalled")] == ["20", "40", "5", "99"]
    assert "It counts once you save." in text
    assert "What you typed is not saved yet." in text
    assert weights_of(ana.practice) == Weights(rank_step=5, liked=25, disliked=50)


def test_other_coaches_read_and_change_nothing(client, ana):
    save_weights(ana, Weights(liked=33))
    client.force_login(CoachFactory(practice=ana.practice, name="Piet"))
    page = client.get(PAGE)
    assert page.status_code == 200
    assert "33: it makes up for" in text_of(page)
    assert "<input" not in page.content.decode().split("<main", 1)[1]
    assert client.post(PAGE, fields(liked=1)).status_code == 404
    assert weights_of(ana.practice).liked == 33


def test_weights_are_the_practice_s_own(as_cleo, ana, cleo):
    save_weights(ana, Weights(liked=33))
    assert "33: it makes up for" not in text_of(as_cleo.get(PAGE))
    assert weights_of(cleo.practice) == Weights()


def test_unknown_and_broken_entries_are_left_out(ana):
    OwnWeights.objects.create(practice=ana.practice, own={"gone": 3, "liked": "x", "stalled": 7})
    assert weights_of(ana.practice) == Weights(stalled=7)


@pytest.fixture
def press(ana):
    """A press and its two candidates, the first of which asks much of the joints."""
    outline = OutlineFactory(practice=ana.practice, name="Quay week", order=["full"])
    row = OutlineSlotFactory(day=OutlineDayFactory(outline=outline), reps=[[6, 8]], title="Press")
    for index, name in enumerate(("Heavy press", "Light press")):
        exercise = ExerciseFactory(practice=ana.practice, name=name)
        SlotCandidateFactory(slot=row, exercise=exercise, rank=index)
        if not index:
            exercise.joints.create(joint="elbow", severity=2)
    return row


def test_clients_weeks_are_composed_by_them_at_one_query_more(ana, ben, press, django_assert_num_queries):
    place = PlaceFactory(practice=ana.practice)
    with django_assert_num_queries(1):
        assert weights_of(ana.practice) == Weights()
    save_weights(ana, Weights(liked=33))
    assert compose_inputs(ben, press.day.outline, place, on=MONDAY).request.weights == Weights(liked=33)


def test_trying_tells_which_picks_would_change_and_saves_nothing(as_ana, ana, press):
    outline = press.day.outline
    asked = {"effect": "1", "template": outline.public_id, "level": "intermediate"}
    same = as_ana.post(PAGE, {**fields(), **asked})
    assert "These are the saved weights: nothing changes." in text_of(same)
    little = as_ana.post(PAGE, {**fields(stalled=36), **asked})
    assert "Quay week, intermediate: none of" in text_of(little)
    much = text_of(as_ana.post(PAGE, {**fields(joint_stress=200), **asked}))
    assert "places would change." in much
    assert re.search(r"Press Heavy press, \d sets → Light press, \d sets", much)
    assert stored(ana.practice) == []
    assert not JournalEntry.objects.exists()


def test_trying_swaps_in_the_result_and_what_the_figures_come_to_and_errors_the_whole_form(as_ana, press):
    asked = {"effect": "1", "template": press.day.outline.public_id, "level": "intermediate"}
    part = as_ana.post(PAGE, {**fields(rank_step=12, outside_ranking=80), **asked}, headers={"HX-Request": "true"})
    assert "<form" not in part.content.decode()
    assert "Quay week, intermediate:" in text_of(part)
    assert "12: one step down in your ranking costs as much as half a missing set." in text_of(part)
    wrong = as_ana.post(PAGE, {**fields(rank_step=900), **asked}, headers={"HX-Request": "true"})
    assert wrong.status_code == 422
    assert wrong.headers["HX-Retarget"] == "#weights"
    assert 'id="id_rank_step_error"' in wrong.content.decode()
    assert "<main" not in wrong.content.decode()


def test_trying_what_is_wrong_says_so_and_composes_nothing(as_ana, ana, press):
    asked = {"effect": "1", "template": press.day.outline.public_id, "level": "intermediate"}
    page = as_ana.post(PAGE, {**fields(liked=900), **asked})
    assert page.status_code == 422
    assert "would change." not in text_of(page)
    other = OutlineFactory(name="Elsewhere")
    page = as_ana.post(PAGE, {**fields(liked=9), **asked, "template": other.public_id})
    assert page.status_code == 422
    assert "Elsewhere" not in text_of(page)


def test_a_template_composed_on_its_page_goes_by_them(as_ana, ana, press):
    page = reverse("template", args=[press.day.outline.public_id]) + "?composed"
    before = as_ana.get(page).context["preview"].outlooks[1].picks
    save_weights(ana, Weights(joint_stress=200))
    after = as_ana.get(page).context["preview"].outlooks[1].picks
    assert [pick.exercise for pick in before] != [pick.exercise for pick in after]


def test_examples_follow_the_measure():
    step = KNOWN["rank_step"]
    assert step.told(Weights(rank_step=0)) == "0: it does not count."
    assert "about as much as a third" in step.told(Weights(rank_step=9, under_quarter=6))
    assert "as much as 2.5 missing sets" in step.told(Weights(rank_step=60))
    assert "about as much as 2.3 missing sets" in step.told(Weights(rank_step=55))
    assert "as much as 8 points" in step.told(Weights(under_quarter=0))
    assert "as much as next to nothing" in step.told(Weights(rank_step=1))
    assert KNOWN["add_station"].told(Weights()) == "6: offered as readily as 15 more minutes."


def test_the_practice_s_page_leads_there(as_ana):
    assert f'href="{PAGE}"' in as_ana.get(reverse("practice")).content.decode()


def test_the_list_of_undos_names_the_act(ana):
    assert act_words(save_weights(ana, Weights(liked=25)), {}) == "Changed 1 weight of composing"
    assert (
        act_words(save_weights(ana, Weights(liked=25, disliked=9, stalled=1)), {}) == "Changed 2 weights of composing"
    )
