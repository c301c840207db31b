"""The trade's set notation: read, written back, and found in a pasted message."""

from programs.engine.shorthand.lines import parse
from programs.engine.shorthand.message import LINE_DOUBTS, MessageLine, parse_message, same_name
from programs.engine.shorthand.notation import decimal_mark, format_sets
from programs.engine.shorthand.readings import DOUBT_CODES, Doubt, Parsed, ParsedSet, Part

__all__ = [
    "DOUBT_CODES",
    "LINE_DOUBTS",
    "Doubt",
    "MessageLine",
    "Parsed",
    "ParsedSet",
    "Part",
    "decimal_mark",
    "format_sets",
    "parse",
    "parse_message",
    "same_name",
]
