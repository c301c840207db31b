"""Finding clients and exercises from the masthead."""

import pytest
from django.urls import reverse

from tests.factories import ClientFactory, ExerciseFactory


def find(browser, words):
    response = browser.get(reverse("search"), {"q": words})
    assert response.status_code == 200
    return response.text


def test_clients_and_exercises_are_found_by_the_start_of_each_word(as_ana, ana, ben):
    ExerciseFactory(practice=ana.practice, name="Bench press", aliases=["flat press"])
    text = find(as_ana, "be")
    assert "Ben Quay" in text and "Bench press" in text
    text = find(as_ana, "qu be")
    assert "Ben Quay" in text and "Bench press" not in text
    assert "Bench press" in find(as_ana, "FLAT")


def test_accents_and_case_do_not_matter(as_ana, ana):
    ClientFactory(practice=ana.practice, coach=ana, name="Åsa Österby")
    assert "Åsa Österby" in find(as_ana, "osterby asa")


def test_another_practices_rows_are_never_found(as_cleo, ana, ben):
    ExerciseFactory(practice=ana.practice, name="Bench press")
    text = find(as_cleo, "be")
    assert "Ben Quay" not in text and "Bench press" not in text


def test_hidden_exercises_are_not_offered(as_ana, ana):
    ExerciseFactory(practice=ana.practice, name="Bench press", hidden_at="2026-03-02T08:00Z")
    assert "Bench press" not in find(as_ana, "bench")


def test_nothing_found_says_what_to_do_and_keeps_the_words(as_ana):
    text = find(as_ana, "<b>nobody</b>")
    assert "The first letters of each word are enough." in text
    assert 'value="&lt;b&gt;nobody&lt;/b&gt;"' in text and "<b>nobody" not in text


@pytest.mark.parametrize("words", ["", "   "])
def test_without_words_the_field_waits(as_ana, ben, words):
    text = find(as_ana, words)
    assert "autofocus" in text and "Ben Quay" not in text


def test_long_answers_say_how_many_more(as_ana, ana):
    ExerciseFactory.create_batch(23, practice=ana.practice)
    assert "and 3 more in the library" in find(as_ana, "dumbbell")


@pytest.mark.parametrize("rows", [1, 30])
def test_it_costs_the_same_however_many_there_are(as_ana, ana, rows, django_assert_num_queries):
    for _ in range(rows):
        ClientFactory(practice=ana.practice, coach=ana, name="Dum Number")
        ExerciseFactory(practice=ana.practice)
    find(as_ana, "dum")
    with django_assert_num_queries(5):  # http session, coach, clients, the library's stamp, exercises
        find(as_ana, "dum")


def test_nobody_searches_without_signing_in(client):
    assert client.get(reverse("search")).url.startswith(reverse("sign-in"))


def test_search_is_only_read(as_ana):
    assert as_ana.post(reverse("search")).status_code == 405
