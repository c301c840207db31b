"""Writes sets in one unmistakable notation, which reading gives back unchanged."""

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Final

from programs.engine.shorthand.pieces import show_number
from programs.engine.shorthand.readings import ParsedSet

POINT_LANGUAGES: Final = frozenset({"en", "ga", "he", "hi", "ja", "ko", "ms", "mt", "sw", "th", "zh"})
_KIND_WORDS: Final = {"warm_up": "warm-up ", "back_off": "back-off "}


def decimal_mark(locale: str) -> str:
    """ "," or "." for a language code such as "de" or "pt-BR"."""
    language = locale.replace("_", "-").split("-")[0].casefold()
    return "." if language in POINT_LANGUAGES else ","


def format_sets(sets: Sequence[ParsedSet], locale: str = "en") -> str:
    """Sets as text: "60 kg x 8/8/7 rir 2/2/1; 50 kg x 10 > 40 kg x 8". Sets left out in between are "-".

    What is not work has its kind in front: "warm-up 40 kg x 5". Without a load: "8/8/7 reps".
    """
    mark = decimal_mark(locale)
    pieces = []
    expected = 1
    for _, run in groupby(sets, key=_alike):
        together = list(run)
        pieces.append(_group(together, expected, mark))
        expected = together[-1].number + 1
    return "; ".join(pieces)


def _alike(one: ParsedSet) -> tuple[object, ...]:
    """Sets with the same key share one load on paper; a set of parts stands alone."""
    kind = "work" if one.kind == "open_ended" else one.kind
    alone = one.number if any(part.load != one.load for part in one.parts) else 0
    counted = one.reps is not None
    return kind, one.load, one.unit, one.entry, one.band, counted, alone


def _group(sets: Sequence[ParsedSet], expected: int, mark: str) -> str:
    first = sets[0]
    results: list[str] = []
    efforts: list[float | None] = []
    for one in sets:
        gap = one.number - expected
        results += ["-"] * gap
        efforts += [None] * gap
        results.append(_result(one, mark))
        efforts.append(one.rir)
        expected = one.number + 1
    load = _load(first, mark)
    written = "/".join(results)
    text = _KIND_WORDS.get(first.kind, "") + " x ".join(piece for piece in (load, written) if piece)
    if not load and first.reps is not None:
        text += " reps"
    effort = _efforts(efforts, mark)
    drops = [part for part in first.parts if part.load != first.load]
    tail = "".join(f" > {_weight(part.load, part.unit, mark)} x {part.reps}" for part in drops)
    return text + (f" rir {effort}" if effort else "") + tail


def _load(one: ParsedSet, mark: str) -> str:
    if one.entry == "band":
        return f"band {one.band}"
    if one.load is None:
        return ""
    if one.entry == "numbered_setting":
        return f"pin {show_number(one.load, mark)}"
    weight = _weight(one.load, one.unit, mark)
    if one.entry == "added":
        return f"BW+{weight}" if one.load else "BW"
    if one.entry == "assisted":
        return f"BW-{weight}"
    return weight + {"per_hand": " each", "total": " total"}.get(one.entry or "", "")


def _weight(load: float | None, unit: str | None, mark: str) -> str:
    return f"{show_number(load or 0.0, mark)} {unit}" if unit else show_number(load or 0.0, mark)


def _result(one: ParsedSet, mark: str) -> str:
    if one.seconds is not None:
        return f"{one.seconds} s"
    if one.metres is not None:
        return f"{one.metres} m"
    if one.left is not None or one.right is not None:
        if one.left == one.right:
            text = f"{one.reps}e"
        else:
            sides = (("L", one.left), ("R", one.right))
            text = "/".join(f"{side}{reps}" for side, reps in sides if reps is not None)
    else:
        text = "" if one.reps is None else str(one.reps)
    text += "".join(f"+{part.reps}" for part in one.parts if part.load == one.load)
    return text + ("+" if one.kind == "open_ended" else "") + ("F" if one.failure else "")


def _efforts(efforts: Iterable[float | None], mark: str) -> str:
    values = list(efforts)
    if all(value is None for value in values):
        return ""
    if len(set(values)) == 1:
        return show_number(values[0] or 0.0, mark)
    return "/".join("-" if value is None else show_number(value, mark) for value in values)
