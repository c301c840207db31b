"""Words and figures of the board: loads with their units, reps, verdicts, what an alternative would change."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.dates import WEEKDAYS, WEEKDAYS_ABBR
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from clients.board.state import Load, State
from clients.cycles import WEEK_DAYS, day_number, is_rolling
from clients.models import Block
from clients.reads.people import limit_words
from programs import labels
from programs.engine import terms
from programs.engine.compose import GroupDose
from programs.engine.compose.request import Slot
from programs.engine.vocabulary import AUDITED_GROUPS
from programs.reasons.words import NBSP, in_text, number, sets

NONE = "–"
MOST_CHANGES = 4
LEAST_TOLD = 0.1  # less than this beyond a range is still told
JOINER = "\u2060"  # keeps both ends of a range on one line


def load_words(load: Load, exercise: terms.Exercise) -> tuple[str, str]:
    """The figure and its unit: ("26", "kg each"), ("to find", ""), ("bodyweight", ""), ("–", "") for no load."""
    if load.find:
        return _("to find"), ""
    if load.value is None:
        return NONE, ""
    if load.rack.names:
        return load.rack.names[int(load.value) - 1], ""
    if load.rack.ordinal:
        return number(load.value), _("setting")
    unit = load.rack.unit
    if exercise.load_entry == "added":
        if not load.value and exercise.bodyweight_fraction:
            return _("bodyweight"), ""
        return f"+{number(load.value)}" if exercise.bodyweight_fraction else number(load.value), unit
    if exercise.load_entry == "assisted":
        if not load.value:
            return _("no help"), ""
        return number(load.value), _("%(unit)s help") % {"unit": unit}
    if exercise.load_entry == "per_hand":
        return number(load.value), _("%(unit)s each") % {"unit": unit}
    return number(load.value), unit


def reps_words(reps: tuple[int, int], rep_unit: str = "reps") -> str:
    """ "6–8", "20–40 s", "12"."""
    low, high = reps
    span = str(low) if low == high else f"{low}–{high}"
    return span if rep_unit == "reps" else f"{span}{NBSP}{'s' if rep_unit == 'seconds' else 'm'}"


def slot_words(slot: Slot, occurrences: int) -> str:
    """ "main · 8–10 / 10–12 · RIR 2"."""
    spans = list(dict.fromkeys(reps_words(slot.reps_on(n)) for n in range(occurrences)))
    parts = [str(labels.ROLES[slot.role]), " / ".join(spans)]
    if slot.rir is not None:
        parts.append(_("RIR %(rir)s").replace(" ", NBSP) % {"rir": number(slot.rir)})
    return " · ".join(parts).replace("–", f"{JOINER}–{JOINER}")


def days_words(days: Sequence[int | None], cycle_days: int = WEEK_DAYS) -> str:
    """ "Mon Tue Thu Fri", "4 in 8 days"."""
    if is_rolling(cycle_days):
        return _("%(sessions)d in %(days)d days") % {"sessions": len(days), "days": cycle_days}
    if None in days or not days:
        return _("any days")
    return " ".join(str(WEEKDAYS_ABBR[day]) for day in days if day is not None)


def day_name(day: int | None, cycle_days: int = WEEK_DAYS) -> str:
    """ "Tuesday", "Day 3" of a rolling cycle, "any day"."""
    if day is None:
        return _("any day")
    return day_number(day) if is_rolling(cycle_days) else str(WEEKDAYS[day])


def verdict_words(judged: GroupDose) -> tuple[str, str]:
    """Kind of mark ("in", "under", "over", "") and the words beside it."""
    verdict = judged.judged
    by = {"sets": counted_words(max(verdict.by, LEAST_TOLD))}
    if verdict.verdict == "under":
        return "under", (_("far under") if verdict.strong else _("%(sets)s under") % by)
    if verdict.verdict == "over":
        return "over", (_("far over") if verdict.strong else _("%(sets)s over") % by)
    return ("in", _("in range")) if verdict.verdict == "in_range" else ("", "")


def counted_words(value: float) -> str:
    """Sets counted by share: quarters as they are; what a rolling cycle's seven days come to, to a tenth."""
    return number(_told(value))


def sets_words(value: float) -> str:
    """The same with its noun."""
    return sets(_told(value))


def _told(value: float) -> float:
    return value if float(4 * value).is_integer() else round(value, 1)


def signed(value: float) -> str:
    return f"+{counted_words(value)}" if value > 0 else counted_words(value)


@dataclass(frozen=True, slots=True)
class DoseChange:
    """One group's change with an alternative: "upper back +2", and "→ in" where the verdict changes."""

    words: str
    becomes: str


def dose_changes(changes: Mapping[str, float], verdicts: Mapping[str, tuple[str, str]]) -> list[DoseChange]:
    """Audited groups, those whose verdict changes first, then the greatest."""
    becomes = {"in_range": _("in"), "under": _("under"), "over": _("over")}
    listed = sorted(
        (group for group in changes if group in AUDITED_GROUPS),
        key=lambda group: (group not in verdicts, -abs(changes[group]), AUDITED_GROUPS.index(group)),
    )
    return [
        DoseChange(
            f"{in_text(labels.GROUPS[group])} {signed(changes[group])}",
            becomes.get(verdicts[group][1], "") if group in verdicts else "",
        )
        for group in listed[:MOST_CHANGES]
    ]


def title_cells(state: State, last: Block | None) -> list[dict[str, object]]:
    """The title block: who, what, which block after the ``last`` one, what to spare, which revision."""
    draft, client = state.draft, state.draft.client
    number_of_block = (last.number if last else 0) + 1
    more = [group for group in AUDITED_GROUPS if state.inputs.request.priorities.get(group) == "more"]
    keep = [group for group in AUDITED_GROUPS if state.inputs.request.priorities.get(group) == "keep"]
    wanted = [in_text(labels.GROUPS[group]) for group in more]
    wanted += [_("keep %(group)s") % {"group": in_text(labels.GROUPS[group])} for group in keep]
    limits = [limit for limit in client.limits.select_related("exercise") if limit.holds_on(draft.starts_on)]
    weeks = ngettext("%(count)d week from %(day)s", "%(count)d weeks from %(day)s", draft.weeks)
    minutes = _("%(days)s, %(minutes)s min")
    return [
        {"label": _("Client"), "value": client.name, "who": True},
        {"label": _("Level"), "value": client.get_experience_display()},
        {
            "label": _("Block %(number)d") % {"number": number_of_block},
            "value": weeks % {"count": draft.weeks, "day": date_format(draft.starts_on, "j M")},
        },
        {
            "label": _("Days, minutes"),
            "value": minutes
            % {"days": days_words(list(state.days.values()), state.cycle_days), "minutes": client.minutes},
        },
        {"label": _("Spare"), "value": "; ".join(map(limit_words, limits)) or _("nothing")},
        {"label": _("Emphasise"), "value": ", ".join(wanted) or NONE},
        {
            "label": _("Draft"),
            "value": _("%(revision)d, unsent") % {"revision": draft.revision},
        },
    ]


def rises_words(rises: Sequence[terms.Because]) -> str:
    """What is too much at once, group by group: "upper back 2.8 → 6, lats 3.2 → 6"; "" for nothing."""
    return ", ".join(
        f"{in_text(labels.GROUPS[str(why.params['group'])])} "
        f"{number(round(float(str(why.params['mean'])), 1))}{NBSP}→{NBSP}{number(why.params['now'])}"
        for why in rises
    )
