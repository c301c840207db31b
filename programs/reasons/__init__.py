"""Reasons in words: the one place where the engine's codes with their parameters become sentences.

``sentence("session.group_high", {...}, names)`` gives a translated sentence; keys of exercises, slots, day types
("upper") and sessions ("upper:1") are looked up in ``names``. Loads are numbers; ``unit`` is what they are in.
"""

from collections.abc import Callable, Mapping
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _

from programs.engine.terms import Because
from programs.reasons import authoring, composing, courses, logged, own_slots, plain, steering
from programs.reasons.words import NBSP, Words

SENTENCES: dict[str, str | Promise] = {
    **composing.SENTENCES,
    **courses.SENTENCES,
    **logged.SENTENCES,
    **authoring.SENTENCES,
    **own_slots.SENTENCES,
    **plain.SENTENCES,
    **steering.SENTENCES,
}
_also: list[Callable[[Because], str]] = []


def speaks_also(speaker: Callable[[Because], str]) -> None:
    """Registers what knows further codes: a function that gives the sentence, or KeyError for what is not its own."""
    if speaker not in _also:
        _also.append(speaker)


def sentence(code: str, params: Mapping[str, Any], names: Mapping[str, str] | None = None, unit: str = "") -> str:
    """The sentence of one reason. A code that this version has no words for is shown as it is, never hidden."""
    made = _template(code, params)
    if made is not None:
        words = Words(params, names or {}, unit)
        try:
            said = str(made) % words
        except KeyError:
            said = str(SENTENCES[f"{code}{logged.BARE}"]) % words
        return said.replace(" %", f"{NBSP}%")
    for speaker in _also:
        try:
            return speaker(Because(code, params))
        except KeyError:
            continue
    return _("Noted: %(code)s") % {"code": code}


def _template(code: str, params: Mapping[str, Any]) -> str | Promise | None:
    """A pick that breaks a limit is told with its session; the same limit, asked of a candidate, without."""
    if "day" in params and code in composing.STANDS_AGAINST:
        return composing.STANDS_AGAINST[code]
    return SENTENCES.get(code)


def sentence_of(reason: Because | Mapping[str, Any], names: Mapping[str, str] | None = None, unit: str = "") -> str:
    """The same for a reason as the engine gives it, or as it is stored: {"code", "params"}."""
    if isinstance(reason, Because):
        return sentence(reason.code, reason.params, names, unit)
    return sentence(reason["code"], reason.get("params", {}), names, unit)
