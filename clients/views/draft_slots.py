"""The slots on the board: paired, reordered, added for this client, removed and put back."""

from copy import deepcopy
from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_POST, require_safe

from clients.board.adding import prefilled
from clients.board.state import state_of
from clients.forms import draft_slots as forms_of
from clients.models import Draft
from clients.reads.composing import draft_inputs
from clients.services import draft_slots, drafts
from clients.views.compose import (
    edited,
    looking_at,
    own_draft,
    show_board,
    stale_answer,
    tell_changes,
)
from coachdesk.practice.access import CoachRequest, coach_required
from programs.reasons import sentence_of


@coach_required
@require_POST
def draft_pair(request: CoachRequest, public_id: str) -> HttpResponse:
    """A slot and a neighbour are done in turns, or it is done by itself again."""

    def act(found: Draft, data: dict[str, Any]) -> None:
        if data["act"] == "alone":
            draft_slots.release(found, data["revision"], request.user, data["slot"])
        else:
            draft_slots.pair(found, data["revision"], request.user, data["slot"], above=data["act"] == "above")

    return edited(request, public_id, forms_of.PairForm, act)


@coach_required
@require_POST
def draft_place(request: CoachRequest, public_id: str) -> HttpResponse:
    """A slot is put where it was dropped."""

    def act(found: Draft, data: dict[str, Any]) -> None:
        draft_slots.place(found, data["revision"], request.user, data["slot"], data["to"])

    return edited(request, public_id, forms_of.PlaceSlotForm, act)


@coach_required
@require_POST
def draft_slot_remove(request: CoachRequest, public_id: str) -> HttpResponse:
    def act(found: Draft, data: dict[str, Any]) -> None:
        draft_slots.remove(found, data["revision"], request.user, data["slot"])

    return edited(request, public_id, forms_of.SlotOnlyForm, act)


@coach_required
@require_POST
def draft_slot_back(request: CoachRequest, public_id: str) -> HttpResponse:
    def act(found: Draft, data: dict[str, Any]) -> None:
        if not any(row["slot"] == data["removed"] for row in found.document.get("removed_slots", [])):
            raise Http404
        draft_slots.put_back(found, data["revision"], request.user, data["removed"])

    return edited(request, public_id, forms_of.SlotBackForm, act)


@coach_required
@require_POST
def draft_slot_add(request: CoachRequest, public_id: str) -> HttpResponse:
    """A slot for this client alone; the board opens it. What was typed stays where it is not taken."""
    found = own_draft(request, public_id)
    inputs = draft_inputs(found)
    form = forms_of.SlotAddForm(request.POST, library=inputs.library, experience=found.client.experience)
    if not form.is_valid():
        return show_board(request, found, status=422)
    day = form.cleaned_data["add"]
    if day not in found.document["order"]:
        raise Http404
    before = deepcopy(found.document)
    try:
        key = draft_slots.add(found, form.cleaned_data["revision"], request.user, day, form.values())
    except drafts.StaleDraft as stale:
        return stale_answer(request, stale.draft, form.cleaned_data["revision"])
    except drafts.NotPossible as refused:
        messages.error(request, " ".join(sentence_of(why, inputs.names()) for why in refused.reasons))
        return show_board(request, found, status=422)
    found = own_draft(request, public_id)
    tell_changes(request, before, found)
    looking = looking_at(request)
    session = looking.session if looking.session and looking.session[0] == day else (day, 0)
    opened = replace(looking, open=(key, session[1]), session=session, add="")
    address = f"{reverse('draft', args=[found.public_id])}?{opened.query()}"
    if not request.htmx:
        return redirect(f"{address}#pick")
    response = show_board(request, found, looking=opened)
    response["HX-Push-Url"] = address
    return response


@coach_required
@require_safe
def draft_slot_form(request: CoachRequest, public_id: str) -> HttpResponse:
    """The form of a new slot once its region or role is chosen, with what is usual for these."""
    found = own_draft(request, public_id)
    adding = prefilled(state_of(found), str(request.GET.get("add", "")), request.GET)
    if adding is None:
        raise Http404
    context = {"page": {"draft": found, "looking": looking_at(request)}, "adding": adding}
    return render(request, "clients/compose/_add_slot.html", context)


urlpatterns = [
    path("drafts/<uuid:public_id>/pair/", draft_pair, name="draft-pair"),
    path("drafts/<uuid:public_id>/place/", draft_place, name="draft-place"),
    path("drafts/<uuid:public_id>/slots/add/", draft_slot_add, name="draft-slot-add"),
    path("drafts/<uuid:public_id>/slots/form/", draft_slot_form, name="draft-slot-form"),
    path("drafts/<uuid:public_id>/slots/remove/", draft_slot_remove, name="draft-slot-remove"),
    path("drafts/<uuid:public_id>/slots/back/", draft_slot_back, name="draft-slot-back"),
]
