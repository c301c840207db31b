"""What must be true of an exercise as a whole, whoever writes it: the rules of the form, for rows of a file."""

from collections.abc import Mapping
from typing import Any, Final

from programs.exchange.fields import Record
from programs.exchange.sheets import Problem

WHOLE_SET: Final = 4
WITHOUT_WEIGHT: Final = ("added", "none")


def check(record: Record) -> list[Problem]:
    """Problems of a whole record: every field there."""
    found = []
    if record["rep_high"] < record["rep_low"]:
        found.append(Problem("rep_high", "reps_out_of_order"))
    implement, entry = record["implement"], record["load_entry"]
    if implement == "bodyweight" and entry not in WITHOUT_WEIGHT:
        found.append(Problem("load_entry", "bodyweight_entry"))
    if (implement == "band") != (entry == "band"):
        found.append(Problem("load_entry", "band_entry"))
    if not any(quarters == WHOLE_SET for quarters, _long in record["regions"].values()):
        found.append(Problem("regions", "no_whole_region"))
    return found


def loops(leads_to: Mapping[str, str]) -> set[str]:
    """Of what was merged into what: those from which the way never ends."""
    endless: set[str] = set()
    for start in leads_to:
        seen: set[str] = set()
        here: Any = start
        while here in leads_to and here not in seen:
            seen.add(here)
            here = leads_to[here]
        if here in seen:
            endless.add(start)
    return endless
