"""Any exercise of the library, asked about for one place: what keeps it out, or what would change with it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from clients.board.words import DoseChange, day_name, dose_changes, signed
from clients.cycles import day_of
from clients.models import Draft
from clients.reads.composing import ComposeInputs, draft_inputs, picks_of
from clients.reads.differences import differences
from clients.services.drafts import NotPossible, swapped
from programs.engine.compose import alternatives, assess
from programs.engine.compose.candidates import reasons_against, reasons_for_slot
from programs.engine.compose.request import DayType, Slot
from programs.engine.terms import Because
from programs.reasons import sentence_of

MOST_MATCHES = 8
MOST_ALTERNATIVES = 99

Place = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Answer:
    """``reasons`` speak against the exercise; ``takeable``: the coach may have it, with or without such reasons."""

    exercise: str
    name: str
    stands: bool  # it is the present pick
    reasons: list[str]
    takeable: bool
    ranking: str = ""
    sets: int = 0
    dose: list[DoseChange] = field(default_factory=list)
    minutes: str = ""
    also: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Match:
    exercise: str
    name: str


@dataclass(frozen=True, slots=True)
class Asked:
    """``matches`` are exercises by that name where it is not yet one."""

    slot: str
    occurrence: int
    where: str
    query: str
    matches: list[Match]
    answer: Answer | None


def asked_about(draft: Draft, place: Place, query: str, exercise: str = "") -> Asked | None:
    """What there is to say of the one exercise that is meant, else those that may be; None for a place unknown."""
    inputs = draft_inputs(draft)
    slot_key, occurrence = place
    known = inputs.slots().get(slot_key)
    if known is None or occurrence >= known[0].occurrences:
        return None
    day, slot = known
    matches = [Match(exercise, inputs.library[exercise].name)] if exercise in inputs.library else []
    matches = matches or _matches(inputs, query)
    one = len(matches) == 1 or bool(matches and matches[0].name.casefold() == query.strip().casefold())
    return Asked(
        slot=slot_key,
        occurrence=occurrence,
        where=_where(draft, inputs, day, slot, occurrence),
        query=query or (matches[0].name if exercise and matches else ""),
        matches=[] if one else matches[:MOST_MATCHES],
        answer=_answer(draft, inputs, day, slot, occurrence, matches[0].exercise) if one else None,
    )


def _matches(inputs: ComposeInputs, query: str) -> list[Match]:
    """Exercises whose name has every word of the query; the name itself and its beginnings first."""
    asked = query.casefold().split()
    if not asked:
        return []
    whole = " ".join(asked)
    found = [
        Match(key, exercise.name)
        for key, exercise in inputs.library.items()
        if all(word in exercise.name.casefold() for word in asked)
    ]
    return sorted(found, key=lambda match: (*_closeness(match.name.casefold(), whole), match.name))


def _closeness(name: str, whole: str) -> tuple[bool, bool]:
    return name != whole, not name.startswith(whole)


def _where(draft: Draft, inputs: ComposeInputs, day: DayType, slot: Slot, occurrence: int) -> str:
    row = next((r for r in draft.document["days"] if (r["day"], r["occurrence"]) == (day.key, occurrence)), None)
    session = inputs.session_name(day.key, occurrence)
    on = day_of(row) if row else None
    if on is None:
        return _("%(slot)s, %(session)s") % {"slot": slot.title, "session": session}
    when = day_name(on, inputs.cycle_days)
    return _("%(slot)s, %(session)s, %(day)s") % {"slot": slot.title, "session": session, "day": when}


def _answer(draft: Draft, inputs: ComposeInputs, day: DayType, slot: Slot, occurrence: int, exercise: str) -> Answer:
    names = inputs.names()
    name = inputs.library[exercise].name
    picks = picks_of(draft.document, inputs.merged)
    if any((p.slot, p.occurrence, p.exercise) == (slot.key, occurrence, exercise) for p in picks):
        return Answer(exercise, name, True, [], takeable=False)
    known = [pick for pick in picks if pick.exercise in inputs.library]
    others = alternatives(inputs.request, known, slot.key, occurrence, MOST_ALTERNATIVES)
    against = next((left.reasons for left in others.left_out if left.exercise == exercise), ())
    if not against and not any(way.exercise == exercise for way in others.ranked):
        held = inputs.library[exercise]
        against = (*reasons_against(held, inputs.request), *reasons_for_slot(held, slot))
    try:
        document = swapped(draft, inputs, slot.key, occurrence, exercise)
    except NotPossible as refused:
        return Answer(exercise, name, False, _sentences((*refused.reasons, *against), names), takeable=False)
    return _what_changes(draft, inputs, slot, occurrence, exercise, document, _sentences(against, names))


def _what_changes(
    draft: Draft,
    inputs: ComposeInputs,
    slot: Slot,
    occurrence: int,
    exercise: str,
    document: Mapping[str, Any],
    reasons: list[str],
) -> Answer:
    def week(of: Mapping[str, Any]) -> Any:
        return assess(inputs.request, [p for p in picks_of(of, inputs.merged) if p.exercise in inputs.library])

    def minutes(of: Any) -> float:
        return next(row.minutes for row in of.minutes if (row.day, row.occurrence) == (slot.day, occurrence))

    before, after = week(draft.document), week(document)
    changes, verdicts = {}, {}
    for group, now in after.dose.items():
        was = before.dose[group]
        if now.dose.counted != was.dose.counted:
            changes[group] = now.dose.counted - was.dose.counted
        if now.judged.verdict != was.judged.verdict:
            verdicts[group] = (was.judged.verdict, now.judged.verdict)
    row = next(r for r in document["picks"] if (r["slot"], r["occurrence"]) == (slot.key, occurrence))
    names = inputs.names()
    place = slot.key, occurrence
    moved = [
        sentence_of(why, names)
        for why in differences(draft.document, document, inputs)
        if (why.params.get("slot"), why.params.get("occurrence")) != place
    ]
    difference = round(minutes(after) - minutes(before))
    return Answer(
        exercise,
        inputs.library[exercise].name,
        False,
        reasons,
        takeable=True,
        ranking=ranking_words(slot, occurrence, exercise),
        sets=row["sets"],
        dose=dose_changes(changes, {group: pair for group, pair in verdicts.items() if group in changes}),
        minutes=signed(difference) if difference else "0",
        also=moved,
    )


def ranking_words(slot: Slot, occurrence: int, exercise: str) -> str:
    ranked = slot.ranked_on(occurrence)
    if not ranked:
        return ""
    if exercise not in ranked:
        return _("Not in your ranking here.")
    return _("%(rank)d of %(of)d in your ranking here.") % {"rank": ranked.index(exercise) + 1, "of": len(ranked)}


def _sentences(reasons: tuple[Because, ...], names: Mapping[str, str]) -> list[str]:
    return list(dict.fromkeys(sentence_of(why, names) for why in reasons))
