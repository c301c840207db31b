"""Tables and documents without a database: encodings, delimiters, hostile files, and the way there and back."""

import codecs
import csv
import io
import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from programs.exchange import documents, sheets
from programs.exchange.bounds import MOST_BYTES, MOST_CELL, MOST_ROWS, FileRefused
from programs.exchange.fields import NO_WORDS, USUAL
from tests.programs.exchange.test_exchange_cells import ANY

PLAIN = {
    **USUAL,
    "id": "5f0c8a2e-4f3c-4d5e-9a77-0f6f1c1f2b11",
    "name": "Row, one arm",
    "pattern": "horizontal_pull",
    "role": "secondary",
    "implement": "dumbbell",
    "load_entry": "per_hand",
    "rep_unit": "reps",
    "rep_low": 8,
    "rep_high": 12,
    "rest_s": 90,
    "regions": {"lat": (4, True), "delt_post": (2, False)},
    "joints": {"grip": 1},
    "edited_fields": ["rest_s"],
    "texts": {"en": {**NO_WORDS, "set_up": ["Hand on the bench."]}},
}
WORDED = st.fixed_dictionaries(
    {
        "name": ANY.map(lambda text: text.strip()[:120]),
        "set_up": st.lists(ANY, max_size=4),
        "execution": st.lists(ANY, max_size=4),
        "faults": st.lists(st.lists(ANY, min_size=2, max_size=2), max_size=3),
        "cautions": ANY,
        "reason": ANY,
        "evidence": ANY.map(lambda text: text.strip()[:200]),
        "range_note": ANY,
        "regression": ANY,
        "progression": ANY,
    }
).filter(lambda words: any(words.values()))


def table(text, delimiter=","):
    """A table as typed, cells apart by a bar."""
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter).writerows(line.split("|") for line in text.splitlines())
    return out.getvalue()


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(words=WORDED, aliases=st.lists(ANY, max_size=3), comma=st.booleans())
def test_any_words_come_back_from_table_and_document(words, aliases, comma):
    record = {**PLAIN, "aliases": aliases, "texts": {"en": words, "de": {**NO_WORDS, "reason": "Größer."}}}
    found = sheets.read(sheets.write([record], frozenset(), decimal_comma=comma, note=""))
    assert found.delimiter == (";" if comma else ",") and found.encoding == "utf-8-sig"
    assert [row.problems for row in found.rows] == [()]
    assert found.rows[0].record == record
    again = documents.read(documents.write([record], {}))
    assert again.rows[0].record == {**record, "photo": None}


def test_the_table_opens_in_spreadsheets():
    data = sheets.write([{**PLAIN, "name": "=cmd", "tempo": "0200"}], frozenset(), decimal_comma=True, note="")
    assert data.startswith(codecs.BOM_UTF8)
    head, row = csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), delimiter=";")
    cells = dict(zip(head, row, strict=True))
    assert cells["name"] == "'=cmd" and cells["load_step"] == "2,5" and cells["tempo"] == "0-2-0-0"
    assert cells["regions"] == "lat 1 stretched\ndelt_post 1/2"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_usual_encodings_and_delimiters_are_made_out(encoding, delimiter):
    text = table("Rest_S|NAME|reason_en\n90|Überzüge, schwer|für “später” – 50 €", delimiter)
    found = sheets.read(text.encode(encoding))
    assert found.rows[0].record == {
        "name": "Überzüge, schwer",
        "rest_s": 90,
        "texts": {"en": {"reason": "für “später” – 50 €"}},
    }
    assert found.delimiter == delimiter
    assert found.rows[0].number == 2


def test_titles_blank_rows_and_unknown_columns_are_told():
    found = sheets.read(table("Our room|\n|\nname|colour|rest_s\nRow|red|90\n||\nPress|blue|95").encode())
    assert (found.above, found.blank, found.unknown) == (1, 1, ("colour",))
    assert [(row.number, row.record) for row in found.rows] == [
        (4, {"name": "Row", "rest_s": 90}),
        (6, {"name": "Press", "rest_s": 95}),
    ]


def test_a_line_that_names_the_delimiter_is_followed():
    found = sheets.read(b"sep=|\r\nname|rest_s\r\nRow, heavy|90\r\n")
    assert found.rows[0].record == {"name": "Row, heavy", "rest_s": 90} and found.rows[0].number == 3


def test_short_rows_change_nothing_and_long_ones_are_refused():
    found = sheets.read(table("name|rest_s|tempo\nRow\nPress|90|2010|more").encode())
    assert found.rows[0].record == {"name": "Row"} and not found.rows[0].problems
    assert [problem.code for problem in found.rows[1].problems] == ["too_many_cells"]


def test_what_spreadsheets_wrap_or_fail_at_is_known():
    found = sheets.read(table('name|tempo|reason_en|rest_s\nRow|="0200"|\'#N/A|90\nPress||#NAME?|#WERT!').encode())
    assert found.rows[0].record == {
        "name": "Row",
        "tempo": "0200",
        "texts": {"en": {"reason": "#N/A"}},
        "rest_s": 90,
    }
    assert [(problem.column, problem.code) for problem in found.rows[1].problems] == [
        ("reason_en", "error_value"),
        ("rest_s", "error_value"),
    ]


def test_a_bad_cell_spoils_its_row_alone():
    found = sheets.read(table(f"name|rest_s|reason_en\nRow|soon|\nPress|90|{'x' * (MOST_CELL + 1)}\nCurl|60|").encode())
    said = [[(problem.column, problem.code) for problem in row.problems] for row in found.rows]
    assert said == [[("rest_s", "whole_wanted")], [("reason_en", "too_long")], []]


@pytest.mark.parametrize(
    "data, code",
    [
        (b"", "empty"),
        (b"   \r\n", "empty"),
        (b"PK\x03\x04rest", "workbook"),
        (b"\xd0\xcf\x11\xe0rest", "workbook"),
        (b"\xff\xfe\x00", "not_text"),
        (b"name,rest_s\n\x81\x8d,3", "not_text"),
        (b"name,rest_s\n\x00\x01\x02,3", "not_text"),
        (b"fruit,colour\napple,red\n", "no_header"),
        (b"name,rest_s\n", "no_rows"),
        (b"name,rest_s,Name\na,1,b\n", "column_twice"),
        (b'name,rest_s\n"Row,90\nPress,95\n', "broken_quotes"),
        (b"name," + b"a," * 500 + b"b\n", "too_many_columns"),
        (b'name,rest_s\n"' + b"x" * 200_000 + b'",90\n', "broken_quotes"),
        (b"name,rest_s\n" + b"a,1\n" * (MOST_ROWS + 30), "too_many_rows"),
        (b"a" * (MOST_BYTES + 1), "too_large"),
    ],
    ids=lambda value: value if isinstance(value, str) else None,
)
def test_a_table_that_can_not_be_read_says_why(data, code):
    with pytest.raises(FileRefused) as refused:
        sheets.read(data)
    assert refused.value.code == code


def library(*entries, **changes):
    return json.dumps({"format": "coachdesk-library", "version": 1, "exercises": list(entries), **changes}).encode()


@pytest.mark.parametrize(
    "data, code",
    [
        (b"[" * 100_000, "too_deep"),
        (b'{"a":' * 100_000, "too_deep"),
        (b"[" + b"{}," * 3_000_000 + b"{}]", "too_complicated"),
        (b'{"format": "coachdesk-library",}', "broken_json"),
        (b'{"format": NaN}', "broken_number"),
        (b'{"format": ' + b"9" * 5000 + b"}", "broken_number"),
        (b"[]", "not_ours"),
        (b'{"exercises": []}', "not_ours"),
        (library(version=2), "other_version"),
        (library(format="coachdesk-templates"), "other_form"),
        (library(), "no_rows"),
        (library(exercises={}), "not_ours"),
        (library(*[{}] * (MOST_ROWS + 1)), "too_many_rows"),
        (library(json.loads("[" * 20 + "]" * 20)), "too_deep"),
        (b'{"format": "\xff"}', "not_ours"),  # read in the Western code page, no format of ours
    ],
    ids=lambda value: value if isinstance(value, str) else None,
)
def test_a_document_that_can_not_be_read_says_why(data, code):
    with pytest.raises(FileRefused) as refused:
        documents.read(data)
    assert refused.value.code == code


def test_entries_of_the_wrong_kind_are_told_one_by_one():
    found = documents.read(
        library(
            "Row",
            {"name": 4, "colour": "red"},
            {"name": "Row", "texts": {"EN!": {}, "en": {"set_up": "no list", "mood": "x"}}},
            {"name": "Row", "texts": []},
            {"name": "Row", "photo": {"jpeg": "????"}},
        )
    )
    assert [[(problem.column, problem.code) for problem in row.problems] for row in found.rows] == [
        [("", "not_an_entry")],
        [("name", "text_wanted")],
        [("texts", "language_wanted"), ("set_up_en", "list_wanted")],
        [("texts", "list_wanted")],
        [("photo", "photo_wanted")],
    ]
    assert found.unknown == ("colour", "texts.en.mood")
