"""Sentences for what is asked about a set or a line before it counts: how it is written, and what it says."""

from collections.abc import Mapping
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from programs.reasons.words import NBSP, number

Word = str | Promise

# How a set is written: codes of the shorthand.
WRITTEN: dict[str, Word] = {
    "added_for_total": gettext_lazy("A plus sign, though this exercise is logged by its whole load."),
    "as_planned": gettext_lazy("“As planned” says no numbers: type the reps that were done."),
    "bare_number": gettext_lazy("One number alone: reps or a load?"),
    "cannot_read": gettext_lazy("This can’t be read as sets."),
    "comma_unclear": gettext_lazy("Is the comma a decimal mark, or does it part two sets?"),
    "date_in_cell": gettext_lazy("This looks like a date that a spreadsheet made of the reps."),
    "day_fraction": gettext_lazy("This looks like a time that a spreadsheet turned into a share of a day."),
    "each_for_total": gettext_lazy("“Each”, though this exercise is logged by its whole load."),
    "effort_count": gettext_lazy("Not as many efforts as sets."),
    "effort_not_rated": gettext_lazy("An effort below 5 says light, not how many were left."),
    "effort_of_parts": gettext_lazy("An effort behind a set of several parts: for which of them?"),
    "effort_or_load": gettext_lazy("Is the number behind @ an effort or a load?"),
    "effort_out_of_range": gettext_lazy("Reps in reserve are 0 to 5."),
    "effort_range": gettext_lazy("A range of effort: one number is kept."),
    "left_over_number": gettext_lazy("A number is left over that was not read."),
    "list_unclear": gettext_lazy("Numbers beside each other: which is the load?"),
    "loads_and_reps_disagree": gettext_lazy("Not as many loads as reps."),
    "metres_or_minutes": gettext_lazy("Does m mean metres or minutes?"),
    "number_too_large": gettext_lazy("A number is too large to be true."),
    "one_side_only": gettext_lazy("Only one side is given."),
    "plates_need_place": gettext_lazy("What the bar or its plates weigh depends on the place: type the whole load."),
    "plates_per_side": gettext_lazy("Plates of one side: type the whole load."),
    "range_not_result": gettext_lazy("A range is a target; type what was done."),
    "reps_high": gettext_lazy("So many reps are rare."),
    "reps_missing": gettext_lazy("A load without reps."),
    "reps_not_whole": gettext_lazy("Reps are whole numbers."),
    "reps_or_sets": gettext_lazy("Which number is the reps, which the sets?"),
    "sets_disagree": gettext_lazy("The number of sets and the list of reps differ."),
    "sets_or_load": gettext_lazy("Is the first number sets or a load?"),
    "sides_or_sets": gettext_lazy("Two sides, or two sets?"),
    "sign_unclear": gettext_lazy("A minus sign, where no help is expected."),
    "thousands_mark": gettext_lazy("This can be read in two ways."),
    "total_for_per_hand": gettext_lazy("A total, though this exercise is logged by one of two."),
    "two_implements_or_sets": gettext_lazy("Two implements, or two sets?"),
    "unexpected_measure": gettext_lazy("This exercise is counted another way."),
    "units_mixed": gettext_lazy("Kilograms and pounds in one line."),
    "zero_reps": gettext_lazy("No rep at all: leave it empty, or type what was done."),
}
# Which exercise a line of a message speaks of.
NAMED: dict[str, Word] = {
    "exercise_unknown": gettext_lazy("No exercise of this session has that name."),
    "exercise_guessed": gettext_lazy("The name is only like one of this session."),
    "exercise_missing": gettext_lazy("Sets before any name."),
}
# What a set says, against what was done before.
ODD: dict[str, Word] = {
    "swapped_fields": gettext_lazy("Load and reps may have changed places: %(load)s, where %(usual)s is usual."),
    "other_unit": gettext_lazy("%(load)s may be in the other unit: %(usual)s is usual."),
    "ten_times": gettext_lazy("%(load)s is ten times the usual %(usual)s."),
    "tenth": gettext_lazy("%(load)s is a tenth of the usual %(usual)s."),
    "both_for_one": gettext_lazy("%(load)s is twice the usual %(usual)s: both together, where one is logged?"),
    "one_for_both": gettext_lazy("%(load)s is half the usual %(usual)s: one, where both together are logged?"),
    "far_off": gettext_lazy("%(load)s is %(percent)s %% off the usual %(usual)s."),
    "step_to_work": gettext_lazy(
        "%(load)s, lighter than asked and before the heaviest set: work, or a step towards it?"
    ),
    "swapped_fields/bare": gettext_lazy("Load and reps may have changed places."),
    "two_answers": gettext_lazy("Two different answers came for this set: which one is true?"),
}
SENTENCES: Mapping[str, Word] = {**WRITTEN, **NAMED, **ODD}


def doubt_sentence(code: str, params: Mapping[str, Any], unit: str = "") -> str:
    """One doubt as a sentence; a code without words is shown as it is, never hidden."""
    made = SENTENCES.get(code)
    if made is None:
        return _("To be checked: %(code)s") % {"code": code}
    words = {name: _said(name, value, unit) for name, value in params.items()}
    try:
        return str(made) % words
    except KeyError:
        return str(SENTENCES[f"{code}/bare"]) % words


def _said(name: str, value: Any, unit: str) -> str:
    if value is None or isinstance(value, str):
        return str(value or "–")
    if name == "percent":
        return number(abs(float(value)))
    return f"{number(value)}{NBSP}{unit}" if name in ("load", "usual") and unit else number(value)
