"""The opened pick: why it stands there, what would come in its place with what that changes, and what is left out."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from clients.board.state import Place, State
from clients.board.words import DoseChange, dose_changes, load_words, number, signed
from clients.reads.composing import LETTERS
from clients.services.drafts import MOST_SETS
from programs import labels
from programs.engine.compose import Alternative, Explanation, LeftOut, Unfilled, alternatives, explain
from programs.engine.compose.candidates import PIN_SETS_ASIDE
from programs.engine.compose.trial import CEILING, MINUTES
from programs.engine.terms import Because
from programs.reasons import sentence_of
from programs.reasons.words import SHARES, in_text, listing

SHOWN = 6
TOLD_APART = ("choice.dose", "choice.rank")  # the dose has a column of its own, the rank fewer words
# What a choice does to the variety of the week, or of its session.
VARIETY = (
    "choice.repeat",
    "choice.same_implement",
    "choice.same_angle",
    "choice.elsewhere",
    "choice.pattern_again",
    "choice.kind_missing",
)
# What a coach may choose all the same: these are matters of judgement, the others are not.
MAY_BE_CHOSEN = PIN_SETS_ASIDE | {MINUTES, CEILING}


@dataclass(frozen=True, slots=True)
class Way:
    """Another exercise for the place, in its rank, with what it would change."""

    rank: int
    exercise: str
    name: str
    note: str
    dose: list[DoseChange]
    minutes: str
    exchange: str  # the letter of the occurrence that takes the present exercise


@dataclass(frozen=True, slots=True)
class Out:
    """An exercise that a rule keeps out. ``choosable``: the coach may take it all the same."""

    exercise: str
    name: str
    why: str
    choosable: bool


@dataclass(frozen=True, slots=True)
class Freed:
    """A way to fill an empty place, and how many exercises it would let in."""

    steps: str
    opens: int
    needs_tick: bool


@dataclass(frozen=True, slots=True)
class Opened:
    """``sets`` is None for an empty place. ``load`` is its figure with the unit."""

    place: str
    slot: str
    occurrence: int
    day: str
    name: str
    where: str
    close: str
    sets: int | None
    pinned: bool
    pinned_sets: bool
    left_out: bool
    first: bool
    last: bool
    load: str
    reasons: list[str]
    despite: list[str]
    facts: list[str]
    load_reasons: list[str]
    fewer: int | None
    more: int | None
    ways: list[Way] = field(default_factory=list)
    out: list[Out] = field(default_factory=list)
    frees: list[Freed] = field(default_factory=list)


def opened_pick(state: State, place: Place, url: str, closed: str) -> Opened:
    slot_key, occurrence = place
    day, slot = state.inputs.slots()[slot_key]
    position = [other.key for other in day.slots].index(slot_key)
    pick = state.picks.get(place)
    picks = tuple(state.picks.values())
    found = explain(state.inputs.request, picks, slot_key, occurrence)
    others = alternatives(state.inputs.request, picks, slot_key, occurrence, SHOWN)
    load = state.loads.get(place)
    figure = " ".join(filter(None, load_words(load, state.inputs.library[pick.exercise]))) if pick and load else ""
    told = _told(state, found, left_out=place in state.left_out)
    return Opened(
        place=f"{slot_key}:{occurrence}",
        slot=slot_key,
        occurrence=occurrence,
        day=day.key,
        name=state.inputs.library[pick.exercise].name if pick else slot.title,
        where=_("%(session)s, slot %(number)d")
        % {"session": state.names[f"{day.key}:{occurrence}"], "number": position + 1},
        close=f"{url}?{closed}" if closed else url,
        sets=pick.sets if pick else None,
        pinned=bool(pick and state.flags[place]["pinned"]),
        pinned_sets=bool(pick and state.flags[place]["pinned_sets"]),
        left_out=place in state.left_out,
        first=position == 0,
        last=position == len(day.slots) - 1,
        load=figure,
        reasons=told[0],
        despite=told[1],
        facts=told[2],
        load_reasons=[sentence_of(why, state.names, load.rack.unit) for why in load.reasons] if load else [],
        fewer=pick.sets - 1 if pick and pick.sets > 1 else None,
        more=pick.sets + 1 if pick and pick.sets < MOST_SETS else None,
        ways=[_way(state, other, rank) for rank, other in enumerate(others.ranked, start=2 if pick else 1)],
        out=_kept_out(state, others.left_out),
        frees=_frees(state, found),
    )


def _told(state: State, found: Explanation | Unfilled, *, left_out: bool) -> tuple[list[str], list[str], list[str]]:
    """What spoke for the pick, what against, and the facts of it; for an empty place why it is empty."""
    if isinstance(found, Unfilled):
        if left_out:
            return [_("You left it out on this day.")], [], []
        return [sentence_of(why, state.names) for why in found.reasons[:SHOWN]], [], []
    facts = [sentence_of(why, state.names) for why in found.facts if why.code != "pick.counts"]
    counts = _counts(found.facts)
    return (
        [sentence_of(why, state.names) for why in found.decided_by],
        [sentence_of(why, state.names) for why in found.despite],
        [*([counts] if counts else []), *facts],
    )


def _counts(facts: Sequence[Because]) -> str:
    """ "Counts 1 for lats and upper back, ½ for elbow flexors."."""
    by_share: dict[float, list[str]] = {}
    for why in facts:
        if why.code == "pick.counts":
            share = float(why.params["share"] or 0)
            by_share.setdefault(share, []).append(in_text(labels.GROUPS[str(why.params["group"])]))
    parts = [
        _("%(share)s for %(groups)s")
        % {"share": SHARES.get(share, number(share)), "groups": listing(groups, pgettext("in a list", "and"))}
        for share, groups in sorted(by_share.items(), reverse=True)
    ]
    return _("Counts %(parts)s.") % {"parts": ", ".join(parts)} if parts else ""


def _way(state: State, other: Alternative, rank: int) -> Way:
    telling = [why for why in other.reasons if why.code not in (*TOLD_APART, *VARIETY)]
    heaviest = max(telling, key=lambda why: int(why.params.get("points") or 0), default=None)
    notes = [_rank_words(why) for why in other.reasons if why.code == "choice.rank"]
    notes += [sentence_of(why, state.names) for why in other.reasons if why.code in VARIETY][:1]
    notes += [sentence_of(heaviest, state.names)] if heaviest else []
    minutes = round(other.minutes_change)
    return Way(
        rank=rank,
        exercise=other.exercise,
        name=state.inputs.library[other.exercise].name,
        note=" ".join(notes),
        dose=dose_changes(other.dose_changes, other.verdict_changes),
        minutes=signed(minutes) if minutes else "0",
        exchange=LETTERS[other.swaps_with] if other.swaps_with is not None else "",
    )


def _rank_words(why: Because) -> str:
    rank = why.params.get("other_rank")
    return _("Not in your ranking here.") if rank is None else _("%(rank)d in your ranking.") % {"rank": rank}


def _kept_out(state: State, left_out: Sequence[LeftOut]) -> list[Out]:
    """Those that the coach may choose all the same come first."""
    rows = []
    for left in left_out:
        choosable = all(why.code in MAY_BE_CHOSEN for why in left.reasons)
        why = " ".join(sentence_of(reason, state.names) for reason in left.reasons)
        rows.append(Out(left.exercise, state.inputs.library[left.exercise].name, why, choosable))
    return sorted(rows, key=lambda row: (not row.choosable, row.name))


def _frees(state: State, found: Explanation | Unfilled) -> list[Freed]:
    if not isinstance(found, Unfilled):
        return []
    return [
        Freed(" + ".join(sentence_of(step, state.names) for step in way.steps), len(way.opens), way.needs_tick)
        for way in found.frees
        if way.opens
    ]
