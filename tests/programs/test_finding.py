"""Finding exercises by typed words: names, what they train and with what, and typing mistakes forgiven."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs import catalogue, finding
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
        ("delts", ["Overhead press"]),
        ("erectors", []),
        ("calves", []),
        ("lge", []),
        ("zzzzzz", []),
    ],
)
def test_words_find_names_regions_groups_and_implements(ana, library, words, found):
    names = dict(library.values_list("pk", "name"))
    assert sorted(names[pk] for pk in catalogue.named(ana.practice, words)) == found


def called(**names):
    """Things by their names: "name; other names; what else is said"."""
    size = len(names)
    kinds = {}, {}, {}
    for at, text in enumerate(names.values()):
        for said, words in zip(kinds, f"{text};;".split(";"), strict=False):
            for word in finding.spoken(words):
                said.setdefault(word, set()).add(at)
    whole = {" ".join(finding.spoken(text.split(";")[0])): 1 << at for at, text in enumerate(names.values())}
    return finding.Called(*(finding.Words(said, size) for said in kinds), whole)


def found(words, within=None, **names):
    """Which of the names are found, the best first, and what the words were read as."""
    everything = (1 << len(names)) - 1
    answer = called(**names).answer(words, everything if within is None else within)
    order = [list(names)[at] for bits in answer.sets for at in finding.positions_in(bits)]
    return order, answer.read_as


@pytest.mark.parametrize("words", ["deadlift", "deadlfit"])
def test_a_search_costs_one_query_with_and_without_mistakes(ana, library, words, django_assert_num_queries):
    catalogue.named(ana.practice, words)
    with django_assert_num_queries(1):
        assert len(catalogue.named(ana.practice, words)) == 1


def test_what_answers_as_typed_leaves_nothing_forgiven():
    assert found("bench", a="Bench press", b="Bunch press") == (["a"], "")
    assert found("bonch", a="Bench press", b="Bunch press") == (["a", "b"], "bench")


def test_only_the_misspelt_word_is_forgiven():
    assert found("pres bonch", a="Bench press", b="Bench dip", c="Press") == (["a"], "pres bench")


def test_fewest_mistakes_are_tried_first():
    assert found("shoulders", a="Shouders", b="Shoders")[0] == ["a"]
    assert found("shoulders", b="Shoders")[0] == ["b"]


def test_what_is_left_out_answers_nothing_and_hides_no_mistake():
    assert found("bench", 0b10, a="Bench press", b="Bunch press") == (["b"], "bunch")


def test_names_come_first_then_other_names_then_what_is_said_then_the_inside_of_names():
    order, read_as = found(
        "lat",
        inside="Flat press",
        said="Row;;lats",
        alias="Pulldown; lat pull",
        start="Lateral raise",
        word="High lat row",
        whole="Lat",
    )
    assert order == ["whole", "word", "start", "alias", "said", "inside"] and read_as == ""


def test_several_words_answer_as_well_as_the_worst_of_them():
    order, _ = found("cable row", said="Row;;cable station", name="Cable row, wide", both="Low row; cable pull")
    assert order == ["name", "both", "said"]


def test_punctuation_and_hyphens_part_words():
    assert found("pull-up", a="Pull-up (wide)", b="Pullover")[0] == ["a"]
    assert found("wide", a="Pull-up (wide)", b="Wider")[0] == ["a", "b"]
    assert found("...", a="Any")[0] == ["a"]


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
        assert finding.mistakes(typed, word, 1) <= 1
        assert found(typed, a=word)[0] == ["a"]


@given(letters, letters)
def test_no_mistakes_are_made_only_by_a_start_of_the_word(asked, word):
    assert (finding.mistakes(asked, word) == 0) == word.startswith(asked)
    assert finding.mistakes(asked, word) <= len(asked)


@given(letters, letters, st.integers(0, 2))
def test_counting_stops_early_without_miscounting(asked, word, most):
    whole, cut = finding.mistakes(asked, word), finding.mistakes(asked, word, most)
    assert (cut == whole) if whole <= most else (cut > most)
    assert (word in finding.Words({word: [0]}, 1).near(asked, most)) == (whole <= most)


@given(st.sets(st.integers(0, 300)))
def test_sets_are_kept_as_bits(positions):
    bits = finding.bits_of(positions, 301)
    assert bits.bit_count() == len(positions) and list(finding.positions_in(bits)) == sorted(positions)


@given(st.lists(st.sets(letters, max_size=3), min_size=1, max_size=6), letters)
def test_words_are_found_as_by_going_through_them(things, asked):
    said = {}
    for at, words in enumerate(things):
        for word in words:
            said.setdefault(word, []).append(at)
    index = finding.Words(said, len(things))
    for part in (asked[:2], asked[:1], *(word[1:3] for words in things for word in words)):
        begun = [at for at, words in enumerate(things) if any(word.startswith(part) for word in words)]
        held = [at for at, words in enumerate(things) if any(part in word for word in words)]
        assert list(finding.positions_in(index.starting(part))) == begun
        assert list(finding.positions_in(index.holding(part))) == held
