"""Cuts a line of set notation into tokens; says nothing yet about what they mean together."""

import re
import unicodedata
from dataclasses import dataclass
from typing import Final

LONGEST_TEXT: Final = 4000  # characters read of one cell or line; more is no set notation
LONGEST_NUMBER: Final = 8  # characters of one number

_HALVES: Final = {"½": "5", "¼": "25", "¾": "75"}
_SIGNS: Final = str.maketrans(
    {
        **dict.fromkeys("×✕✖⨯*", "x"),
        **dict.fromkeys("‐‑‒–—−", "-"),
        **dict.fromkeys("→➔➜⇒»›", ">"),
        **dict.fromkeys("“”„″", '"'),
        **dict.fromkeys("‘’‚′`´", "'"),
        **dict.fromkeys("\u00a0\u2007\u2009\u200a\u202f\t", " "),
        **dict.fromkeys("\u200b\u200c\u200d\ufeff\u2060", ""),
        "¦": "|",
        "⁄": "/",
        "÷": "/",
    }
)

# A word's meaning, by language of the trade: English and German. Matched without regard to case.
_WORDS: Final[dict[str, tuple[str, ...]]] = {
    "REPS": ("rep", "reps", "repetition", "repetitions", "wdh", "wh", "wiederholung", "wiederholungen"),
    "SETS": ("set", "sets", "satz", "sätze", "saetze", "sätzen"),
    "OF": ("of", "à", "von"),
    "AT": ("at", "with", "mit", "bei"),
    "X": ("for", "times", "mal"),
    "EACH": ("each", "ea", "je", "jeweils"),
    "TOTAL": ("total", "gesamt", "zusammen"),
    "THEN": ("then", "and", "und", "dann", "danach"),
    "BW": ("bw", "bodyweight", "körpergewicht"),
    "RIR": ("rir",),
    "RPE": ("rpe",),
    "WARM": ("warmup", "warm-up", "wu", "aufwärmen", "aufwärmsatz"),
    "BACK": ("backoff", "back-off"),
    "OPEN": ("amrap", "max"),
    "FAIL": ("f", "failure", "fail", "versagen"),
    "LEFT": ("l", "left", "li", "links"),
    "RIGHT": ("r", "right", "re", "rechts"),
    "PIN": ("pin", "hole", "level", "setting", "stufe", "loch"),
    "BAND": ("band",),
    "PLATES": ("plate", "plates", "scheibe", "scheiben"),
    "BAR": ("bar", "stange"),
}
_MEANING: Final = {word: kind for kind, words in _WORDS.items() for word in words}

_END = r"(?![^\W\d_])"  # no letter follows
_GLUE = r"(?=x?(?:[^a-zäöü]|$)|x\d)"  # nothing follows but a sign, a digit or the "x" of a set
_TOKEN: Final = re.compile(
    rf"""
    (?P<TIME> \d+:\d\d(?::\d\d)? (?![\d:])
            | \d+' (?:\s?\d{{1,2}}(?:"|''))?
            | \d+(?:[.,]\d+)?\s?(?:seconds?|secs?|sekunden?|sek|s|"|''){_END}
            | \d+(?:[.,]\d+)?\s?(?:minutes?|minuten?|mins?){_END} )
  | (?P<DISTANCE> \d+(?:[.,]\d+)?\s?(?:metres?|meters?|metern|m){_END} )
  | (?P<RUN> \d+(?:[.,]\d+)* )
  | (?P<PERSIDE> (?:/\s?|per\s|each\s|pro\s|je\s|a\s)(?:side|leg|arm|seite|bein)s?{_END} )
  | (?P<PERHAND> (?:/\s?|per\s|each\s|pro\s|je\s)(?:hand|dumbbell|db)s?{_END} )
  | (?P<UNIT> (?:kilogram(?:me)?s?|kilos?|kgs?|lbs?|pounds?){_GLUE} )
  | (?P<BWORD> (?:bw){_GLUE} )
  | (?P<EACHWORD> (?:each|ea|e){_GLUE} )
  | (?P<X> x (?![^\W\d_]) | x (?=(?:bw|l|r|amrap|max)(?![^\W\d_])) )
  | (?P<WORD> [^\W\d_]+(?:[-'][^\W\d_]+)*\.? )
  | (?P<HASH> \# ) | (?P<AT> @ ) | (?P<SLASH> / ) | (?P<COMMA> , ) | (?P<PLUS> \+ ) | (?P<MINUS> - )
  | (?P<GT> -?=?> ) | (?P<COLON> [:=] ) | (?P<OPENING> [(\[] ) | (?P<CLOSING> [)\]] )
  | (?P<BREAK> [;|\n\r] ) | (?P<SPACE> \s+ ) | (?P<OTHER> . )
    """,
    re.VERBOSE | re.IGNORECASE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Token:
    """``spaced`` says that blank space came before."""

    kind: str
    text: str
    start: int
    end: int
    spaced: bool = False


def normalise(text: str) -> str:
    """One spelling for dashes, crosses, arrows, quotes, blanks and fractions; letters keep their case."""
    text = text[:LONGEST_TEXT]
    for sign, digits in _HALVES.items():
        text = re.sub(rf"(\d)\s?{sign}", rf"\1.{digits}", text).replace(sign, f"0.{digits}")
    return unicodedata.normalize("NFC", text.translate(_SIGNS)).strip()


def tokenise(text: str) -> list[Token]:
    """Tokens of a normalised text, blank space left out."""
    tokens: list[Token] = []
    spaced = False
    for match in _TOKEN.finditer(text):
        kind = str(match.lastgroup)
        if kind == "SPACE" and "\n" not in match.group():
            spaced = True
            continue
        if kind == "SPACE":
            kind = "BREAK"
        tokens.append(Token(_kind(kind, match.group()), match.group(), match.start(), match.end(), spaced))
        spaced = False
    return _split_runs(tokens)


def _kind(kind: str, text: str) -> str:
    if kind == "BWORD":
        return "BW"
    if kind in ("EACHWORD", "PERHAND"):
        return "EACH"
    if kind == "WORD":
        return _MEANING.get(text.casefold().rstrip("."), "WORD")
    return kind


def _split_runs(tokens: list[Token]) -> list[Token]:
    """Parts "8@2,8@1" and "60x8,65x6", where a comma ends a set although digits stand on both sides."""
    out: list[Token] = []
    for i, token in enumerate(tokens):
        before = tokens[i - 1].kind if i else ""
        after = tokens[i + 1].kind if i + 1 < len(tokens) else ""
        if token.kind == "RUN" and "," in token.text and before in ("AT", "X") and after == before:
            cut = _last_item(token.text) if before == "X" else token.text.rindex(",") + 1
            out.append(Token("RUN", token.text[: cut - 1], token.start, token.start + cut - 1, token.spaced))
            out.append(Token("COMMA", ",", token.start + cut - 1, token.start + cut))
            out.append(Token("RUN", token.text[cut:], token.start + cut, token.end))
        else:
            out.append(token)
    return out


def _last_item(run: str) -> int:
    """Where the load begins that ends a run such as "8,8,62,5": at "62,5" when that looks like a load."""
    fields = run.split(",")
    decimal = len(fields) > 2 and fields[-1] in ("5", "25", "75") and int(fields[-2][:LONGEST_NUMBER]) > 10
    tail = ",".join(fields[-2:]) if decimal else fields[-1]
    return len(run) - len(tail)


def seconds_of(text: str) -> float | None:
    """Seconds of a TIME token; hours:minutes:seconds too. None when it is no time."""
    low = text.casefold().strip()
    if ":" in low:
        total = 0
        for figure in low.split(":"):
            total = total * 60 + int(figure[:LONGEST_NUMBER])
        return float(total)
    number = re.match(r"\d+(?:[.,]\d+)?", low)
    if number is None:
        return None
    value = float(number.group()[:LONGEST_NUMBER].replace(",", "."))
    rest = low[number.end() :].strip()
    if rest.startswith("m"):
        return value * 60
    if rest.startswith("'") and not rest.startswith("''"):
        tail = re.search(r"\d+", rest)
        return value * 60 + (int(tail.group()) if tail else 0)
    return value


def metres_of(text: str) -> float:
    """Metres of a DISTANCE token."""
    number = re.match(r"\d+(?:[.,]\d+)?", text)
    return float(number.group()[:LONGEST_NUMBER].replace(",", ".")) if number else 0.0


@dataclass(frozen=True, slots=True)
class Numbers:
    """A run of digits and marks, read as loads: the values and, where it could be otherwise, the doubt."""

    values: tuple[float, ...]
    doubt: str = ""
    other: tuple[float, ...] = ()  # the values of the other reading


def loads_of(run: str) -> Numbers:
    """Reads "62,5", "62.5", "60,65,70", "1.250" in the place of a load."""
    if any(len(figure) > LONGEST_NUMBER for figure in re.split(r"[.,]", run)):
        return Numbers((), "number_too_large")
    grouped = re.fullmatch(r"\d{1,3}(?:,\d{3})+\.\d+|\d{1,3}(?:\.\d{3})+,\d+", run)
    if grouped:
        mark = "." if run.rfind(".") > run.rfind(",") else ","
        whole, fraction = run.rsplit(mark, 1)
        return Numbers((float(re.sub(r"[.,]", "", whole) + "." + fraction),), "thousands_mark")
    marks = re.findall(r"[.,]", run)
    if not marks:
        return Numbers((float(run),))
    if len(marks) == 1:
        whole, fraction = re.split(r"[.,]", run)
        value = float(f"{whole}.{fraction}")
        if len(fraction) == 3 and whole.strip("0") and len(whole) <= 3:
            return Numbers((value,), "thousands_mark", (float(whole + fraction),))
        return Numbers((value,))
    fields = run.split(",")
    if "." in run:
        if all(field.count(".") <= 1 for field in fields):
            return Numbers(tuple(float(field) for field in fields))
        return Numbers((), "comma_unclear")
    if all(len(field) >= 2 for field in fields):
        return Numbers(tuple(float(field) for field in fields))
    values: list[float] = []
    i = 0
    while i < len(fields):
        if i + 1 < len(fields) and len(fields[i + 1]) == 1:
            values.append(float(f"{fields[i]}.{fields[i + 1]}"))
            i += 2
        else:
            values.append(float(fields[i]))
            i += 1
    return Numbers(tuple(values), "comma_unclear", tuple(float(field) for field in fields))
