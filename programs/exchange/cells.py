"""Cells of a table that spreadsheets open: lists in one cell, and no cell that a spreadsheet would run.

A cell that begins with = + - @ or a control character would be taken for a formula: it gets an apostrophe before it
and loses it again when it is read. In lists the items are written one a line; what would break the lines is written
with a backslash, so that every text comes back as it was.
"""

import re
from collections.abc import Iterable

# What spreadsheets leave where a formula failed, in English and German.
_ERRORS = r"#(?:REF!|N/A|NAME\?|VALUE!|DIV/0!|NUM!|NULL!|NV|BEZUG!|WERT!|ZAHL!)$"
_RUNS = rf"(?:[=+\-@\t\r\n\uFF0B\uFF0D\uFF1D\uFF20]|{_ERRORS})"
_RUN = re.compile(rf"'*{_RUNS}")
_GUARDED = re.compile(rf"'+{_RUNS}")
_ERROR = re.compile(_ERRORS)
_WRAPPED = re.compile(r'="((?:[^"]|"")*)"$')
_WRITTEN = re.compile(r"\\(\\|n|r|e|u\{[0-9a-f]{1,6}\})")
_LINE_END = re.compile(r"\r\n|\r|\n")
_LAST_CHARACTER = 0x10FFFF
ARROW = " -> "  # spreadsheets that save in a Western code page have no other
_ARROWS = re.compile(r"\s(?:→|->)\s|\s(?:→|->)$|^(?:→|->)(?:\s|$)")


def guard(text: str) -> str:
    return f"'{text}" if _RUN.match(text) else text


def unguard(text: str) -> str:
    return text[1:] if _GUARDED.match(text) else text


def unwrapped(cell: str) -> str:
    """The text of a cell that a spreadsheet was made to keep as text: ="0200"."""
    found = _WRAPPED.match(cell)
    return found[1].replace('""', '"') if found else cell


def is_error(cell: str) -> bool:
    return bool(_ERROR.match(cell))


def join_lines(items: Iterable[str]) -> str:
    """A list as one cell, an item a line."""
    return "\n".join(map(_escaped, items))


def split_lines(cell: str) -> list[str]:
    """The list of a cell; blank lines and blanks round a line were not meant."""
    return [_plain(line) for line in map(str.strip, _LINE_END.split(cell)) if line]


def join_pairs(pairs: Iterable[tuple[str, str]]) -> str:
    """Pairs as one cell, "left -> right" a line."""
    return "\n".join(f"{_side(left)}{ARROW}{_side(right)}" for left, right in pairs)


def split_pairs(cell: str) -> list[list[str]]:
    """The pairs of a cell; a line without an arrow is a left side alone."""
    pairs = []
    for line in map(str.strip, _LINE_END.split(cell)):
        if line:
            left, *rest = _ARROWS.split(line, maxsplit=1)
            pairs.append([_plain(left.strip()), _plain("".join(rest).strip())])
    return pairs


def join_commas(items: Iterable[str]) -> str:
    return ", ".join(_escaped(item).replace(",", "\\u{2c}").replace(";", "\\u{3b}") for item in items)


def split_commas(cell: str) -> list[str]:
    return [_plain(item) for item in map(str.strip, re.split(r"[,;\r\n]", cell)) if item]


def _escaped(text: str) -> str:
    if not text:
        return "\\e"
    middle = text.strip()
    start = text.index(middle) if middle else len(text)
    inner = middle.replace("\\", "\\\\").replace("\n", "\\n").replace("\r", "\\r")
    return _coded(text[:start]) + inner + _coded(text[start + len(middle) :])


def _coded(text: str) -> str:
    return "".join(f"\\u{{{ord(character):x}}}" for character in text)


def _side(text: str) -> str:
    return _escaped(text).replace("→", "\\u{2192}").replace("->", "-\\u{3e}") if text else ""


def _plain(text: str) -> str:
    return _WRITTEN.sub(_meant, text) if "\\" in text else text


def _meant(found: re.Match[str]) -> str:
    code = found[1]
    if code.startswith("u"):
        number = int(code[2:-1], 16)
        return chr(number) if number <= _LAST_CHARACTER else found[0]
    return {"\\": "\\", "n": "\n", "r": "\r", "e": ""}[code]
