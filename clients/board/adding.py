"""The form on the board for a slot that this client alone gets."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from clients.board.state import State
from clients.forms.draft_slots import PREFILLED, SlotAddForm, own_words, usual_values
from programs.engine.vocabulary import REGIONS
from programs.outline_forms import span_text


@dataclass(frozen=True, slots=True)
class Adding:
    """``band`` is the day type that gets the slot. ``usual`` is what the form was prefilled with."""

    band: str
    form: SlotAddForm
    usual: str = ""


def adding_to(state: State, band: str, typed: Mapping[str, Any] | None = None) -> Adding | None:
    """The form as it was typed, or empty; None where no day type is asked for."""
    if not any(day.key == band for day in state.inputs.request.day_types):
        return None
    form = SlotAddForm(typed, library=state.inputs.library, experience=state.draft.client.experience)
    return Adding(band, form, str(typed.get("usual", "")) if typed else "")


def prefilled(state: State, band: str, typed: Mapping[str, Any]) -> Adding | None:
    """The form once a region or a role is chosen: boxes that are empty or as they were prefilled show what is usual."""
    region = str(typed.get("region", ""))
    if region not in REGIONS:
        return adding_to(state, band)
    library, experience = state.inputs.library, state.draft.client.experience
    own = own_words(typed)
    role = own.get("role", "")
    usual = _words(usual_values(region, role, library, experience))
    form = SlotAddForm(
        library=library,
        experience=experience,
        initial={**usual, **own, "region": region, "role": role or usual["role"]},
    )
    return Adding(band, form, "|".join(usual[name] for name in PREFILLED))


def _words(values: Mapping[str, Any]) -> dict[str, str]:
    return {name: span_text(values[name]) if isinstance(values[name], list) else values[name] for name in PREFILLED}
