"""Makes sets of the pieces that were read, and asks about odd values."""

from collections.abc import Sequence
from dataclasses import replace

from programs.engine.shorthand.cursor import MOST_LISTED
from programs.engine.shorthand.notation import format_sets
from programs.engine.shorthand.pieces import REPS_ASKED_ABOVE, LoadPiece, Reader, RepPiece
from programs.engine.shorthand.readings import ParsedSet, Part


def repeat(reader: Reader, start: int, count: int, pieces: list[RepPiece]) -> list[RepPiece]:
    if len(pieces) > 1:
        if len(pieces) != count:
            reader.doubt("sets_disagree", reader.span(start))
        return pieces
    if count > MOST_LISTED:
        reader.doubt("number_too_large", reader.span(start))
    return pieces * max(1, min(count, MOST_LISTED))


def only_shown(kind: str, pieces: list[RepPiece], loads: list[LoadPiece] | None, reader: Reader) -> list[ParsedSet]:
    """Another reading of the same text, only to be shown."""
    aside = Reader("", [], reader.unit, reader.rep_unit, reader.load_entry)
    return build(aside, 0, kind, pieces, loads)


def build(
    reader: Reader, start: int, kind: str, pieces: list[RepPiece], loads: list[LoadPiece] | None
) -> list[ParsedSet]:
    """Sets of paired results and loads, with the effort written behind them."""
    paired = _paired(reader, start, pieces, loads)
    efforts = _efforts_behind(reader, loads is not None, len(paired))
    text = reader.span(start)
    if efforts and len(efforts) not in (1, len(paired)):
        reader.doubt("effort_count", text)
        efforts = None
    sets = []
    for i, (piece, load) in enumerate(paired):
        if not piece.done:
            continue
        rir = piece.rir
        if efforts and rir is None:
            rir = efforts[i] if len(efforts) > 1 else efforts[0]
        sets.append(_one(reader, i + 1, kind, piece, load, rir, text))
    _ask_values(reader, sets, text)
    return sets


def _paired(
    reader: Reader, start: int, pieces: list[RepPiece], loads: list[LoadPiece] | None
) -> list[tuple[RepPiece, LoadPiece | None]]:
    if not loads:
        return [(piece, None) for piece in pieces]
    if len(loads) == 1:
        if len(pieces) == 2 and loads[0].other is not None:
            whole = replace(loads[0], value=float(int(loads[0].value)), other=None)
            listed = [whole, replace(whole, value=loads[0].other)]
            one = only_shown("work", pieces, [replace(loads[0], other=None)], reader)
            two = only_shown("work", pieces, listed, reader)
            reader.doubt("comma_unclear", reader.span(start), format_sets(one), format_sets(two))
        return [(piece, loads[0]) for piece in pieces]
    if len(pieces) == 1:
        return [(pieces[0], load) for load in loads]
    if len(pieces) != len(loads):
        reader.doubt("loads_and_reps_disagree", reader.span(start))
    return list(zip(pieces, loads, strict=False))


def _efforts_behind(reader: Reader, loaded: bool, count: int) -> list[float | None] | None:
    efforts = reader.efforts()
    if efforts is None and loaded and reader.kind() == "AT" and reader.kind(1) == "RUN":
        mark = reader.save()
        reader.at += 1
        values = reader._effort_list("")
        if values and all(value is None or value <= 10 for value in values):
            text = reader.span(mark[0])
            return [None if value is None else reader.effort(value, "", text) for value in values]
        reader.restore(mark)
    if efforts is None and reader.take("FAIL"):
        return [None] * (count - 1) + [0.0] if count > 1 else [0.0]
    return efforts


def _one(
    reader: Reader,
    number: int,
    kind: str,
    piece: RepPiece,
    load: LoadPiece | None,
    rir: float | None,
    text: str,
) -> ParsedSet:
    entry = load.entry if load else None
    if load and entry is None and reader.load_entry == "numbered_setting" and not load.unit:
        entry = "numbered_setting"
    unitless = load is None or entry in ("numbered_setting", "band")
    unit = None if unitless else ((load.unit if load else None) or reader.unit)
    value = None if load is None or entry == "band" else load.value
    return ParsedSet(
        number=number,
        reps=piece.reps,
        seconds=piece.seconds,
        metres=piece.metres,
        load=value,
        unit=unit,
        entry=entry,
        band=load.band if load else "",
        rir=rir,
        kind="open_ended" if piece.open_ended and kind == "work" else kind,
        left=piece.left,
        right=piece.right,
        failure=piece.failure,
        parts=tuple(Part(reps, value, unit) for reps in piece.bursts),
        text=text,
    )


def _ask_values(reader: Reader, sets: Sequence[ParsedSet], text: str) -> None:
    """Questions about values that are readable but odd."""
    for one in sets:
        if one.reps is not None and max(one.reps, one.left or 0, one.right or 0) > REPS_ASKED_ABOVE:
            reader.doubt("reps_high", text)
        if one.reps == 0 or one.seconds == 0 or one.metres == 0:
            reader.doubt("zero_reps", text)
        wanted = reader.load_entry
        if one.entry == "per_hand" and wanted in ("total", "stack"):
            reader.doubt("each_for_total", text)
        elif one.entry == "total" and wanted == "per_hand" and one.load is not None:
            half = replace(one, load=one.load / 2, entry="per_hand")
            whole = replace(one, entry="per_hand")
            reader.doubt("total_for_per_hand", text, format_sets([half]), format_sets([whole]))
        elif one.entry in ("added", "assisted") and wanted in ("total", "per_hand", "stack"):
            reader.doubt("added_for_total" if one.entry == "added" else "sign_unclear", text)
