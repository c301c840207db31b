"""How good the week on the board is known to be, which limits were given up for it, and whether it is whole."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from clients.board.state import State
from clients.reads.composing import allowances_of
from programs.engine.compose.solver.relax import MINUTES
from programs.engine.terms import Because
from programs.reasons import sentence_of

FAR = 50  # steps of the ranking beyond which their number says nothing


@dataclass(frozen=True, slots=True)
class Known:
    """``allowed`` are the limits given up, in the order they were; ``empty`` counts places that nothing fills."""

    proof: str
    allowed: list[str]
    empty: int


def known_of(state: State) -> Known:
    document = state.draft.document
    return Known(
        proof_words(document, state.inputs.request.weights.rank_step),
        [_allowed(step, state) for step in allowances_of(document)],
        len(state.unfilled),
    )


def _allowed(step: Because, state: State) -> str:
    if step.code == MINUTES:
        said = _("%(minutes)s than the client’s %(usual)d in a session")
        return said % {"minutes": minutes_words(step), "usual": state.draft.client.minutes}
    return capital(sentence_of(step, state.names))


def minutes_words(step: Because) -> str:
    """ "8 more minutes"."""
    count = int(step.params["minutes"] or 0)
    return ngettext("%(count)d more minute", "%(count)d more minutes", count) % {"count": count}


def proof_words(document: Mapping[str, Any], rank_step: int) -> str:
    """What is known of the week, with a step of the coach's ranking for measure; nothing where it was composed before
    that was kept."""
    proof = document.get("proof")
    if not proof:
        return ""
    if proof["edited"]:
        return _("Changed since it was composed; the rest was kept as it was, save what the change made worth moving.")
    pinned = any(row["pinned"] for row in document["picks"]) or document.get("left_out")
    if proof["kind"] == "proven":
        if pinned:
            return _("The best week by your rules, around what you pinned and left out.")
        return _("The best week by your rules.")
    if proof["kind"] == "best_found":
        return _off_by(proof["off_by"] or 0, proof["solver"], rank_step)
    return _("Composed without the solver; not proven to be the best.")


def _off_by(points: int, solver: str, rank_step: int) -> str:
    steps = ceil(points / max(1, rank_step))
    if steps > FAR:
        return _("The best week found (%(solver)s); how far the best of all lies is not known.") % {"solver": solver}
    said = ngettext(
        "Best found: at most %(points)d points (%(steps)d step of your ranking) from the best, %(solver)s.",
        "Best found: at most %(points)d points (%(steps)d steps of your ranking) from the best, %(solver)s.",
        steps,
    )
    return said % {"points": points, "steps": steps, "solver": solver}


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]
