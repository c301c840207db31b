"""A message pasted in, matched to the lines of a session: what it says, set by set, and what has to be asked."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from clients.doubts import doubt_sentence
from clients.entry import WEIGHED, Unread, cell_text, values_of_parsed
from clients.models import TrainingSession
from clients.reads.log_grid import MOST_COLUMNS, Grid
from clients.receiving import SetValues, values_of
from programs.engine.shorthand import MessageLine, ParsedSet, parse_message, same_name
from programs.merged import standing
from programs.models import Exercise

MOST_TEXT = 8000
LEAVE_OUT = "none"


@dataclass(frozen=True, slots=True)
class HeardSet:
    """One set of the message: where it goes and how it reads; ``values`` is None where it can't be taken."""

    line: int
    number: int
    text: str
    values: SetValues | None
    known: bool = False  # the same is logged already
    rival: bool = False  # something else is logged there


@dataclass(frozen=True, slots=True)
class HeardLine:
    """One line of the message. ``line`` is the sheet's line it speaks of, None for a remark or an unknown name."""

    index: int
    text: str
    line: int | None
    sets: tuple[HeardSet, ...]
    questions: tuple[str, ...]
    note: str
    choose: bool


def digest_of(session: TrainingSession, text: str) -> str:
    """Names a message to one session; the same words for another session are another message."""
    said = "\n".join(line.strip() for line in text.strip().splitlines())
    return hashlib.sha256(f"{session.public_id}\n{said}".encode()).hexdigest()


def names_of(grid: Grid) -> dict[str, str]:
    """Every name and alias of the session's exercises to its line's number. Two queries, and some more where an old
    sheet names an exercise that was merged into another since.

    The names on the sheet come first, then the names of today, then all others: a name means one line.
    """
    by_key = {line.line["exercise"]["id"]: line for line in grid.lines if not line.free}
    rows = Exercise.objects.for_practice(grid.client.practice).filter(public_id__in=by_key)
    found = [(str(by_key[row.key].number), row) for row in rows.prefetch_related("texts")]
    found += [(number, now) for number, row in found if (now := standing(row)) is not row]
    names = [(line.line["exercise"]["name"], str(line.number)) for line in by_key.values()]
    names += [(row.name, number) for number, row in found]
    for number, row in found:
        names += [(name, number) for name in (*row.aliases, *(text.name for text in row.texts.all()))]
    first: dict[str, tuple[str, str]] = {}
    for name, number in names:
        first.setdefault(same_name(name), (name, number))
    return dict(first.values())


def hear(
    grid: Grid, text: str, names: Mapping[str, str], language: str, chosen: Mapping[int, str]
) -> tuple[HeardLine, ...]:
    """Reads a message against the grid. ``chosen`` are the coach's answers to which exercise a line speaks of, by
    the line's index: a line number of the sheet, or LEAVE_OUT."""
    lines = {str(line.number): line.line for line in grid.lines if not line.free}
    units = {line["unit"] for line in lines.values() if line["unit"] in WEIGHED}
    unit = units.pop() if len(units) == 1 else grid.session.place.unit
    read = parse_message(
        text[:MOST_TEXT],
        names,
        unit,
        language,
        {key: line["exercise"]["load_entry"] for key, line in lines.items()},
        {key: line["exercise"]["rep_unit"] for key, line in lines.items()},
    )
    counted: dict[int, int] = {}
    heard = []
    follows = ""
    for index, said in enumerate(read):
        key = chosen.get(index) or said.exercise or (follows if not said.named and said.parsed.sets else "")
        if said.named:
            follows = key
        if key == LEAVE_OUT or key not in lines:
            heard.append(_unplaced(index, said, left_out=key == LEAVE_OUT))
            continue
        heard.append(_placed(index, said, int(key), grid, counted, asked=index not in chosen))
    return tuple(heard)


def _unplaced(index: int, said: MessageLine, *, left_out: bool) -> HeardLine:
    if left_out or not (said.parsed.sets or said.doubts):
        return HeardLine(index, said.text, None, (), (), said.text, choose=False)
    questions = tuple(doubt_sentence(code, {}) for code in said.doubts)
    return HeardLine(index, said.text, None, (), questions, "", choose=True)


def _placed(
    index: int, said: MessageLine, number: int, grid: Grid, counted: dict[int, int], *, asked: bool
) -> HeardLine:
    questions = [doubt_sentence(code, {}) for code in said.doubts] if asked else []
    for doubt in said.parsed.doubts:
        meant = _(" It may mean %s.") % _either(doubt.readings) if doubt.readings else ""
        questions.append(doubt_sentence(doubt.code, doubt.params) + meant)
    sets = []
    for one in said.parsed.sets:
        counted[number] = counted.get(number, 0) + 1
        place = counted[number]
        if place > MOST_COLUMNS:
            questions.append(_("More sets than the grid holds."))
            break
        try:
            sets.append(_heard_set(grid, number, place, one))
        except Unread as unread:
            questions.append(unread.sentence)
            sets.append(HeardSet(number, place, one.text or said.text, None))
    return HeardLine(
        index,
        said.text,
        number,
        tuple(sets),
        tuple(dict.fromkeys(questions)),
        said.parsed.note,
        choose=bool(asked and said.doubts),
    )


def _heard_set(grid: Grid, number: int, place: int, one: ParsedSet) -> HeardSet:
    line = grid.by_number[number].line
    cell = grid.cells.get((number, place))
    values = values_of_parsed(one, line, cell.target if cell else None, one.text)
    text = cell_text(values, line)
    if cell is None or cell.row is None:
        return HeardSet(number, place, text, values)
    same = any(values_of(row).amounts() == values.amounts() for row in (cell.row, *cell.rivals))
    return HeardSet(number, place, text, values, known=same, rival=not same)


def _either(readings: Sequence[str]) -> str:
    return _(" or ").join(f"“{reading}”" for reading in readings)


def room_for(text: str, names: Mapping[str, str], unit: str, language: str) -> dict[int, int]:
    """How many sets the message speaks of for each line, so that the grid has room for them."""
    room: dict[int, int] = {}
    for said in parse_message(text[:MOST_TEXT], names, unit, language):
        if said.exercise and said.parsed.sets:
            number = int(said.exercise)
            room[number] = max(room.get(number, 0), said.parsed.sets[-1].number)
    return room
