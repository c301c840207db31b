"""The sets over a draft's or a block's rounds: what the coach chose, and what it comes to."""

import math
from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Any

from clients.cycles import cycle_days_of, in_order, rounds_in
from clients.models import Draft
from clients.reads.before import weeks_before
from clients.reads.composing import ComposeInputs
from clients.reads.starting import Starting
from programs.engine import terms
from programs.engine.compose.course import FLAT, Course, SetsPlan, course
from programs.engine.terms import Because

REFUSED = "course.rise_refuse"
STEEPEST_FIRST = ("course.rise_from_nothing", REFUSED, "course.rise_ask", "course.rise_warn")
FROM_MANY = 3


def plan_of(document: Mapping[str, Any]) -> SetsPlan:
    """What the coach chose for the sets over the block; flat where nothing was."""
    stored = document.get("course")
    if not stored:
        return FLAT
    return SetsPlan(stored["kind"], stored["every"], stored["start"] == "below", stored["last_harder"])


def whole_minutes(minutes: float) -> int:
    """Whole minutes, never less than it takes, so that a session that runs over is never shown as fitting."""
    return math.ceil(round(minutes, 2))


def stored_plan(plan: SetsPlan) -> dict[str, Any]:
    """The same as a document keeps it."""
    start = "below" if plan.below else "composed"
    return {"kind": plan.kind, "every": plan.every, "start": start, "last_harder": plan.last_harder}


def course_of(
    draft: Draft,
    inputs: ComposeInputs,
    picks: Collection[terms.Pick],
    starting: Starting,
    library: Mapping[str, terms.Exercise] | None = None,
    rounds: int | None = None,
) -> Course:
    """The rounds that assigning the draft writes, or so many of them. ``library`` has hidden exercises too, where some
    are picked."""
    document = draft.document
    request = inputs.request if library is None else replace(inputs.request, library=library)
    first = next(iter(in_order(document["days"], draft.starts_on)), None)
    return course(
        request,
        picks,
        rounds or rounds_in(draft.weeks, cycle_days_of(document)),
        plan=plan_of(document),
        deload=draft.deload_weeks,
        before=weeks_before(draft.client, draft.starts_on, starting.history),
        fixed=[(row["slot"], row["occurrence"]) for row in document["picks"] if row["pinned_sets"]],
        careful=(first["day"], first["occurrence"]) if first is not None and starting.new_client else None,
    )


def refused_rises(course: Course, document: Mapping[str, Any]) -> list[Because]:
    """Rises of the first round by more than three fifths, which hold an assignment up unless the coach has pinned them.

    A pin holds for its groups, and for no more sets than it was made for: {"groups": {group: sets}, "reason", "by",
    "on"} under "rises" in the document. A client who did nothing for four weeks has no dose to rise from.
    """
    pinned = document.get("rises", {}).get("groups", {})
    return [
        why
        for why in course.cautions
        if why.code == REFUSED and float(str(why.params["now"])) > pinned.get(str(why.params["group"]), 0.0)
    ]


def steep_rises(course: Course, document: Mapping[str, Any]) -> list[Because]:
    """The rises of the first round over the weeks before, the steepest first: alike ones of many groups told as one.

    Of what the coach has pinned as meant only the figures are told, at the end.
    """
    refused = refused_rises(course, document)
    meant = [why for why in course.cautions if why.code == REFUSED and why not in refused]
    found: list[Because] = []
    for code in STEEPEST_FIRST:
        alike = [why for why in course.cautions if why.code == code and why not in meant]
        if len(alike) < FROM_MANY:
            found += alike
            continue
        ask_or_warn = "course.rises_ask" if code == "course.rise_ask" else "course.rises_warn"
        many = "course.rises_refuse" if code == REFUSED else ask_or_warn
        found.append(Because(many, {"groups": ",".join(str(why.params["group"]) for why in alike)}))
    return found + [Because("course.rise_meant", why.params) for why in meant]
