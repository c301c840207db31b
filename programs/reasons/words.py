"""Parameters of reasons in words: names for keys, numbers with what they count, days as dates."""

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from typing import Any

from django.utils.dates import WEEKDAYS
from django.utils.formats import date_format, number_format
from django.utils.functional import Promise
from django.utils.translation import get_language, ngettext, override, pgettext
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from programs import labels

OCCURRENCES = "ABCDEFG"
NBSP = "\u00a0"
SHARES = {0.25: "¼", 0.5: "½", 0.75: "¾", 1.0: "1"}

# What a week should hold at least once, by the engine's name for it.
KINDS: dict[str, str | Promise] = {
    "squat_or_lunge": _lazy("squat or lunge"),
    "hinge_or_bridge": _lazy("hinge or bridge"),
    "knee_flexion": _lazy("leg curl"),
    "horizontal_push": _lazy("horizontal push"),
    "vertical_or_incline_push": _lazy("vertical or incline push"),
    "horizontal_pull": _lazy("horizontal pull"),
    "vertical_pull": _lazy("vertical pull"),
    "trunk": _lazy("trunk work"),
}
DETAILS: dict[str, str | Promise] = {
    "implement": _lazy("equipment"),
    "angle": _lazy("angle"),
    "grip": _lazy("grip"),
    "limbs": _lazy("number of limbs"),
    "pattern": _lazy("pattern"),
}
ALARMS: dict[str, str | Promise] = {
    "sharp": _lazy("sharp"),
    "radiating": _lazy("running down an arm or leg"),
    "swelling": _lazy("with swelling"),
    "locking": _lazy("the joint locks or gives way"),
    "weakness": _lazy("with weakness or numbness"),
    "at_night": _lazy("at night"),
}
# Whom a template's figures are for, as in "the range for an intermediate".
LIFTERS: dict[str, str | Promise] = {
    "novice": _lazy("a novice"),
    "intermediate": _lazy("an intermediate"),
    "advanced": _lazy("an advanced lifter"),
}
LIMITS: dict[str, str | Promise] = {
    "session.no_minutes": _lazy("the minutes of the session"),
    "session.ceiling": _lazy("what one session should hold of a group"),
}


def number(value: Any) -> str:
    """With the locale's decimal mark, two places at most, none without need; a true minus."""
    if isinstance(value, str):
        return value
    text = f"{float(value):.2f}".rstrip("0").rstrip(".")
    return number_format(text).replace("-", "−")


def in_text(word: str | Promise) -> str:
    """A word that stands alone with a capital, as it reads within an English sentence."""
    text = str(word)
    return text[:1].lower() + text[1:] if _is_english(word, text) else text


def _is_english(word: str | Promise, text: str) -> bool:
    """Whether the word is said in English: also in a language that has none for it."""
    if (get_language() or "en").startswith("en"):
        return True
    if not isinstance(word, Promise):
        return False
    with override("en"):
        return str(word) == text


def listing(words: list[str], last: str) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}" if words else "–"


def sets(value: Any) -> str:
    whole = 1 if float(value) == 1 else 2
    return ngettext("%(n)s set", "%(n)s sets", whole).replace(" ", NBSP) % {"n": number(value)}


def days(value: Any) -> str:
    whole = 1 if float(value) == 1 else 2
    return ngettext("%(n)s day", "%(n)s days", whole).replace(" ", NBSP) % {"n": number(value)}


def minutes(value: Any) -> str:
    whole = 1 if float(value) == 1 else 2
    return ngettext("%(n)s minute", "%(n)s minutes", whole).replace(" ", NBSP) % {"n": number(value)}


def _of(words: Mapping[str, str | Promise]) -> Callable[[Any], str]:
    return lambda value: str(words.get(str(value), value))


def _many(words: Mapping[str, str | Promise], last: Callable[[], str]) -> Callable[[Any], str]:
    return lambda value: listing([in_text(words.get(code, code)) for code in str(value).split(",") if code], last())


def _either(words: Mapping[str, str | Promise]) -> Callable[[Any], str]:
    """A code's word, or a number where the same parameter counts something."""
    return lambda value: number(value) if isinstance(value, int | float) else str(words.get(str(value), value))


def _and() -> str:
    return pgettext("in a list", "and")


def _or() -> str:
    return pgettext("in a list", "or")


BY_NAME: Mapping[str, Callable[[Any], str]] = {
    "group": _of(labels.GROUPS),
    "groups": _many(labels.GROUPS, _and),
    "region": _of(labels.REGIONS),
    "joint": _of(labels.JOINT_TAGS),
    "station": _of(labels.STATIONS),
    "stations": _many(labels.STATIONS, _or),
    "implement": _of(labels.STATIONS),
    "role": _of(labels.ROLES),
    "wanted": _either(labels.ROLES),
    "skill": _of(labels.SKILLS),
    "allowed": _of(labels.SKILLS),
    "pattern": _of(labels.PATTERNS),
    "kind": _of({**labels.SET_KINDS, **KINDS}),
    "load_entry": _of(labels.LOAD_ENTRIES),
    "limit": _of(LIMITS),
    "experience": _of(LIFTERS),
    "weekday": lambda value: str(WEEKDAYS[int(value)]),
    "alarm": _of(ALARMS),
    "by": _many(DETAILS, _and),
    "sets": sets,
    "minutes": minutes,
    "cap": minutes,
    "over": minutes,
}


ROUGH = ("wanted", "mean")  # shares and means of sets, told to a tenth


COUNTED: dict[str, Callable[[Any], str]] = {"sets": sets, "days": days}


class Words(Mapping[str, str]):
    """What a sentence's placeholders stand for.

    A placeholder is a parameter's name, or a way to say it and the name: ``n_sets`` the bare number, ``load_old``
    with the unit, ``percent_share`` in hundredths, ``sets_after`` with its noun, ``text_group`` within a sentence,
    ``share_share`` as a fraction. ``session`` and ``letter`` come of day and occurrence; ``better`` and ``worse`` of
    a comparison's two exercises.
    """

    def __init__(self, params: Mapping[str, Any], names: Mapping[str, str], unit: str) -> None:
        self.params, self.names = params, names
        self.unit = str(params.get("unit") or unit)

    def __getitem__(self, key: str) -> str:
        special = getattr(self, f"_{key}", None)
        if special is not None and key in _SPECIAL:
            return str(special())
        if key in self.params:
            return self._said(key, self.params[key])
        way, _line, name = key.partition("_")
        value = self.params[name]
        if value is None:
            return "–"
        if way == "n":
            return number(round(value, 1) if name in ROUGH else value)
        if way == "load":
            return f"{number(value)}{NBSP}{self.unit}" if self.unit else number(value)
        if way == "percent":
            return f"{number(round(100 * float(value)))}{NBSP}%"
        if way in COUNTED:
            return COUNTED[way](value)
        if way == "text":
            return in_text(self._said(name, value))
        if way == "share":
            return SHARES.get(float(value), number(value))
        raise KeyError(key)

    def _said(self, name: str, value: Any) -> str:
        if value is None:
            return "–"
        if name in ("exercise", "other", "source", "slot", "earlier", "later"):
            return self.names.get(str(value), str(value))
        if name in ("day", "end", "answered_on"):
            return self._day(str(value))
        if name in BY_NAME:
            return BY_NAME[name](value)
        return number(value) if isinstance(value, int | float) and not isinstance(value, bool) else str(value)

    def _day(self, value: str) -> str:
        try:
            return date_format(date.fromisoformat(value), "j M Y")
        except ValueError:
            return self.names.get(value, value)

    def _letter(self) -> str:
        return OCCURRENCES[int(self.params["occurrence"])]

    def _session(self) -> str:
        """ "Upper B", or the day type's name alone where it comes once a week and ``names`` says so."""
        day, occurrence = self.params["day"], self.params["occurrence"]
        known = self.names.get(f"{day}:{occurrence}")
        return known or f"{self.names.get(day, day)} {self._letter()}"

    def _better(self) -> str:
        return self._one(present=self._for_present())

    def _worse(self) -> str:
        return self._one(present=not self._for_present())

    def _better_rank(self) -> str:
        return self._rank(present=self._for_present())

    def _worse_rank(self) -> str:
        return self._rank(present=not self._for_present())

    def _for_present(self) -> bool:
        return self.params.get("speaks_for", self.params["exercise"]) == self.params["exercise"]

    def _one(self, *, present: bool) -> str:
        return self._said("exercise", self.params["exercise" if present else "other"])

    def _rank(self, *, present: bool) -> str:
        rank = self.params.get("rank" if present else "other_rank")
        return pgettext("in a ranking", "nowhere") if rank is None else _("at %(rank)s") % {"rank": rank}

    def _efforts(self) -> str:
        """ ", with 2/1/1 in reserve", or nothing where the effort was not said."""
        rir = self.params.get("rir")
        return "" if rir in (None, "") else _(" with %(rir)s in reserve") % {"rir": number(rir)}

    def _done(self) -> str:
        """ "72.5 kg × 8/8/7", "45/40 s"."""
        for name, after in (("reps", ""), ("seconds", f"{NBSP}s"), ("metres", f"{NBSP}m")):
            if name in self.params:
                amount = f"{self.params[name]}{after}"
                load = self.params.get("load")
                return f"{self['load_load']} × {amount}" if load is not None else amount
        return "–"

    def _time(self) -> str:
        """Seconds or metres, whichever is asked for."""
        if "metres" in self.params:
            return f"{number(self.params['metres'])}{NBSP}m"
        return f"{number(self.params.get('seconds', 0))}{NBSP}s"

    def __iter__(self) -> Iterator[str]:
        return iter(self.params)

    def __len__(self) -> int:
        return len(self.params)


_SPECIAL = frozenset(("letter", "session", "better", "worse", "better_rank", "worse_rank", "efforts", "done", "time"))
