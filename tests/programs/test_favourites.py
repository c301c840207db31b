"""A coach's own favourites: the toggle, its undo, the filter."""

import re

import pytest
from django.test import Client as Browser
from django.urls import reverse

from coachdesk.practice.models import JournalEntry
from programs.models import FavouriteExercise
from programs.services.favourites import set_favourite
from tests.factories import CoachFactory, ExerciseFactory
from tests.programs.test_library_pages import HTMX, find


@pytest.fixture
def row(ana):
    ExerciseFactory(practice=ana.practice, name="Dip")
    return ExerciseFactory(practice=ana.practice, name="Row")


def toggle(browser, exercise, wanted, **more):
    return browser.post(reverse("exercise-favourite", args=[exercise.public_id]), {"favourite": wanted, **more})


def pressed(response):
    return re.findall(r'<button class="tick"[^>]*aria-pressed="true"', response.text)


def test_a_favourite_is_kept_found_and_let_go(as_ana, ana, row):
    assert toggle(as_ana, row, "1", next="/library/?q=row").url == "/library/?q=row"
    assert find(as_ana, favourites="on") == ["Row"]
    assert 'aria-pressed="true"' in as_ana.get(reverse("exercise", args=[row.public_id])).text
    assert len(pressed(as_ana.get(reverse("library")))) == 1
    assert toggle(as_ana, row, "0", next="https://elsewhere.example/").url == reverse("exercise", args=[row.public_id])
    assert find(as_ana, favourites="on") == []


def test_favourites_are_each_coachs_own(as_ana, ana, row):
    other = CoachFactory(practice=ana.practice)
    set_favourite(row, other, True)
    assert find(as_ana, favourites="on") == []
    as_other = Browser()
    as_other.force_login(other)
    assert find(as_other, favourites="on") == ["Row"]


def test_what_is_so_already_is_no_act(ana, row):
    assert set_favourite(row, ana, False) is None
    assert set_favourite(row, ana, True) is not None
    assert set_favourite(row, ana, True) is None
    assert FavouriteExercise.objects.count() == 1 and JournalEntry.objects.count() == 1


@pytest.mark.parametrize("wanted", [True, False])
def test_the_toast_takes_it_back(as_ana, ana, row, wanted):
    if not wanted:
        set_favourite(row, ana, True)
    toggle(as_ana, row, "1" if wanted else "0")
    entry = JournalEntry.objects.latest("pk")
    as_ana.post(reverse("undo", args=[entry.public_id]))
    assert FavouriteExercise.objects.filter(coach=ana, exercise=row).exists() is not wanted


def test_htmx_gets_the_toggle_alone_and_a_toast(as_ana, row):
    response = as_ana.post(reverse("exercise-favourite", args=[row.public_id]), {"favourite": "1"}, **HTMX)
    assert "<html" not in response.text and "<tr" not in response.text
    assert 'aria-pressed="true"' in response.text and 'value="0"' in response.text
    assert (
        "one of your favourites" in response.text
        and reverse("undo", args=[JournalEntry.objects.get().public_id]) in response.text
    )


def test_another_practices_exercise_is_nobodys_favourite(as_ana, cleo):
    theirs = ExerciseFactory(practice=cleo.practice)
    assert toggle(as_ana, theirs, "1").status_code == 404
    assert not FavouriteExercise.objects.exists()
