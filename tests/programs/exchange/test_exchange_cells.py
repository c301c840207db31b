"""Cells and kinds: every text comes back as it was, and no cell runs in a spreadsheet."""

from datetime import UTC
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.exchange.bounds import Bad
from programs.exchange.cells import (
    guard,
    is_error,
    join_commas,
    join_lines,
    join_pairs,
    split_commas,
    split_lines,
    split_pairs,
    unguard,
    unwrapped,
)
from programs.exchange.fields import FIELDS, WORDS

TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"))
ERRORS = st.sampled_from(["#REF!", "'#N/A", "#NAME?", "#NAME?x", '="a"', '=""'])
AWKWARD = ERRORS | st.text(st.sampled_from("=+-@'\t\r\n;,\"\\ →>eun{}2cñ½字"), max_size=12)
ANY = TEXTS | AWKWARD
RUNS = tuple("=+-@\t\r\n＋－＝＠")


@given(ANY)
def test_a_guarded_cell_comes_back_and_is_no_formula(text):
    assert unguard(guard(text)) == text
    assert not guard(text).startswith(RUNS)
    assert not is_error(guard(text)) and unwrapped(guard(text)) == guard(text)


@pytest.mark.parametrize(
    "text, cell",
    [
        ("=1+1", "'=1+1"),
        ("'=1", "''=1"),
        ("'tis", "'tis"),
        ("'", "'"),
        ("", ""),
        ("5 x 5", "5 x 5"),
        ("-", "'-"),
        ("#N/A", "'#N/A"),
        ("#NV", "'#NV"),
    ],
)
def test_only_what_would_run_is_guarded(text, cell):
    assert guard(text) == cell


@given(st.lists(ANY))
def test_lists_come_back_from_their_lines(items):
    cell = join_lines(items)
    assert split_lines(cell) == items
    assert split_lines(cell.replace("\n", "\r\n")) == items  # as some spreadsheets write their lines


@given(st.lists(ANY))
def test_names_come_back_from_between_their_commas(items):
    assert split_commas(join_commas(items)) == items


@given(st.lists(st.tuples(ANY, ANY)))
def test_pairs_come_back_from_their_arrows(pairs):
    # Of a pair of nothing there is nothing to write.
    assert split_pairs(join_pairs(pairs)) == [list(pair) for pair in pairs]


def test_a_list_reads_as_its_lines():
    assert join_lines(["Feet flat.", "Bar over the wrists."]) == "Feet flat.\nBar over the wrists."
    assert join_lines(["one\ntwo", "", " a\\b "]) == "one\\ntwo\n\\e\n\\u{20}a\\\\b\\u{20}"


def test_what_was_typed_by_hand_is_understood():
    assert split_lines("\n  Feet flat. \r\n\r\nPress.\n") == ["Feet flat.", "Press."]
    assert split_pairs("Knee falls in -> Push it out.\nRushing") == [["Knee falls in", "Push it out."], ["Rushing", ""]]
    assert split_lines("50\\50 split") == ["50\\50 split"]
    assert FIELDS["implement"].from_cell("Dumbbells ") == "dumbbell"
    assert FIELDS["pattern"].from_cell("Horizontal push") == "horizontal_push"
    assert FIELDS["regions"].from_cell("Lats 1; rear shoulder: ½\ntriceps, long head 0,25 stretched") == {
        "lat": (4, False),
        "delt_post": (2, False),
        "tri_long": (1, True),
    }
    assert FIELDS["joints"].from_cell("elbow 2") == {"elbow": 2}
    assert FIELDS["needs_one"].from_cell("box or flat_bench\nchair") == [["box", "flat_bench"], ["chair"]]
    assert FIELDS["load_step"].from_cell("2,5") == Decimal("2.5")
    assert FIELDS["rest_s"].from_cell("90,00") == 90
    assert FIELDS["tempo"].from_cell("20x0") == "20X0"
    assert FIELDS["favourite"].from_cell("Yes") is True


@pytest.mark.parametrize(
    "name, cell, code",
    [
        ("name", " ", "needed"),
        ("name", "x" * 121, "too_long"),
        ("name", "a\x00b", "unsound"),
        ("pattern", "", "needed"),
        ("pattern", "hinges", "unknown_near"),
        ("pattern", "9182", "unknown"),
        ("rest_s", "", "needed"),
        ("rest_s", "1:30", "whole_wanted"),
        ("rest_s", "901", "out_of_range"),
        ("rep_low", "6-Oct", "whole_wanted"),
        ("load_step", "NaN", "number_wanted"),
        ("load_step", "1e3", "number_wanted"),
        ("load_step", "2.125", "two_places"),
        ("bodyweight_fraction", "65", "out_of_range"),
        ("tempo", "200", "tempo_wanted"),
        ("clip_url", "javascript:alert(1)", "address_wanted"),
        ("clip_url", "http://example.org/a", "address_wanted"),
        ("regions", "lats", "region_wanted"),
        ("regions", "lat 1\nlat ½", "twice"),
        ("joints", "elbow 4", "joint_wanted"),
        ("hidden_at", "yesterday", "moment_wanted"),
        ("hidden_at", "2026-03-02T10:00:00", "moment_wanted"),
        ("favourite", "perhaps", "yes_wanted"),
        ("id", "17", "id_wanted"),
        ("seed_key", "no such key", "key_wanted"),
    ],
)
def test_what_can_not_be_used_says_why(name, cell, code):
    with pytest.raises(Bad) as refused:
        FIELDS[name].from_cell(cell)
    assert refused.value.code == code


@pytest.mark.parametrize(
    "name, value, code",
    [
        ("name", 5, "text_wanted"),
        ("name", "\ud800", "unsound"),
        ("aliases", "one", "list_wanted"),
        ("aliases", ["x"] * 201, "too_many"),
        ("aliases", [["x"]], "text_wanted"),
        ("rest_s", True, "whole_wanted"),
        ("rest_s", Decimal("1.5"), "whole_wanted"),
        ("load_step", "2.5", "number_wanted"),
        ("load_step", Decimal("1e999999"), "out_of_range"),
        ("regions", [{"region": "lat", "sets": 3}], "region_wanted"),
        ("regions", ["lat"], "list_wanted"),
        ("joints", {"elbow": True}, "joint_wanted"),
        ("favourite", "yes", "yes_wanted"),
        ("tempo", "2010\n", "tempo_wanted"),
        ("seed_key", "press\n", "key_wanted"),
        ("clip_url", "https://example.org/\n", "address_wanted"),
    ],
)
def test_json_of_the_wrong_kind_says_why(name, value, code):
    with pytest.raises(Bad) as refused:
        FIELDS[name].from_json(value)
    assert refused.value.code == code


def test_three_sides_are_no_pair():
    with pytest.raises(Bad):
        WORDS["faults"].from_json([["a", "b", "c"]])


@given(st.datetimes(timezones=st.just(UTC)))
def test_moments_come_back_to_the_microsecond(moment):
    kind = FIELDS["hidden_at"]
    assert kind.from_cell(kind.to_cell(moment)) == moment
    assert kind.from_json(kind.to_json(moment)) == moment
    assert kind.from_cell("") is None
