"""A sheet's values as people read them: page and paper say them the same way.

Everything here takes the sheet's document (``clients.sheets.document``) and gives words in the language that is
active; numbers carry the language's decimal mark, and what belongs together is joined by spaces that don't break.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from functools import lru_cache
from itertools import groupby
from typing import Any

from django.utils import formats
from django.utils.translation import get_language, gettext_lazy, ngettext, pgettext
from django.utils.translation import gettext as _

from clients.cycles import WEEK_DAYS, is_rolling, round_of_words
from programs.engine.vocabulary import GROUP_OF_REGION
from programs.labels import GROUPS, REGIONS
from programs.reasons import sentence
from programs.reasons.logged import NEXT_STEP

MINUS, TIMES, RANGE, NBSP = "−", "×", "–", "\u00a0"
MINUTE = 60
MOST_REASONS = 2
ON_ONE_LEG = frozenset({"squat", "lunge", "hinge"})
# Said to the coach about the client: on the sheet the effort itself says it.
COACH_ONLY = frozenset({"rir_floor", "rest_floor", "share_of_max"})
SHOWN_AS_SECONDS_BELOW = 90

UNITS: Mapping[str, Any] = {
    "kg": gettext_lazy("kilograms"),
    "lb": gettext_lazy("pounds"),
    "setting": gettext_lazy("number of the hole"),
    "band": gettext_lazy("band"),
}
Line = Mapping[str, Any]


def number(value: str | float | Decimal) -> str:
    """A figure with the language's decimal mark and a true minus, no more places than it has and two at most:
    a mixture of pound and kilogram plates weighs 252.277 lb, and nobody reads the third place between sets."""
    plain = f"{round(Decimal(str(value)), 2).normalize():f}"
    mark = str(formats.get_format("DECIMAL_SEPARATOR"))
    return plain.replace(".", mark).replace("-", MINUS)


def clock(seconds: int) -> str:
    """A duration as minutes and seconds, "2:30"."""
    return f"{seconds // MINUTE}:{seconds % MINUTE:02d}"


def day(value: str | date | None, pattern: str = "D j M") -> str:
    """A plain date, "Tue 14 Oct"; "" for none."""
    return _day(value, pattern, get_language()) if value else ""


@lru_cache(maxsize=1024)
def _day(value: str | date, pattern: str, _language: str | None) -> str:
    """A page says few days many times over."""
    return formats.date_format(date.fromisoformat(value) if isinstance(value, str) else value, pattern)


def in_hands(exercise: Mapping[str, Any]) -> bool:
    """Whether both hands hold one implement each, so that the load is said twice: one-legged work too."""
    both = exercise["limbs"] == "two" or exercise["pattern"] in ON_ONE_LEG
    return bool(exercise["load_entry"] == "per_hand" and both)


def load_figure(line: Line, load: Mapping[str, str] | None, low: Mapping[str, str] | None = None) -> str:
    """The load without its unit: "75", "2 × 14", "+10", "body" where nothing is added and no help taken; an en dash
    for none yet. With ``low`` the span from it."""
    if load is None:
        return RANGE
    if load["unit"] == "band":
        return band_name(line, load["value"])
    if low is None and _nothing(line, load):
        return pgettext("load, in a narrow column", "body")
    figure = _from(low, load)
    if in_hands(line["exercise"]):
        return f"2{NBSP}{TIMES}{NBSP}{figure}"
    added = _added(line, load)
    if added is None or (added < 0 and line["exercise"]["load_entry"] == "assisted"):
        return figure
    return f"+{figure}" if added > 0 else f"{MINUS}{figure}"


def load_words(line: Line, load: Mapping[str, str] | None, low: Mapping[str, str] | None = None) -> str:
    """The load in full: "75 kg", "2 × 14 kg", "bodyweight + 10 kg", "20 kg help", "hole 5". With ``low`` the span."""
    if load is None:
        return "" if line["exercise"]["load_entry"] == "none" else _("load to be found")
    if load["unit"] == "band":
        return band_name(line, load["value"])
    if load["unit"] == "setting":
        return _("hole %(number)s") % {"number": _from(low, load)}
    figure = f"{_from(low, load)}{NBSP}{load['unit']}"
    if in_hands(line["exercise"]):
        return f"2{NBSP}{TIMES}{NBSP}{figure}"
    added = _added(line, load)
    if added is None:
        if line["exercise"]["load_entry"] != "assisted":
            return figure
        return _("%(load)s help") % {"load": figure} if Decimal(load["value"]) else _("no help")
    if added == 0 and low is None:
        # On a machine that helps it is said that it does not, elsewhere that nothing is added.
        return _("no help") if line["exercise"]["load_entry"] == "assisted" else _("bodyweight")
    return (_("%(load)s help") if added < 0 else _("bodyweight + %(load)s")) % {"load": figure}


def _added(line: Line, load: Mapping[str, str]) -> Decimal | None:
    """What goes on top of the body, help below nothing; None where the load is no addition to it."""
    exercise, value = line["exercise"], Decimal(load["value"])
    if exercise["load_entry"] not in ("added", "assisted") or not exercise["bodyweight_fraction"]:
        return None
    return -value if exercise["load_entry"] == "assisted" else value


def _from(low: Mapping[str, str] | None, load: Mapping[str, str]) -> str:
    """The figure, or the span: help and what is added are both told without a sign."""
    return number(_size(load)) if low is None else f"{number(_size(low))}{RANGE}{number(_size(load))}"


def _size(load: Mapping[str, str]) -> Decimal:
    return abs(Decimal(load["value"]))


def band_name(line: Line, value: str | Decimal) -> str:
    names = line.get("load_names") or []
    place = int(Decimal(value)) - 1
    return names[place] if 0 <= place < len(names) else _("band %(number)s") % {"number": number(value)}


def amount(target: Mapping[str, Any]) -> str:
    """What one target set asks for: "6–8", "5+", "45 s", "20 m"."""
    if target["seconds"] is not None:
        return seconds_words(target["seconds"])
    if target["metres"] is not None:
        return f"{target['metres']}{NBSP}m"
    low, high = target["reps"]
    if target["open"]:
        return f"{low}+"
    return f"{low}" if low == high else f"{low}{RANGE}{high}"


def seconds_words(seconds: int) -> str:
    return f"{seconds}{NBSP}s" if seconds < SHOWN_AS_SECONDS_BELOW else clock(seconds)


def working(line: Line) -> list[Mapping[str, Any]]:
    """The target sets that count; warm-ups of the coach's own stand with the ramp."""
    return [target for target in line["sets"] if target["kind"] != "warm_up"]


def sets_words(line: Line) -> str:
    """All sets in short: "4 × 6–8", "2 × 5, 5+"."""
    runs = [(words, len(list(run))) for words, run in groupby(amount(target) for target in working(line))]
    return ", ".join(
        words if count == 1 and len(runs) > 1 else f"{count}{NBSP}{TIMES}{NBSP}{words}" for words, count in runs
    )


def common(line: Line, name: str) -> Any:
    """A value that all working sets share; None where they differ or have none."""
    values = {target[name] if name != "load" else _frozen(target["load"]) for target in working(line)}
    return working(line)[0][name] if len(values) == 1 else None


def loads_words(line: Line) -> str:
    """The load of the line: one figure, a span where sets differ, or that it is to be found."""
    return _span(line, load_words)


def loads_figure(line: Line) -> str:
    return _span(line, load_figure)


def _span(line: Line, words: Any) -> str:
    loads = [target["load"] for target in working(line)]
    if not loads or all(load is None for load in loads):
        return str(words(line, None))
    known = [load for load in loads if load is not None]
    low = min(known, key=lambda load: Decimal(load["value"]))
    high = max(known, key=lambda load: Decimal(load["value"]))
    if low == high:
        return str(words(line, low))
    if low["unit"] != high["unit"] or low["unit"] == "band" or Decimal(low["value"]) * Decimal(high["value"]) < 0:
        # Two bands, two units, or help in one set and load in another: each is told whole.
        return f"{words(line, low)}{NBSP}{RANGE} {words(line, high)}"
    # Of two spans of help the greater number is the easier: it is told from small to large all the same.
    small, large = sorted((low, high), key=_size)
    return str(words(line, large, small))


def rir_words(rir: float | Decimal | None) -> str:
    return "" if rir is None else number(rir)


def rirs_words(line: Line) -> str:
    """The reserve of the line: one figure or a span; "" where none is asked."""
    known = [target["rir"] for target in working(line) if target["rir"] is not None]
    if not known:
        return ""
    low, high = min(known), max(known)
    return number(low) if low == high else f"{number(low)}{RANGE}{number(high)}"


def rests_words(line: Line) -> str:
    known = [target["rest_s"] for target in working(line) if target["rest_s"]]
    if not known:
        return ""
    low, high = min(known), max(known)
    return clock(low) if low == high else f"{clock(low)}{RANGE}{clock(high)}"


def aim_words(line: Line, target: Mapping[str, Any]) -> str:
    """What one set is to be: "75 × 6–8"; reps alone where nothing is added."""
    return " ".join(filter(None, aim_parts(line, target)))


def aim_parts(line: Line, target: Mapping[str, Any]) -> tuple[str, str]:
    """Load and amount of an aim, neither to be broken: ("75", "× 6–8"), ("", "6–8") where nothing is added."""
    load, much = target["load"], amount(target)
    if load is None or _nothing(line, load):
        return "", much
    return load_figure(line, load), f"{TIMES}{NBSP}{much}"


def tempo_words(tempo: str | None) -> str:
    """Lowering, pause, lifting as "3-1-1"; the last pause only where there is one."""
    if not tempo:
        return ""
    figures = tempo[:-1] if len(tempo) == 4 and tempo.endswith("0") else tempo
    return "-".join(figures)


def facts(line: Line) -> list[dict[str, str]]:
    """The prescription as labelled figures, in the order of the sheet; what is not asked is left out."""
    found = [
        {"label": _("Sets"), "value": sets_words(line)},
        {"label": _("Load"), "value": loads_words(line)},
        {"label": _("RIR"), "value": rirs_words(line)},
        {"label": _("Rest"), "value": rests_words(line)},
        {"label": _("Tempo"), "value": tempo_words(common(line, "tempo"))},
    ]
    return [fact for fact in found if fact["value"]]


def prescription(line: Line) -> str:
    """One line under the exercise's name: "4 × 6–8 · RIR 2 · rest 2:30 · tempo 3-1-1"."""
    parts = [sets_words(line)]
    if rir := rirs_words(line):
        parts.append(_("RIR %(rir)s") % {"rir": rir})
    if rest := rests_words(line):
        parts.append(_("rest %(rest)s") % {"rest": rest})
    if tempo := tempo_words(common(line, "tempo")):
        parts.append(_("tempo %(tempo)s") % {"tempo": tempo})
    return " · ".join(part.replace(" ", NBSP) for part in parts)


def done_words(line: Line, done: Mapping[str, Any]) -> str:
    """A set that was done, {load, reps, seconds, metres, rir}: "72.5 × 8"."""
    load = done["load"]
    figure = "" if load is None or _nothing(line, load) else load_figure(line, load)
    much = done_amount(done)
    return f"{figure}{NBSP}{TIMES}{NBSP}{much}" if figure else much


def done_amount(done: Mapping[str, Any]) -> str:
    if done["seconds"] is not None:
        return seconds_words(done["seconds"])
    if done["metres"] is not None:
        return f"{done['metres']}{NBSP}m"
    return str(done["reps"])


def last_of(line: Line, place: int) -> Mapping[str, Any] | None:
    """What was done last time in the set at that place, 0-based; the last set where there were fewer."""
    last = line.get("last")
    if not last or not last["sets"]:
        return None
    sets: Sequence[Mapping[str, Any]] = last["sets"]
    return sets[min(place, len(sets) - 1)]


def plates_words(plates: Mapping[str, Any], unit: str) -> str:
    """ "20 + 5 + 2.5", each plate with its unit where it is not the load's; "empty bar" for none."""
    shown = [plate_words(plate, unit) for plate in plates["per_side"]]
    if not shown:
        return _("empty bar") if plates["bar"] else _("no plates")
    return f"{NBSP}+ ".join(shown)


def put_on_words(plates: Mapping[str, Any], unit: str) -> str:
    """ "per side 20 + 5", or "on the sleeve 20 + 5" where there is one alone; without plates what that means."""
    shown = plates_words(plates, unit)
    if not plates["per_side"]:
        return shown
    words = _("on the sleeve %(plates)s") if plates.get("one_end") else _("per side %(plates)s")
    return words % {"plates": shown}


def plates_heading(plates: Mapping[str, Any]) -> str:
    """Over the plates: where they go."""
    return _("On the sleeve") if plates.get("one_end") else _("Per side")


def instead_words(line: Line, place: str) -> list[str]:
    """For every load of the line that the place cannot make that day: what it can, with the plates and how far off.

    "62.5 kg can’t be made at Net Loft: 60 kg (per side 20), −4 %, or 65 kg (per side 20 + 2.5), +4 %." """
    return [
        _("%(load)s can’t be made at %(place)s: %(choices)s.")
        % {
            "load": load_words(line, entry["wanted"]),
            "place": place,
            "choices": _(", or ").join(_choice_words(line, choice) for choice in entry["choices"]),
        }
        for entry in line.get("instead", ())
    ]


def _choice_words(line: Line, choice: Mapping[str, Any]) -> str:
    words = load_words(line, choice["load"])
    if choice["plates"]:
        words = f"{words} ({put_on_words(choice['plates'], choice['load']['unit'])})"
    if choice["change"] is None:
        return words
    sign = MINUS if choice["change"] < 0 else "+"
    return f"{words}, {sign}{number(abs(round(100 * choice['change'], 1)))}{NBSP}%"


def plate_words(plate: Mapping[str, str], unit: str) -> str:
    return number(plate["value"]) if plate["unit"] == unit else f"{number(plate['value'])}{NBSP}{plate['unit']}"


def bar_words(plates: Mapping[str, Any]) -> str:
    """ "bar 20 kg", or that it is left out: nobody knows its weight, or it is not what counts."""
    bar = plates["bar"]
    if bar is None:
        return _("plates alone count")
    return _("bar %(weight)s") % {"weight": f"{number(bar['value'])}{NBSP}{bar['unit']}"}


def group_words(regions: Sequence[str]) -> str:
    """The muscle groups of some regions, as clients call them: "Glutes · Quads"."""
    groups = {GROUP_OF_REGION[region] for region in regions}
    return " · ".join(str(GROUPS[group]).replace(" ", NBSP) for group in GROUPS if group in groups)


def region_words(regions: Sequence[str]) -> str:
    return "; ".join(str(REGIONS[region]) for region in REGIONS if region in regions)


def minutes_words(minutes: int | None) -> str:
    return "" if not minutes else ngettext("about %(n)d minute", "about %(n)d minutes", minutes) % {"n": minutes}


def _nothing(line: Line, load: Mapping[str, str]) -> bool:
    """Whether a load of 0 means bodyweight as it is: nothing added, no help taken."""
    exercise = line["exercise"]
    on_body = exercise["load_entry"] in ("added", "assisted") and exercise["bodyweight_fraction"]
    return bool(on_body) and not Decimal(load["value"])


def _frozen(load: Mapping[str, str] | None) -> tuple[str, str] | None:
    return None if load is None else (load["value"], load["unit"])


def week_words(session: Mapping[str, Any]) -> str:
    """Where a document's session stands in its block: "week 2 of 6", "cycle 2 of 6"."""
    return round_of_words(session["week"], session["weeks"], session.get("cycle_days", WEEK_DAYS))


def session_reasons(document: Mapping[str, Any]) -> list[str]:
    """Why this session is as it is, in two sentences at most: a lighter week or a first session, then its slots'."""
    session = document["session"]
    found = []
    if session["deload"]:
        rolling = is_rolling(session.get("cycle_days", WEEK_DAYS))
        lighter = _("A lighter cycle: less work, so that what you have done can settle.")
        found.append(lighter if rolling else _("A lighter week: less work, so that what you have done can settle."))
    if session["first"]:
        found.append(_("Your first session: fewer sets than later, and time to find the loads."))
    reasons = dict.fromkeys(line["reason"] for line in document["lines"] if not line["free"] and line["reason"])
    return [*found, *reasons][:MOST_REASONS]


def line_reasons(line: Line) -> list[str]:
    """Why a line is as it is: what the log led to, then the slot's own reason."""
    told = [reason for reason in line["because"] if reason["code"] in NEXT_STEP and reason["code"] not in COACH_ONLY]
    found = [sentence(reason["code"], reason["params"], unit=line["unit"]) for reason in told]
    return [*found, line["reason"]] if line["reason"] else found
