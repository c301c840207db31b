"""Exercises as CSV: one row each, every cell quoted, so that spreadsheets and this program read the same.

Written as UTF-8 with its mark and commas; or with semicolons and decimal commas, as spreadsheets expect them where
numbers have a decimal comma. Read in the usual encodings, with whatever delimiter and order of columns.
"""

import codecs
import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from programs.exchange.bounds import HEAD_ROWS, MOST_BYTES, MOST_CELL, MOST_COLUMNS, MOST_ROWS, Bad, FileRefused
from programs.exchange.cells import guard, is_error, unguard, unwrapped
from programs.exchange.fields import FIELDS, NO_WORDS, WORD_COLUMN, WORDS, Record
from programs.exchange.kinds import Kind, Number

PHOTO: Final = "photo"  # a column for people: pictures do not travel in a table
DELIMITERS: Final = (",", ";", "\t", "|")
MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SEPARATOR_LINE = re.compile(r'^"?sep=(.)"?\r?\n', re.IGNORECASE)
_WORKBOOK = b"PK\x03\x04"
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with one row: the column ("" for the whole row), a code of ``words.PROBLEMS`` and what it says."""

    column: str
    code: str
    params: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Read:
    """One exercise of a file: where it stands, what it says, what of it could not be read."""

    number: int
    record: Record
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A file as it was understood. ``unknown`` columns and ``above`` (rows over the header) were left out."""

    rows: tuple[Read, ...]
    form: str  # "csv" or "json"
    encoding: str = "utf-8"
    delimiter: str = ""
    unknown: tuple[str, ...] = ()
    above: int = 0
    blank: int = 0
    with_photos: bool = False


def write(records: Iterable[Record], photographed: frozenset[str], *, decimal_comma: bool, note: str) -> bytes:
    """The file. ``photographed`` are the ids of those with a photo; ``note`` says in words that it is not here."""
    listed = list(records)
    languages = sorted({language for record in listed for language in record["texts"]})
    columns = [*FIELDS, *(f"{word}_{language}" for language in languages for word in WORDS), PHOTO]
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";" if decimal_comma else ",", quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow(columns)
    for record in listed:
        cells = [_cell(kind, record[name], decimal_comma) for name, kind in FIELDS.items()]
        for language in languages:
            said = record["texts"].get(language, NO_WORDS)
            cells += [_cell(kind, said[word], decimal_comma) for word, kind in WORDS.items()]
        cells.append(note if record["id"] in photographed else "")
        writer.writerow([guard(cell) for cell in cells])
    return codecs.BOM_UTF8 + out.getvalue().encode()


def _cell(kind: Kind, value: Any, decimal_comma: bool) -> str:
    written = kind.to_cell(value)
    return written.replace(".", ",") if decimal_comma and isinstance(kind, Number) else written


def read(data: bytes) -> Sheet:
    """Raises FileRefused where no row of it can be made out."""
    text, encoding = decoded(data)
    said = _SEPARATOR_LINE.match(text)
    if said:
        text = text[said.end() :]
    delimiter = said[1] if said else _delimiter(text)
    rows = _rows(text, delimiter)
    head, columns = _header(rows)
    found = [_column(name) for name in columns]
    unknown = [name.strip()[:60] for name, known in zip(columns, found, strict=True) if known is None and name.strip()]
    listed, blank = [], 0
    for index, cells in enumerate(rows[head + 1 :], start=head + 2 + bool(said)):
        if not any(cell.strip() for cell in cells):
            blank += 1
        else:
            listed.append(_read_row(index, cells, found))
    if not listed:
        raise FileRefused("no_rows")
    above = sum(1 for cells in rows[:head] if any(cell.strip() for cell in cells))
    return Sheet(tuple(listed), "csv", encoding, delimiter, tuple(dict.fromkeys(unknown)), above, blank)


def decoded(data: bytes) -> tuple[str, str]:
    """The text and the encoding that was found: by its mark, else UTF-8, UTF-16 by its noughts, the Western page."""
    if len(data) > MOST_BYTES:
        raise FileRefused("too_large", most=MOST_BYTES // 2**20)
    if not data.strip():
        raise FileRefused("empty")
    if data.startswith((_WORKBOOK, _OLD_WORKBOOK)):
        raise FileRefused("workbook")
    for encoding in _likely(data):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\x00" in text:
            continue
        return text.removeprefix("\ufeff"), encoding
    raise FileRefused("not_text")


def _likely(data: bytes) -> tuple[str, ...]:
    for mark, encoding in MARKS:
        if data.startswith(mark):
            return (encoding,)
    sample = data[:4000]
    if sample.count(0) > len(sample) // 4:
        return ("utf-16-le",) if sample[1::2].count(0) >= sample[::2].count(0) else ("utf-16-be",)
    return ("utf-8", "cp1252")


def _delimiter(text: str) -> str:
    """The one that parts most names of columns in one of the first lines."""
    lines = text[: 40 * MOST_CELL].splitlines()[:HEAD_ROWS]

    def known(delimiter: str) -> int:
        return max(sum(_column(cell.strip('" ')) is not None for cell in line.split(delimiter)) for line in lines)

    return max(DELIMITERS, key=known)


def _rows(text: str, delimiter: str) -> list[list[str]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows: list[list[str]] = []
    try:
        for cells in reader:
            if len(cells) > MOST_COLUMNS:
                raise FileRefused("too_many_columns", most=MOST_COLUMNS)
            if len(rows) > MOST_ROWS + HEAD_ROWS:
                raise FileRefused("too_many_rows", most=MOST_ROWS)
            rows.append(cells)
    except csv.Error as error:
        raise FileRefused("broken_quotes", line=reader.line_num) from error
    return rows


def _header(rows: Sequence[Sequence[str]]) -> tuple[int, list[str]]:
    """The row that names columns, among the first ones; a title may stand above it."""
    for index, cells in enumerate(rows[:HEAD_ROWS]):
        found = [_column(cell) for cell in cells]
        known = [column for column in found if column is not None]
        if ("name" in known or "id" in known) and (len(known) > 1 or len(cells) == 1):
            twice = sorted({column for column in known if known.count(column) > 1})
            if twice:
                raise FileRefused("column_twice", column=twice[0])
            return index, list(cells)
    raise FileRefused("no_header")


def _column(name: str) -> str | None:
    """The column that a head means; None for one that is not ours."""
    plain = re.sub(r"[\s_]+", "_", unguard(name).strip().lower())
    if plain in FIELDS or plain == PHOTO or WORD_COLUMN.match(plain):
        return plain
    return None


def _read_row(number: int, cells: Sequence[str], columns: Sequence[str | None]) -> Read:
    """What a row says. Cells that are not there, as the row is short, change nothing."""
    record: Record = {}
    problems: list[Problem] = []
    if any(cell.strip() for cell in cells[len(columns) :]):
        problems.append(Problem("", "too_many_cells", {"cells": len(cells), "columns": len(columns)}))
    for column, cell in zip(columns, cells, strict=False):
        if column is None or column == PHOTO:
            continue
        if len(cell) > MOST_CELL:
            problems.append(Problem(column, "too_long", {"most": MOST_CELL, "length": len(cell)}))
            continue
        if is_error(cell):
            problems.append(Problem(column, "error_value", {"value": cell}))
            continue
        worded = WORD_COLUMN.match(column) if column not in FIELDS else None
        kind = WORDS[worded[1]] if worded else FIELDS[column]
        try:
            value = kind.from_cell(unguard(unwrapped(cell)))
        except Bad as bad:
            problems.append(Problem(column, bad.code, bad.params))
            continue
        if worded:
            record.setdefault("texts", {}).setdefault(worded[2], {})[worded[1]] = value
        else:
            record[column] = value
    return Read(number, record, tuple(problems))
