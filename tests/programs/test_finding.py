"""Finding exercises by typed words: names, what they train and with what, and typing mistakes forgiven."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs import finding
from programs.models import Exercise
from tests.factories import ExerciseFactory

letters = st.text("abcdefghijklmnop", min_size=5, max_size=12)


@pytest.fixture
def library(ana):
    for name, implement, regions in (
        ("Romanian deadlift", "barbell", {"glute_max": 4, "hams": 2, "erector": 1}),
        ("Lying leg curl", "seated_leg_curl", {"hams": 4, "gastroc": 1}),
        ("Overhead press", "dumbbell", {"delt_ant": 4, "tri_long": 2}),
    ):
        ExerciseFactory(practice=ana.practice, name=name, implement=implement, regions=regions, joints={})
    return Exercise.objects.for_practice(ana.practice)


@pytest.mark.parametrize(
    "words, found",
    [
        ("deadlfit", ["Romanian deadlift"]),
        ("romainan dedlift", ["Romanian deadlift"]),
        ("overheda", ["Overhead press"]),
        ("glutes", ["Romanian deadlift"]),
        ("hamstrings", ["Lying leg curl", "Romanian deadlift"]),
        ("hamstrigns", ["Lying leg curl", "Romanian deadlift"]),
        ("dumbbell shoulders", ["Overhead press"]),
        ("erectors", []),
        ("calves", []),
        ("lge", []),
        ("zzzzzz", []),
    ],
)
def test_words_find_names_regions_groups_and_implements(library, words, found):
    assert [exercise.name for exercise in finding.named(library, words).order_by("name")] == found


@pytest.mark.parametrize("words", ["deadlift", "deadlfit"])
def test_a_search_costs_two_queries_with_and_without_mistakes(library, words, django_assert_num_queries):
    with django_assert_num_queries(2):
        assert len(finding.named(library, words)) == 1


def test_what_answers_as_typed_leaves_nothing_forgiven():
    called = {1: ("Bench press", ""), 2: ("Bunch press", "")}
    assert finding.matching("bench", called) == {1}
    assert finding.matching("bonch", called) == {1, 2}


def test_what_else_is_said_answers_only_from_the_start_of_a_word():
    assert finding.matching("lat", {1: ("Twist", "plate"), 2: ("Row", "Lats")}) == {2}


@pytest.mark.parametrize("asked, allowed", [("abc", 0), ("abcd", 1), ("abcdefg", 1), ("abcdefgh", 2)])
def test_longer_words_are_forgiven_more(asked, allowed):
    assert finding.mistakes_allowed(asked) == allowed


@given(letters, st.data())
def test_any_one_mistake_is_one_at_most(word, data):
    at = data.draw(st.integers(0, len(word) - 2))
    other = data.draw(st.sampled_from("aqz"))
    for typed in (
        word[:at] + word[at + 1 :],
        word[:at] + other + word[at:],
        word[:at] + other + word[at + 1 :],
        word[:at] + word[at + 1] + word[at] + word[at + 2 :],
    ):
        assert finding.mistakes(typed, word) <= 1
        assert finding.matching(typed, {1: (word, "")}) == {1}


@given(letters, letters)
def test_no_mistakes_are_made_only_by_a_start_of_the_word(asked, word):
    assert (finding.mistakes(asked, word) == 0) == word.startswith(asked)
    assert finding.mistakes(asked, word) <= len(asked)
