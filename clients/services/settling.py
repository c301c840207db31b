"""A draft set right around an edit: what else moves with the pick that the coach touched, and what is given up."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from typing import Any

from clients.reads.composing import ComposeInputs, picks_of, pins_of
from programs.engine.compose.around import set_right
from programs.engine.compose.candidates import places_of
from programs.engine.compose.evaluate import Rules
from programs.engine.compose.explain import alternatives
from programs.engine.compose.request import Proof, WeekRequest
from programs.engine.compose.week import settled_picks
from programs.engine.terms import Pick

Place = tuple[str, int]

# Parts of a draft's document that say nothing about its picks.
BESIDE_THE_WEEK = frozenset(("days", "days_chosen", "proof", "rises"))


def settle_around(
    document: dict[str, Any],
    before: Mapping[str, Any],
    inputs: ComposeInputs,
    touched: Collection[Place],
    released: Collection[Place] = (),
) -> None:
    """Changes the document's picks where the edit makes that worth it, around the places that the coach touched.

    Those stand as they are in the document; those ``released`` are chosen anew. ``before`` is the document as it was.
    ``inputs`` are the draft's, before or after the edit: pins are taken from the document.
    """
    request = with_pins(inputs, document)
    put, was = _known(document, inputs), _known(before, inputs)
    settle_to(document, set_right(request, put, touched, released, was))


def settle_filled(
    document: dict[str, Any],
    before: Mapping[str, Any],
    inputs: ComposeInputs,
    empty: Iterable[Place],
    touched: Collection[Place] = (),
) -> None:
    """Fills empty places with what fits best now, in exchange for a set of others where it takes that, and settles
    around them as ``settle_around`` does. What nothing fits stays empty."""
    places = list(empty)
    for slot, occurrence in places:
        picks = picks_of(document, inputs.merged)
        for option in alternatives(with_pins(inputs, document), picks, slot, occurrence, 1).ranked[:1]:
            for put in option.picks:
                write(document["picks"], put, pinned=False)
    settle_around(document, before, inputs, touched, places)


def settle_anew(document: dict[str, Any], inputs: ComposeInputs, around: Collection[Place]) -> None:
    """Lets the solver choose the sessions and siblings of these places anew, within the limits as they are now.

    Unlike ``settle_around`` it empties what cannot be filled any more.
    """
    request = with_pins(inputs, document)
    week, _proof = settled_picks(Rules.of(request), _known(document, inputs), around)
    at = {(pick.slot, pick.occurrence) for pick in week}
    document["picks"] = [row for row in document["picks"] if (row["slot"], row["occurrence"]) in at]
    settle_to(document, week)


def settle_to(document: dict[str, Any], week: Iterable[Pick]) -> None:
    """Writes what a week has otherwise than the document; pins stay pins."""
    for pick in week:
        row = row_at(document["picks"], pick.slot, pick.occurrence)
        if row is None or (row["exercise"], row["sets"]) != (pick.exercise, pick.sets):
            write(document["picks"], pick, pinned=bool(row and row["pinned"]))


def places_in(document: Mapping[str, Any]) -> set[Place]:
    """The places that something fills."""
    return {(row["slot"], row["occurrence"]) for row in document["picks"]}


def unfilled_places(document: Mapping[str, Any], inputs: ComposeInputs) -> list[Place]:
    """Places that nothing fills and that the coach has not left out, in the order of the week."""
    filled = {(pick.slot, pick.occurrence) for pick in _known(document, inputs)}
    left_out = {(slot, occurrence) for slot, occurrence in document.get("left_out", [])}
    places = [(slot.key, occurrence) for _day, slot, occurrence in places_of(inputs.request)]
    return [place for place in places if place not in filled and place not in left_out]


def with_pins(inputs: ComposeInputs, document: Mapping[str, Any]) -> WeekRequest:
    """The request with what this document pins and leaves out."""
    pins = pins_of(document)
    return replace(
        inputs.request, pins=tuple(replace(pin, exercise=inputs.merged.get(pin.exercise, pin.exercise)) for pin in pins)
    )


def _known(document: Mapping[str, Any], inputs: ComposeInputs) -> list[Pick]:
    return [pick for pick in picks_of(document, inputs.merged) if pick.exercise in inputs.library]


def proof_row(proof: Proof) -> dict[str, Any]:
    """A week's proof as a draft keeps it."""
    return {"kind": proof.kind, "off_by": proof.off_by, "solver": proof.solver, "edited": False}


def mark_edited(before: Mapping[str, Any], document: dict[str, Any]) -> None:
    """A proof holds for the week that was composed: one that was changed by hand says so."""
    proof = document.get("proof")
    if not proof or proof != before.get("proof") or proof["edited"]:
        return
    names = (before.keys() | document.keys()) - BESIDE_THE_WEEK
    if any(_week_part(before, name) != _week_part(document, name) for name in names):
        document["proof"] = {**proof, "edited": True}


def _week_part(document: Mapping[str, Any], name: str) -> Any:
    if name != "picks":
        return document.get(name) or None
    return sorted((row["slot"], row["occurrence"], row["exercise"], row["sets"]) for row in document.get(name, []))


def pick_row(pick: Pick) -> dict[str, Any]:
    return {
        "slot": pick.slot,
        "occurrence": pick.occurrence,
        "exercise": pick.exercise,
        "sets": pick.sets,
        "pinned": pick.pinned,
        "pinned_sets": False,
    }


def write(rows: list[dict[str, Any]], pick: Pick, *, pinned: bool) -> None:
    """Puts a pick on its place; its sets stay pinned where they were and are the same."""
    row = {**pick_row(pick), "pinned": pinned}
    present = row_at(rows, pick.slot, pick.occurrence)
    if present is None:
        rows.append(row)
        return
    row["pinned_sets"] = pinned and present["pinned_sets"] and present["sets"] == pick.sets
    present.update(row)


def row_at(rows: list[dict[str, Any]], slot: str, occurrence: int) -> dict[str, Any] | None:
    return next((row for row in rows if row["slot"] == slot and row["occurrence"] == occurrence), None)
