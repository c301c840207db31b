"""How wide a line of lettering is, so that a dimension line can break around it and a label can stay clear.

The advances are those of the desk's sans, in thousandths of the type size, taken from its font file. A reader
whose browser falls back to another face gets a slightly wrong gap, never a wrong number.
"""

from __future__ import annotations

import unicodedata

_ADVANCES = {
    200: " \u00a0",
    249: "',.:;",
    246: "ij",
    255: "l|",
    263: "I",
    290: "!f",
    303: "()[]{}-",
    338: "t",
    347: "r/\\",
    418: "*s",
    425: '"?z',
    446: "xc",
    467: "vy",
    476: "YJ–",
    486: "L",
    496: "Fke#$+0123456789<=>^~×−≤≥_",
    504: "ag",
    513: "XVE",
    536: "TSZ",
    545: "`oAhun",
    554: "bdpq",
    570: "PRCK",
    588: "B",
    616: "DG&→",
    648: "UNH",
    664: "OQ",
    722: "wM",
    786: "W¼",
    808: "½¾%",
    829: "m",
    847: "@",
}
_ADVANCE_OF = {letter: advance / 1000 for advance, letters in _ADVANCES.items() for letter in letters}
_OTHER = 0.56
_FULL_WIDTH = 1.0
_SEMIBOLD = 1.035


def text_width(words: str, size: float, *, semibold: bool = False) -> float:
    """Width of one line in px at a type size in px. Accents cost nothing; East Asian letters a full em."""
    ems = 0.0
    for letter in unicodedata.normalize("NFD", words):
        if unicodedata.combining(letter):
            continue
        if unicodedata.east_asian_width(letter) in "WF":
            ems += _FULL_WIDTH
        else:
            ems += _ADVANCE_OF.get(letter, _OTHER)
    return ems * size * (_SEMIBOLD if semibold else 1)


def widest(lines: list[str], size: float, *, semibold: bool = False) -> float:
    """Width in px of the widest of several lines; 0 for none."""
    return max((text_width(words, size, semibold=semibold) for words in lines), default=0.0)
