"""One set's form as the template draws it: labels, spoken names, values, and what the script goes on with."""

import json
import secrets
from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from clients.phone import rows
from clients.phone.forms import SetForm
from clients.sheets import wording

RIR_BOXES = (("0", "0"), ("1", "1"), ("2", "2"), ("3", "3"), ("4", "4+"))


def new_key() -> str:
    """A key for something that is typed without script: the same form sent twice is one thing."""
    return secrets.token_urlsafe(18)


def set_form(
    line: Mapping[str, Any], exercise: Mapping[str, Any], state: rows.LineState, row: rows.SetRow, bound: SetForm | None
) -> dict[str, Any]:
    """One set's form as the template draws it: labels, spoken names, values, and what is wrong with them."""
    own = exercise is line["exercise"]
    unit = line["unit"] if own else ""
    entry, rep_unit = exercise["load_entry"], exercise["rep_unit"]
    # Each field is named in full, so that it can be told from the others when read aloud.
    if row.extra:
        place = _("extra set %(number)s") % {"number": row.number}
    elif row.is_try:
        place = _("try %(number)s") % {"number": state.tries_done + 1}
    else:
        place = _("set %(number)s of %(count)s") % {"number": row.place + 1, "count": state.asked}
    spoken = f"{exercise['name']}, {place}"
    errors = {name: " ".join(map(str, text)) for name, text in bound.errors.items()} if bound else {}
    values = {
        name: bound.data.get(name, "") if bound else getattr(row, name) for name in ("load", "amount", "left", "right")
    }
    if not own and bound is None and not row.key:
        values["load"] = ""
    rir = bound.data.get("rir", "") if bound else row.rir
    targets = [target for target in line["sets"] if target["number"] == row.number]
    return {
        "row": row,
        "key": bound.data.get("key", "") if bound else row.key or new_key(),
        "edits": bool(row.key),
        "place": place,
        "head": _head(state, row),
        "done_label": _done_label(row),
        "spoken": spoken,
        "has_load": entry != "none",
        "load_label": load_label(entry, unit, exercise),
        "load_spoken": _("load, %(unit)s") % {"unit": wording.UNITS.get(unit, unit)} if unit else _("load"),
        "bands": list(enumerate(line["load_names"], start=1)) if unit == "band" and own else [],
        "amount_label": {"reps": _("Reps"), "seconds": _("Seconds"), "metres": _("Metres")}[rep_unit],
        "each_side": exercise["limbs"] == "one" and rep_unit == "reps",
        "has_rir": rep_unit == "reps",
        "rir": [{"value": value, "label": label, "chosen": rir == value} for value, label in RIR_BOXES],
        "rir_unknown": rir not in dict(RIR_BOXES),
        "loadable": json.dumps(line["loadable"] if own else []),
        "step": "5" if rep_unit == "seconds" else "1",
        "values": values,
        "errors": errors,
        "rest": targets[0]["rest_s"] if targets and targets[0]["rest_s"] else _last_rest(line),
        **_script_words(line, exercise, targets, own),
        "new_label": _done_label(row, new=True),
    }


def _script_words(
    line: Mapping[str, Any], exercise: Mapping[str, Any], targets: Sequence[Mapping[str, Any]], own: bool
) -> dict[str, Any]:
    """How a set that was just done is said by the script, and what its reps may be carried on to."""
    amount = {"reps": "{amount}", "seconds": f"{{amount}}{wording.NBSP}s", "metres": f"{{amount}}{wording.NBSP}m"}
    much = amount[exercise["rep_unit"]]
    figure = "{load}"
    if wording.in_hands(exercise):
        figure = f"2{wording.NBSP}{wording.TIMES}{wording.NBSP}{{load}}"
    elif exercise["load_entry"] == "added" and exercise["bodyweight_fraction"]:
        figure = "+{load}"
    said = f"{figure}{wording.NBSP}{wording.TIMES}{wording.NBSP}{much}"
    reps = targets[0]["reps"] if targets and own else None
    return {
        "said": much if exercise["load_entry"] == "none" else said,
        "said_bare": much,
        "rung": f"{wording.TIMES}{{amount}}" if exercise["rep_unit"] == "reps" else much,
        "low": reps[0] if reps else "",
        "high": reps[1] if reps else "",
        "open": bool(targets and targets[0]["open"]),
    }


def _last_rest(line: Mapping[str, Any]) -> int:
    known = [target["rest_s"] for target in line["sets"] if target["rest_s"]]
    return known[-1] if known else 0


def _head(state: rows.LineState, row: rows.SetRow) -> str:
    if row.extra:
        return _("Extra set %(number)s") % {"number": row.number}
    if row.is_try:
        return _("Try %(number)s: find your load") % {"number": state.tries_done + 1}
    return _("Set %(number)s of %(count)s") % {"number": row.place + 1, "count": state.asked}


def _done_label(row: rows.SetRow, *, new: bool = False) -> str:
    if row.key and not new:
        return _("Save the change")
    if row.is_try:
        return _("Try done")
    return _("Set %(number)s done") % {"number": row.number if row.extra else row.place + 1}


def load_label(entry: str, unit: str, exercise: Mapping[str, Any]) -> str:
    """The field's label with its unit, by what the number means."""
    suffix = f", {unit}" if unit in ("kg", "lb") else ""
    if wording.in_hands(exercise):
        return _("Load each hand") + suffix
    if entry == "added" and exercise["bodyweight_fraction"]:
        return _("Added load") + suffix
    if entry == "assisted":
        return _("Help") + suffix
    if entry == "numbered_setting":
        return _("Hole")
    if entry == "band":
        return _("Band")
    return _("Load") + suffix
