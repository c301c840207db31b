"""Reads one cell or line of set notation."""

import re
from dataclasses import replace
from typing import Final

from programs.engine.shorthand.cursor import MOST_LISTED
from programs.engine.shorthand.grammar import read_group
from programs.engine.shorthand.notation import decimal_mark
from programs.engine.shorthand.pieces import Reader
from programs.engine.shorthand.readings import Doubt, Parsed, ParsedSet, renumber
from programs.engine.shorthand.tokens import LONGEST_NUMBER, normalise, tokenise

NOT_DONE: Final = frozenset({"", "-", "--", "---", "x", "n/a", "skipped", "not done", "ausgelassen", "nicht gemacht"})
AS_PLANNED: Final = frozenset(
    {"✓", "✔", "☑", "done", "ok", "as planned", "all done", "erledigt", "wie geplant", "gemacht", "passt"}
)
_SAME_AS_BEFORE: Final = re.compile(
    r"\b(?:same (?:as|again)|like last|as last time|ditto|wie (?:letzte|beim letzten|immer)|dasselbe|dito)\b",
    re.IGNORECASE,
)
_MONTH: Final = re.compile(
    r"(?:jan|feb|mar|mär|mrz|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez)[a-zä]*\.?", re.IGNORECASE
)
_KINDS: Final = {"WARM": "warm_up", "BACK": "back_off"}
_BETWEEN: Final = ("COMMA", "SLASH", "CLOSING")


def parse(text: str, unit: str, locale: str, load_entry: str | None = None, rep_unit: str = "reps") -> Parsed:
    """Reads the trade's set notation: "3x8@60", "60kg x 8,8,7", "BW+10 x 6", "8/8/7", "0:45", "22.5 ea".

    ``unit`` ("kg" or "lb") holds where none is written, ``locale`` decides how readings are spelt (both
    decimal marks are read anywhere), ``load_entry`` and ``rep_unit`` are the exercise's own. What can be
    read in two ways comes back as the likelier one together with a doubt; words are left as a note.
    Never raises for any text; ValueError for an unknown unit.
    """
    if unit not in ("kg", "lb"):
        raise ValueError(f"unit must be kg or lb, not {unit!r}")
    clean = normalise(text)
    bare = clean.casefold().strip(" .!")
    if bare in NOT_DONE:
        return Parsed(unit=unit)
    if bare in AS_PLANNED:
        return Parsed((), (Doubt("as_planned", clean),), unit)
    if _SAME_AS_BEFORE.search(clean) and not re.search(r"\d", clean):
        return Parsed((), (Doubt("cannot_read", clean),), unit, clean)
    reader = Reader(clean, tokenise(clean), unit, rep_unit, load_entry, doubts=[])
    sets, note = _read(reader)
    doubts = list(reader.doubts or ())
    units = [one.unit for one in sets] + [part.unit for one in sets for part in one.parts]
    written = {one for one in units if one}
    if len(sets) > MOST_LISTED:
        doubts.append(Doubt("number_too_large", clean[:80], params={"sets": len(sets)}))
    if len(written) > 1:
        doubts.append(Doubt("units_mixed", clean))
    if re.search(r"\d", note):
        doubts.append(Doubt("left_over_number", note))
    return Parsed(
        tuple(sets),
        tuple(_spelt(doubt, locale) for doubt in doubts),
        written.pop() if len(written) == 1 else unit,
        note,
    )


def _read(reader: Reader) -> tuple[list[ParsedSet], str]:
    sets: list[ParsedSet] = []
    kind = "work"
    words_before = False
    left: list[tuple[int, int]] = []
    count = 0
    while reader.at < len(reader.tokens):
        here = reader.kind()
        if here in ("BREAK", "THEN"):
            kind, words_before = "work", False
            reader.at += 1
            continue
        if here in _KINDS:
            kind = _KINDS[here]
            reader.at += 1
            reader.take("SETS")
            reader.take("COLON")
            continue
        if here in _BETWEEN and sets and not words_before:
            reader.at += 1
            continue
        if here == "RUN" and reader.kind(1) == "MINUS" and _MONTH.fullmatch(_word(reader, 2)):
            start = reader.at
            reader.at += 3
            reader.doubt("date_in_cell", reader.span(start))
            continue
        if here == "BAR" and not words_before and reader.kind(1) in ("", "X"):
            reader.at += 1
            reader.doubt("plates_need_place", reader.span(reader.at - 1))
            continue
        if here == "OPENING" and (length := _remark(reader)):
            left.append((reader.token().start, reader.token(length - 1).end))
            reader.at += length
            continue
        start = reader.at
        group = read_group(reader, kind, strong=words_before)
        if group is not None and reader.at > start:
            group = _kind_behind(reader, group)
            sets += renumber(tuple(group), count + 1)
            count += max((one.number for one in group), default=0)
            continue
        reader.at = start + 1
        if here == "RUN" and max(len(figure) for figure in re.split(r"[.,]", reader.span(start))) > LONGEST_NUMBER:
            reader.doubt("number_too_large", reader.span(start))
        words_before = words_before or here not in ("OPENING", "CLOSING", "COMMA", "OTHER")
        left.append((reader.tokens[start].start, reader.tokens[start].end))
    return sets, _joined(reader.text, left)


def _remark(reader: Reader) -> int:
    """Number of tokens of a bracket without a set in it, 0 when it holds one."""
    length = 0
    while reader.at + length < len(reader.tokens):
        kind = reader.kind(length)
        length += 1
        if kind in ("X", "AT"):
            return 0
        if kind == "CLOSING":
            break
    return length


def _word(reader: Reader, ahead: int) -> str:
    return reader.token(ahead).text if reader.at + ahead < len(reader.tokens) else ""


def _kind_behind(reader: Reader, group: list[ParsedSet]) -> list[ParsedSet]:
    """ "40x5 (warm-up)": the kind may stand behind its sets."""
    ahead = 1 if reader.kind() == "OPENING" else 0
    if reader.kind(ahead) in _KINDS and reader.kind(ahead + 1) in ("", "COMMA", "BREAK", "CLOSING", "THEN"):
        kind = _KINDS[reader.kind(ahead)]
        reader.at += ahead + 1
        group = [replace(one, kind=kind) for one in group]
    return group


def _joined(text: str, left: list[tuple[int, int]]) -> str:
    """What was not read, neighbours kept together."""
    spans: list[list[int]] = []
    for start, end in left:
        if spans and text[spans[-1][1] : start].strip() == "":
            spans[-1][1] = end
        else:
            spans.append([start, end])
    pieces = (text[start:end].strip(" ,;()") for start, end in spans)
    return "; ".join(piece for piece in pieces if piece)


def _spelt(doubt: Doubt, locale: str) -> Doubt:
    """The doubt with its readings in the reader's decimal mark."""
    if decimal_mark(locale) == "." or not doubt.readings:
        return doubt
    readings = tuple(re.sub(r"(\d)\.(\d)", r"\1,\2", reading) for reading in doubt.readings)
    return replace(doubt, readings=readings)
