"""Finds exercises and their sets in a pasted message, line by line."""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Final

from programs.engine.shorthand.lines import parse
from programs.engine.shorthand.readings import Parsed, renumber
from programs.engine.shorthand.tokens import LONGEST_TEXT, normalise

LIKENESS: Final = 0.8  # how alike a name must be to be offered
MOST_LINES: Final = 400

LINE_DOUBTS: Final = (
    "exercise_unknown",  # sets whose exercise is not among the names
    "exercise_guessed",  # a name that is only like one of ours
    "exercise_missing",  # sets before any name
)

_MARKER: Final = re.compile(r"^\s*(?:[-*•·>]\s+|\(?\d{1,2}[.)]\s+|[a-h]\d?[.):]\s*)", re.IGNORECASE)
_FIRST_FIGURE: Final = re.compile(
    r"(?:(?<=\s)|^)(?:bw|body ?weight|pin|wu|warm-?up|amrap|[lr](?=\d)|[+-]?\d|#\d)", re.IGNORECASE
)
_SPLIT: Final = re.compile(r"\s*[:=]\s*|\s+-\s+|\t+")


@dataclass(frozen=True, slots=True)
class MessageLine:
    """One line: the exercise it speaks of (None when unknown), its sets, and what needs asking.

    ``named`` is the name as written, "" where the line goes on with the exercise before. ``guesses``
    are keys to choose from when the name was not known. ``doubts`` lists codes of LINE_DOUBTS; doubts
    about the sets are in ``parsed``, as is the note of words left over.
    """

    text: str
    exercise: str | None
    named: str
    parsed: Parsed
    doubts: tuple[str, ...] = ()
    guesses: tuple[str, ...] = ()

    @property
    def clear(self) -> bool:
        return not self.doubts and self.parsed.clear


def same_name(name: str) -> str:
    """A name without case, accents, punctuation and double blanks: names equal in this are one."""
    plain = unicodedata.normalize("NFKD", name.casefold().replace("ß", "ss"))
    letters = "".join(sign if sign.isalnum() else " " for sign in plain if not unicodedata.combining(sign))
    return " ".join(letters.split())


def parse_message(
    text: str,
    names: Mapping[str, str],
    unit: str,
    locale: str,
    load_entries: Mapping[str, str] | None = None,
    rep_units: Mapping[str, str] | None = None,
) -> tuple[MessageLine, ...]:
    """Reads a message such as "Bench: 60x8,8,7" line by line; blank lines are left out.

    ``names`` maps every name and alias to an exercise key; ``load_entries`` and ``rep_units`` map keys to
    the exercise's own. A line with sets and no name goes on with the exercise before it. A name that is
    not known is never taken silently: the likest ones are offered.
    """
    known = {same_name(name): key for name, key in names.items() if same_name(name)}
    lines: list[MessageLine] = []
    current: str | None = None
    counted: dict[str, int] = {}
    for raw in text[: LONGEST_TEXT * 10].splitlines()[:MOST_LINES]:
        line = normalise(raw)
        if not line:
            continue
        found = _read(line, known, unit, locale, load_entries or {}, rep_units or {}, current)
        if found.named:
            current = found.exercise
        if found.exercise and found.parsed.sets:
            start = counted.get(found.exercise, 0)
            sets = renumber(found.parsed.sets, start + 1)
            counted[found.exercise] = sets[-1].number
            found = replace(found, parsed=replace(found.parsed, sets=sets))
        lines.append(replace(found, text=raw.strip()))
    return tuple(lines)


def _read(
    line: str,
    known: Mapping[str, str],
    unit: str,
    locale: str,
    load_entries: Mapping[str, str],
    rep_units: Mapping[str, str],
    current: str | None,
) -> MessageLine:
    def sets_of(rest: str, key: str | None) -> Parsed:
        return parse(rest, unit, locale, load_entries.get(key or ""), rep_units.get(key or "", "reps"))

    for candidate in dict.fromkeys((_MARKER.sub("", line), line)):
        name, rest = _known_prefix(candidate, known)
        if name:
            key = known[same_name(name)]
            return MessageLine(line, key, name, sets_of(rest, key))
    bare = _MARKER.sub("", line)
    name, rest = _apart(bare)
    if not name:
        parsed = sets_of(line, current)
        doubts = ("exercise_missing",) if parsed.sets and current is None else ()
        return MessageLine(line, current if parsed.sets else None, "", parsed, doubts)
    guesses = _alike(name, known)
    parsed = sets_of(rest, guesses[0] if guesses else None)
    a_word = len(parsed.sets) == 1 and parsed.sets[0].load is None and not guesses  # "slept 7 h"
    if a_word or (not parsed.sets and not parsed.doubts and not (guesses and not rest)):
        return MessageLine(line, None, "", Parsed(unit=unit, note=line))
    if not rest and guesses:
        return MessageLine(line, guesses[0], name, parsed, ("exercise_guessed",), guesses)
    doubt = "exercise_guessed" if guesses else "exercise_unknown"
    return MessageLine(line, guesses[0] if guesses else None, name, parsed, (doubt,), guesses)


def _known_prefix(line: str, known: Mapping[str, str]) -> tuple[str, str]:
    """The longest known name that the line begins with, and what follows it."""
    ends = [match.end() for match in re.finditer(r"[^\W_]+", line)]
    for end in reversed(ends):
        if same_name(line[:end]) in known:
            rest = line[end:]
            if rest[:1] == ")":
                end += 1
            return line[:end], re.sub(r"^\s*(?:[:=,]|-(?=\s))?\s*", "", line[end:])
    return "", ""


def _apart(line: str) -> tuple[str, str]:
    """Splits an unknown name from its sets: at ":" or " - ", else before the first figure."""
    split = _SPLIT.search(line)
    if split and re.search(r"[^\W\d_]{2}", line[: split.start()]) and not re.match(r"[+-]?\d", line):
        return line[: split.start()].strip(), line[split.end() :]
    figure = _FIRST_FIGURE.search(line)
    if figure is None:
        return line, ""
    return line[: figure.start()].strip(" ,"), line[figure.start() :]


def _alike(name: str, known: Mapping[str, str]) -> tuple[str, ...]:
    """Keys of up to three names like this one, likest first."""
    plain = same_name(name)
    close = get_close_matches(plain, list(known), n=3, cutoff=LIKENESS)
    words = set(plain.split())
    within: Iterable[str] = (other for other in known if words and words < set(other.split()))
    found = [known[other] for other in (*close, *sorted(within, key=lambda other: (len(other), other)))]
    return tuple(dict.fromkeys(found))[:3]
