"""Decides what loads, repetitions and counts mean together, and asks where that is open."""

from dataclasses import replace
from itertools import pairwise

from programs.engine.shorthand.building import build, only_shown, repeat
from programs.engine.shorthand.cursor import MOST_LISTED
from programs.engine.shorthand.notation import format_sets
from programs.engine.shorthand.pieces import REPS_ASKED_ABOVE, LoadPiece, Reader, RepPiece, show_number
from programs.engine.shorthand.readings import ParsedSet, Part

SURELY_SETS = 5  # up to this many, "5x8" is sets and repetitions
SURELY_LOAD = 15  # above this, "20x8" is load and repetitions
WITHOUT_LOAD = ("none", "band")


def read_group(reader: Reader, kind: str, strong: bool) -> list[ParsedSet] | None:
    """One group of sets at the cursor, numbered from 1; None when none begins here.

    ``strong`` demands a load and repetitions: after words, bare numbers are no sets.
    """
    for way in (_counted_sets, _load_first, _reps_first):
        mark = reader.save()
        sets = way(reader, kind)
        has_load = sets is not None and (not sets or sets[0].load is not None)
        if sets is not None and (has_load or not strong):
            return _with_parts(reader, sets)
        reader.restore(mark)
    return None


def _counted_sets(reader: Reader, kind: str) -> list[ParsedSet] | None:
    """ "3 sets of 8 @ 60", "3 sets x 8 reps x 60 kg"."""
    if reader.kind() != "RUN" or reader.kind(1) != "SETS" or not reader.token().text.isdecimal():
        return None
    start, count = reader.at, int(reader.token().text[:4])
    reader.at += 2
    reader.take("OF", "X", "AT", "COLON")
    found = reader.reps()
    if found is None:
        return None
    return _sets_reps_load(reader, start, kind, count, found[0])


def _load_first(reader: Reader, kind: str) -> list[ParsedSet] | None:
    """ "60kg x 8,8,7", "60x8@2", "BW+10 x 6", "60 kg 3x8", "70 x 6 x 3", and "3x8@60" after all."""
    start = reader.at
    loads = reader.loads(head=True)
    if loads is None:
        return None
    sure = all(piece.sure for piece in loads)
    if sure and reader.kind() == "PERSIDE":
        return _plates_a_side(reader, start, kind)
    if reader.take("X"):
        return _after_cross(reader, start, kind, loads)
    colon = reader.take("COLON")
    if not (sure or colon):
        return None
    if reader.kind() == "RUN" and reader.kind(1) == "X" and reader.token().text.isdecimal():
        count = int(reader.token().text[:4])  # "60 kg 3x8"
        reader.at += 2
        found = reader.reps()
        if found is None:
            return None
        return build(reader, start, kind, repeat(reader, start, count, found[0]), loads)
    if colon or reader.kind() in ("RUN", "TIME", "DISTANCE", "LEFT", "RIGHT", "OPEN"):
        found = reader.reps()
        if found is not None:
            return build(reader, start, kind, found[0], loads)
        if colon:
            return None
    sets = build(reader, start, kind, [RepPiece() for _ in loads], loads)
    a_side = len(loads) == 1 and loads[0].entry == "per_hand" and loads[0].value.is_integer()
    reader.doubt("reps_missing", reader.span(start), *([f"{int(loads[0].value)}e reps"] if a_side else []))
    return sets


def _reps_first(reader: Reader, kind: str) -> list[ParsedSet] | None:
    """ "8/8/7", "8 @ 60", "8 reps x 60 kg", "L8/R6", "0:45"."""
    start = reader.at
    crossed = reader.take("X")
    found = reader.reps()
    if found is None:
        return None
    pieces, separator = found
    said = reader.tokens[reader.at - 1].kind in ("REPS", "PERSIDE", "EACH")
    if separator == "MINUS":
        pieces = _ask_dashes(reader, start, pieces)
    last = reader.tokens[reader.at - 1].kind
    if last == "PERSIDE" and (reader.kind() == "X" or (reader.kind() == "PLUS" and reader.kind(1) == "BAR")):
        return _plates_a_side(reader, start, kind)
    if reader.kind() == "AT" or (reader.kind() in ("X", "MINUS") and said):
        return _sets_reps_load(reader, start, kind, None, pieces)
    if not (said or crossed):
        if reader.kind() == "PLATES":
            reader.at += 1
            reader.doubt("plates_need_place", reader.span(start))
            if not reader.take("X", "AT"):
                return []
            after = reader.reps()
            return build(reader, start, kind, after[0], None) if after else []
        return _bare(reader, start, kind, pieces, separator)
    return build(reader, start, kind, pieces, None)


def _after_cross(reader: Reader, start: int, kind: str, loads: list[LoadPiece]) -> list[ParsedSet] | None:
    """What follows a number and an "x": the number may turn out to be a count of sets."""
    head = loads[0]
    single = len(loads) == 1 and not head.sure
    if single and _load_follows(reader):
        return _cross_load(reader, start, kind, head)
    found = reader.reps()
    if found is None:
        return None
    pieces, separator = found
    if separator == "MINUS":
        pieces = _ask_dashes(reader, start, pieces)
    if reader.kind() == "X" and len(pieces) == 1 and reader.kind(1) == "RUN":
        return _three_numbers(reader, start, kind, head, pieces)
    if len(loads) > 1 or head.sure:
        return build(reader, start, kind, pieces, loads)
    count = int(head.value) if head.value.is_integer() else None
    if count is None or count > SURELY_LOAD:
        if reader.load_entry in WITHOUT_LOAD and count is not None and count <= MOST_LISTED:
            return _sets_reps_load(reader, start, kind, count, pieces)
        mark = reader.save()
        sets = build(reader, start, kind, pieces, loads)
        if reader.kind() == "AT" and count is not None:  # "20x8@60": two loads, or very many sets
            reader.restore(mark)
            sets = _sets_reps_load(reader, start, kind, count, pieces)
            reader.doubt("sets_or_load", reader.span(start), format_sets(sets))
        return sets
    return _sets_or_load(reader, start, kind, head, count, pieces)


def _load_follows(reader: Reader) -> bool:
    if reader.kind() in ("BW", "PLUS", "PIN", "HASH", "BAND"):
        return True
    follow = reader.kind(1)
    return reader.kind() == "RUN" and (
        follow == "UNIT" or (follow == "HASH" and not reader.spaced(1)) or follow == "TOTAL"
    )


def _cross_load(reader: Reader, start: int, kind: str, head: LoadPiece) -> list[ParsedSet] | None:
    """ "8 x 60 kg" is eight repetitions; "3 x 60 kg" may be three sets; "3 x 60 kg x 8" is three sets."""
    loads = reader.loads()
    if loads is None or not head.value.is_integer():
        return None
    count = int(head.value)
    if reader.kind() == "X" and reader.kind(1) == "RUN":
        reader.at += 1
        found = reader.reps()
        if found is None:
            return None
        pieces = found[0]
        sets = build(reader, start, kind, repeat(reader, start, count, pieces), loads)
        if len(pieces) == 1 and pieces[0].reps is not None and pieces[0].reps <= SURELY_SETS:
            other = only_shown(kind, [RepPiece(reps=count)] * pieces[0].reps, loads, reader)
            reader.doubt("reps_or_sets", reader.span(start), format_sets(sets), format_sets(other))
        return sets
    sets = build(reader, start, kind, [RepPiece(reps=count)], loads)
    if count <= SURELY_SETS:
        reader.doubt("reps_or_sets", reader.span(start), format_sets(sets))
    return sets


def _three_numbers(
    reader: Reader, start: int, kind: str, head: LoadPiece, pieces: list[RepPiece]
) -> list[ParsedSet] | None:
    """ "70 x 6 x 3" and "3 x 6 x 70": repetitions stand in the middle."""
    reader.take("X")
    last = reader.loads()
    if last is None:
        return None
    tail = last[0]

    def as_sets(count: float) -> list[RepPiece] | None:
        ok = count.is_integer() and 1 <= count <= MOST_LISTED
        return pieces * int(count) if ok else None

    load_last = None if head.sure else as_sets(head.value)
    load_first = None if tail.sure else as_sets(tail.value)
    small, large = sorted((head.value, tail.value))
    if load_last and load_first and large > SURELY_LOAD and small <= 10:
        load_last, load_first = (load_last, None) if tail.value == large else (None, load_first)
    chosen = (load_last, tail) if load_last else (load_first, head)
    if chosen[0] is None:
        reader.doubt("sets_or_load", reader.span(start))
        return build(reader, start, kind, pieces, [head if head.sure else tail])
    sets = build(reader, start, kind, chosen[0], [chosen[1]])
    if load_last and load_first and head.value != tail.value:
        other = only_shown(kind, load_first, [head], reader)
        reader.doubt("sets_or_load", reader.span(start), format_sets(sets), format_sets(other))
    elif head.sure and tail.value > SURELY_SETS:
        reader.doubt("sets_or_load", reader.span(start), format_sets(sets))
    return sets


def _sets_or_load(
    reader: Reader, start: int, kind: str, head: LoadPiece, count: int, pieces: list[RepPiece]
) -> list[ParsedSet]:
    """ "5x8", "12x12", "3x8,8,7", "10x8@2": a whole number up to 15 before the "x"."""
    listed = len(pieces) > 1
    load_like = count > SURELY_SETS or (listed and len(pieces) != count)
    if reader.load_entry == "numbered_setting" and count > SURELY_SETS:
        return build(reader, start, kind, pieces, [replace(head, entry="numbered_setting", unit=None)])
    if not load_like or reader.load_entry in WITHOUT_LOAD:
        sets = _sets_reps_load(reader, start, kind, count, pieces)
        first = pieces[0].reps or 0
        unloaded = not listed and all(one.load is None for one in sets)
        if reader.load_entry == "per_hand" and count == 2 and unloaded and first > SURELY_LOAD:
            readings = (format_sets(sets), f"{first} {reader.unit} each")
            reader.doubt("two_implements_or_sets", reader.span(start), *readings)
        return sets
    mark = reader.save()
    sets = _sets_reps_load(reader, start, kind, count, pieces)
    if sets and sets[0].load is not None and not any(piece.rir for piece in pieces):
        sure = not any(doubt.code == "effort_or_load" for doubt in (reader.doubts or [])[mark[1] :])
        if sure and count <= 10:
            return sets  # "10x10@60"
    reader.restore(mark)
    as_load = build(reader, start, kind, pieces, [head])
    as_sets = only_shown(kind, pieces if listed else pieces * count, None, reader)
    as_sets = [replace(one, rir=as_load[0].rir) for one in as_sets] if as_load else as_sets
    reader.doubt("sets_or_load", reader.span(start), format_sets(as_load), format_sets(as_sets))
    return as_load


def _sets_reps_load(
    reader: Reader, start: int, kind: str, count: int | None, pieces: list[RepPiece]
) -> list[ParsedSet]:
    """After sets and repetitions: "@ 60", "x 60 kg", "60 kg", "- 60 kg" or nothing."""
    if count is not None:
        pieces = repeat(reader, start, count, pieces)
    mark = reader.save()
    if reader.efforts() is not None:
        reader.restore(mark)
        return build(reader, start, kind, pieces, None)
    joined = reader.take("AT", "X", "MINUS")
    loads = reader.loads() if joined or _load_follows(reader) else None
    if loads is None:
        reader.restore(mark)
        return build(reader, start, kind, pieces, None)
    small = len(loads) == 1 and not loads[0].sure and loads[0].value <= 10
    if not small:
        return build(reader, start, kind, pieces, loads)
    value = loads[0].value
    figures = show_number(value)
    rir = reader.effort(value, "", figures)
    effort = [replace(piece, rir=rir) for piece in pieces]
    sets = build(reader, start, kind, effort, None)
    if reader.load_entry != "none":
        other = only_shown(kind, pieces, loads, reader)
        reader.doubt("effort_or_load", reader.span(start), format_sets(sets), format_sets(other))
    return sets


def _bare(reader: Reader, start: int, kind: str, pieces: list[RepPiece], separator: str) -> list[ParsedSet]:
    """Numbers with neither load nor cross: "8/8/7", "8/6", "12"."""
    text = reader.span(start)
    counts = [piece.reps for piece in pieces]
    plain = all(piece == RepPiece(reps=piece.reps) and piece.reps is not None for piece in pieces)
    if plain and len(counts) == 3 and 1900 <= (counts[2] or 0) <= 2100:
        reader.doubt("date_in_cell", text, f"{counts[0]}/{counts[1]}/{int(counts[2] or 0) % 100} reps")
        return []
    loaded = reader.load_entry not in ("none", "added", "band")
    if plain and len(counts) == 1 and loaded and (counts[0] or 0) > REPS_ASKED_ABOVE:
        reader.doubt("bare_number", text, f"{counts[0]} {reader.unit}", f"{counts[0]} reps")
        return only_shown(kind, [RepPiece()], [LoadPiece(float(counts[0] or 0))], reader)
    rest = max((count or 0 for count in counts[1:]), default=0)
    if plain and separator == "SPACE" and (counts[0] or 0) > max(SURELY_LOAD, 2 * rest):
        heavy = only_shown(kind, pieces[1:], [LoadPiece(float(counts[0] or 0))], reader)
        reader.doubt("list_unclear", text, format_sets(heavy), format_sets(only_shown(kind, pieces, None, reader)))
        return heavy
    sets = build(reader, start, kind, pieces, None)
    if plain and len(counts) == 2 and separator == "SLASH":
        reader.doubt("sides_or_sets", text, format_sets(sets), f"L{counts[0]}/R{counts[1]} reps")
    elif plain and len(counts) == 2 and separator == "SPACE":
        reader.doubt("list_unclear", text, format_sets(sets))
    elif plain and len(counts) == 2 and separator == "COMMA" and counts[1] in (5, 25, 50, 75):
        reader.doubt("comma_unclear", text, format_sets(sets), f"{counts[0]}.{counts[1]} {reader.unit}")
    elif plain and len(counts) == 1 and loaded:
        reader.doubt("bare_number", text, format_sets(sets), f"{counts[0]} {reader.unit}")
    elif len(pieces) == 1 and pieces[0].reps is None and reader.tokens[start].kind == "RUN" and loaded:
        reader.doubt("bare_number", text, format_sets(sets), f"{text} {reader.unit}")
    return sets


def _plates_a_side(reader: Reader, start: int, kind: str) -> list[ParsedSet]:
    """ "15/side + bar", "20 kg per side x 8": what that weighs, the place knows."""
    reader.take("PERSIDE")
    if reader.kind() == "PLUS" and reader.kind(1) == "BAR":
        reader.at += 2
    found = reader.reps() if reader.take("X", "AT") else None
    reader.doubt("plates_per_side", reader.span(start))
    return build(reader, start, kind, found[0], None) if found else []


def _ask_dashes(reader: Reader, start: int, pieces: list[RepPiece]) -> list[RepPiece]:
    """Two numbers with a dash are a target, of which the lower end is kept; a falling row is a list."""
    counts = [piece.reps or piece.seconds or piece.metres or 0 for piece in pieces]
    falling = all(a >= b for a, b in pairwise(counts))
    if len(counts) == 2 or not falling:
        reader.doubt("range_not_result", reader.span(start))
    return pieces[:1] if len(counts) == 2 else pieces


def _with_parts(reader: Reader, sets: list[ParsedSet]) -> list[ParsedSet]:
    """ "50x10 > 40x8 > 30x6": later parts join the last set."""
    while sets and reader.kind() == "GT":
        mark = reader.save()
        reader.at += 1
        start = reader.at
        loads = reader.loads(head=True)
        found = reader.reps() if loads and len(loads) == 1 and reader.take("X") else None
        if not loads or found is None or len(found[0]) != 1 or found[0][0].reps is None:
            reader.restore(mark)
            break
        unit = loads[0].unit or sets[-1].unit or reader.unit
        part = Part(found[0][0].reps, loads[0].value, unit)
        sets = [*sets[:-1], replace(sets[-1], parts=(*sets[-1].parts, part))]
        if reader.efforts() is not None:
            reader.doubt("effort_of_parts", reader.span(start))
    return sets
