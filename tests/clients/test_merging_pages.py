"""The pages that merge and split exercises: choosing, what moves, doing it, taking it back, and who may."""

import re
from html import unescape

import pytest
from django.test import Client as Browser
from django.urls import reverse

from clients.models import LoggedSet, Taste
from coachdesk.practice.models import JournalEntry
from programs.models import Exercise
from tests.factories import (
    MONDAY,
    ClientFactory,
    CoachFactory,
    ExerciseFactory,
    LoggedSetFactory,
    OutlineSlotFactory,
    PlaceFactory,
    PrescriptionFactory,
    SlotCandidateFactory,
)

PAGES = ("exercise-merge", "exercise-split")


@pytest.fixture
def one(ana):
    return ExerciseFactory(practice=ana.practice, name="Bench press (copy)", aliases=["flat press"])


@pytest.fixture
def other(ana):
    return ExerciseFactory(practice=ana.practice, name="Dumbbell bench press")


@pytest.fixture
def loft(ana):
    return PlaceFactory(practice=ana.practice, name="Net Loft")


def page_of(name, exercise):
    return reverse(name, args=[exercise.public_id])


def text_of(response):
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", response.text)).split())


def undo_address(response):
    return unescape(re.search(r'action="(/journal/[^"]+/undo/[^"]*)"', response.text)[1])


# Merging


def test_the_exercise_s_page_offers_both(as_ana, one):
    page = as_ana.get(page_of("exercise", one)).text
    assert page_of("exercise-merge", one) in page and page_of("exercise-split", one) in page


def test_the_likeliest_are_offered_and_others_can_be_looked_for(as_ana, ana, one, other):
    ExerciseFactory(practice=ana.practice, name="Back squat", pattern="squat", load_entry="total")
    ExerciseFactory(practice=ana.practice, name="Old press", hidden_at="2026-01-01T00:00Z")
    page = as_ana.get(page_of("exercise-merge", one)).text
    assert f"?into={other.public_id}" in page and "Back squat" not in page and "Old press" not in page
    found = as_ana.get(page_of("exercise-merge", one), {"q": "squad"}).text
    assert "Back squat" in found and "counts something else" in found and other.name not in found
    assert "No other exercise is called “zzzzz”" in text_of(as_ana.get(page_of("exercise-merge", one), {"q": "zzzzz"}))
    assert "Bench press (copy)</a></li>" not in as_ana.get(page_of("exercise-merge", one), {"q": "bench"}).text


def test_what_moves_is_shown_and_nothing_is_changed(as_ana, ana, ben, one, other):
    LoggedSetFactory.create_batch(3, client=ben, exercise=one)
    Taste.objects.create(client=ben, exercise=one, likes=False)
    Taste.objects.create(client=ben, exercise=other, likes=True)
    Exercise.objects.filter(pk=other.pk).update(implement="kettlebell")
    text = text_of(as_ana.get(page_of("exercise-merge", one), {"into": other.public_id}))
    assert "Sets done 3 sets, 1 client" in text and "Likes and dislikes 1 dislikes it" in text
    assert "the dislike stays: Ben Quay." in text and "Loads of both stand in one line" in text
    assert "New there: Bench press (copy) · flat press." in text and "look at the joined history" in text
    assert "keep saying Bench press (copy)" in text
    assert not JournalEntry.objects.exists() and LoggedSet.objects.filter(exercise=one).count() == 3


def test_what_the_other_shows_from_then_on_is_told(as_ana, one, other):
    into = {"into": str(other.public_id)}
    assert "What it looks like" not in as_ana.get(page_of("exercise-merge", one), into).text
    one.clip_url = "https://clips.example/one"
    one.save()
    page = text_of(as_ana.get(page_of("exercise-merge", one), into))
    assert f"What it looks like link to a clip, as {other.name} has none" in page


def test_merging_leads_to_the_other_and_can_be_taken_back(as_ana, ben, one, other):
    LoggedSetFactory.create_batch(2, client=ben, exercise=one)
    response = as_ana.post(
        page_of("exercise-merge", one), {"into": str(other.public_id), "keep_names": "on"}, follow=True
    )
    assert response.redirect_chain == [(page_of("exercise", other), 302)]
    assert "Bench press (copy) merged into Dumbbell bench press. 2 sets moved." in text_of(response)
    old = as_ana.get(page_of("exercise", one))
    assert "Merged: all that hung on it" in old.text and page_of("exercise", other) in old.text
    assert page_of("exercise-merge", one) not in old.text
    as_ana.post(undo_address(response))
    one.refresh_from_db()
    assert one.merged_into is None and LoggedSet.objects.filter(exercise=one).count() == 2


def test_the_names_are_given_up_where_the_box_is_not_ticked(as_ana, one, other):
    as_ana.post(page_of("exercise-merge", one), {"into": str(other.public_id)})
    other.refresh_from_db()
    assert other.aliases == []


def test_what_would_falsify_is_refused_in_words(as_ana, ben, one, other):
    LoggedSetFactory(client=ben, exercise=one)
    Exercise.objects.filter(pk=other.pk).update(load_entry="total", limbs="one")
    address = page_of("exercise-merge", one)
    shown = as_ana.get(address, {"into": other.public_id})
    text = text_of(shown)
    assert "These two can’t be merged" in text and "A load that was typed would be read as something else." in text
    assert "A set would be read as done with the other number of sides." in text
    assert "one implement, each hand" in text and "everything that moves, bar and plates together" in text
    assert f"Merge into {other.name}" not in text
    refused = as_ana.post(address, {"into": str(other.public_id)})
    assert refused.status_code == 422 and "These two can’t be merged" in text_of(refused)
    one.refresh_from_db()
    assert one.merged_into is None and not JournalEntry.objects.exists()


def test_where_nothing_was_done_it_is_said_that_nothing_is_misread(as_ana, one, other):
    Exercise.objects.filter(pk=other.pk).update(load_entry="total")
    text = text_of(as_ana.get(page_of("exercise-merge", one), {"into": other.public_id}))
    assert "nothing can be misread" in text and "Nothing hangs on it yet" in text and f"Merge into {other.name}" in text


@pytest.mark.parametrize("into", ["", "nonsense", "itself", "foreign", "hidden"])
def test_a_choice_that_is_none_is_told(as_ana, cleo, one, other, into):
    foreign = ExerciseFactory(practice=cleo.practice)
    hidden = ExerciseFactory(practice=one.practice, hidden_at="2026-01-01T00:00Z")
    key = {"itself": one, "foreign": foreign, "hidden": hidden}
    value = str(key[into].public_id) if into in key else into
    response = as_ana.post(page_of("exercise-merge", one), {"into": value})
    assert response.status_code == 422 and "Nothing was merged" in response.text
    assert as_ana.get(page_of("exercise-merge", one), {"into": value}).status_code == 200
    assert not JournalEntry.objects.exists()


def test_a_merged_one_is_not_merged_split_or_shown_again(as_ana, ben, one, other):
    LoggedSetFactory(client=ben, exercise=one)
    as_ana.post(page_of("exercise-merge", one), {"into": str(other.public_id)})
    for page in PAGES:
        response = as_ana.get(page_of(page, one), follow=True)
        assert (response.redirect_chain == [(page_of("exercise", one), 302)] and "was merged" in response.text) or (
            "has been merged already" in response.text
        )
    response = as_ana.post(page_of("exercise-hidden", one), {"hidden": "0"}, follow=True)
    one.refresh_from_db()
    assert one.hidden_at is not None and "Take the merge back to show it again." in response.text
    copied = as_ana.post(page_of("exercise-copy", one), follow=True)
    assert copied.status_code == 200 and Exercise.objects.get(name="Bench press (copy) (copy)").merged_into is None


def test_pain_is_counted_for_those_who_may_see_it(as_ana, ana, ben, one, other):
    from clients import receiving

    receiving.take_pain(ben, key="p", score=2, body_part="knee", side="left", felt_on=MONDAY, exercise=one)
    plain = Browser()
    plain.force_login(CoachFactory(practice=ana.practice, sees_health=False))
    query = {"into": str(other.public_id)}
    assert "Pain reports 1" in text_of(as_ana.get(page_of("exercise-merge", one), query))
    assert "Pain reports" not in text_of(plain.get(page_of("exercise-merge", one), query))
    response = plain.post(page_of("exercise-merge", one), query, follow=True)
    plain.post(undo_address(response))
    assert ben.pain_reports.get().exercise == one


# Splitting


@pytest.fixture
def past(ben, one, loft):
    PrescriptionFactory(session__block__client=ben, session__block__place=loft, exercise=one)
    LoggedSetFactory.create_batch(3, client=ben, exercise=one, place=loft)
    mia = ClientFactory(practice=ben.practice, coach=ben.coach, name="Mia Rigg")
    LoggedSetFactory.create_batch(2, client=mia, exercise=one)
    return mia


def test_the_form_offers_what_there_is(as_ana, one, past, loft):
    text = text_of(as_ana.get(page_of("exercise-split", one)))
    assert "Ben Quay, 3 sets" in text and "Mia Rigg, 2 sets" in text and "Net Loft, 3 sets" in text
    assert "flat press" in text and "Sets were done from 2 Mar 2026 to 2 Mar 2026." in text


def test_what_moves_is_shown_first_and_then_done_and_taken_back(as_ana, ben, one, past):
    address = page_of("exercise-split", one)
    typed = {"name": "Ben’s press", "clients": [str(ben.pk)], "aliases": ["flat press"]}
    shown = as_ana.post(address, {**typed, "act": "look"})
    text = text_of(shown)
    assert shown.status_code == 200 and "What goes to Ben’s press" in text and "Sets done 3 sets, 1 client" in text
    assert "2 sets stay with Bench press (copy)." in text and "Split off Ben’s press" in text
    assert re.search(rf'value="{ben.pk}"[^>]*checked', shown.text) and not JournalEntry.objects.exists()
    response = as_ana.post(address, {**typed, "act": "split"}, follow=True)
    new = Exercise.objects.get(name="Ben’s press")
    assert response.redirect_chain == [(page_of("exercise", new), 302)] and new.aliases == ["flat press"]
    assert "Ben’s press split off Bench press (copy). 3 sets moved." in text_of(response)
    undone = as_ana.post(undo_address(response), follow=True)
    assert undone.redirect_chain[0][0] == page_of("exercise", one)
    assert not Exercise.objects.filter(pk=new.pk).exists() and LoggedSet.objects.filter(exercise=one).count() == 5


@pytest.mark.parametrize(
    "changes, sentence",
    [
        ({"name": ""}, "Fill this in."),
        ({"name": "Bench press (COPY)"}, "This is the old one’s name."),
        ({"name": "Dumbbell bench press"}, "Dumbbell bench press has this name already."),
        ({"clients": []}, "Say whose sets go along, from when to when, or where"),
        ({"since": "2030-01-01"}, "Nothing was done or planned in this part."),
        ({"since": "2026-03-02", "until": "2026-03-01"}, "This is before the day it starts from."),
        ({"since": "yesterday"}, "Write the date as 2026-03-31."),
        ({"clients": ["0"]}, "0 is not one of the available choices"),
    ],
)
@pytest.mark.parametrize("act", ["look", "split"])
def test_bad_input_is_told_and_nothing_typed_is_lost(as_ana, ben, one, other, past, changes, sentence, act):
    typed = {"name": "Ben’s press", "clients": [str(ben.pk)], **changes, "act": act}
    response = as_ana.post(page_of("exercise-split", one), typed)
    text = unescape(response.text)
    assert response.status_code == 422 and sentence in text and "error-summary" in text
    assert f'value="{typed["name"]}"' in text or not typed["name"]
    assert not JournalEntry.objects.exists()


def test_templates_can_be_ticked(as_ana, ana, ben, one, past):
    slot = OutlineSlotFactory(day__outline__practice=ana.practice)
    SlotCandidateFactory(slot=slot, exercise=one)
    typed = {"name": "Ben’s press", "clients": [str(ben.pk)], "outlines": [str(slot.day.outline.pk)], "act": "split"}
    as_ana.post(page_of("exercise-split", one), typed)
    assert slot.candidates.get().exercise.name == "Ben’s press"


def test_without_history_there_is_nothing_to_split(as_ana, one):
    text = text_of(as_ana.get(page_of("exercise-split", one)))
    assert "there is no history to part" in text and "Show what moves" not in text


# What it costs, and who may


@pytest.mark.parametrize("rows", [1, 30])
def test_the_pages_cost_the_same_however_much(as_ana, ana, one, other, rows, django_assert_num_queries):
    for _n in range(rows):
        client = ClientFactory(practice=ana.practice, coach=ana)
        LoggedSetFactory(client=client, exercise=one, place=PlaceFactory(practice=ana.practice))
        Taste.objects.create(client=client, exercise=one, likes=True)
        Taste.objects.create(client=client, exercise=other, likes=True)
        ExerciseFactory(practice=ana.practice)
    for page, query, queries in (
        ("exercise-merge", {}, 7),
        ("exercise-merge", {"q": "press"}, 8),
        ("exercise-merge", {"into": str(other.public_id)}, 33),
        ("exercise-split", {}, 10),
    ):
        as_ana.get(page_of(page, one), query)  # the library is read once and kept
        with django_assert_num_queries(queries):
            assert as_ana.get(page_of(page, one), query).status_code == 200


@pytest.mark.parametrize("page", PAGES)
def test_a_stranger_finds_nothing(as_cleo, one, other, page):
    assert as_cleo.get(page_of(page, one)).status_code == 404
    assert as_cleo.post(page_of(page, one), {"into": str(other.public_id)}).status_code == 404
    assert not JournalEntry.objects.exists()


@pytest.mark.parametrize("page", PAGES)
def test_nobody_reads_without_signing_in(client, one, page):
    response = client.get(page_of(page, one))
    assert response.status_code == 302 and response.url.startswith(reverse("sign-in"))


@pytest.mark.parametrize("page", PAGES)
def test_another_method_is_refused(as_ana, one, page):
    assert as_ana.put(page_of(page, one)).status_code == 405


def test_a_form_without_its_token_is_refused(ana, one, other):
    browser = Browser(enforce_csrf_checks=True)
    browser.force_login(ana)
    assert browser.post(page_of("exercise-merge", one), {"into": str(other.public_id)}).status_code == 403
    page = browser.get(page_of("exercise-merge", one), {"into": other.public_id})
    token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page.text)[1]
    sent = browser.post(page_of("exercise-merge", one), {"into": str(other.public_id), "csrfmiddlewaretoken": token})
    assert sent.status_code == 302
