"""A week that cannot be filled: the ways out, what was given up, and why an exercise is not there."""

from copy import deepcopy
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from clients.board.looking import read_place
from clients.board.ways import clashes_of, whole_of
from clients.board.why_not import asked_about
from clients.forms import compose as forms_of
from clients.models import Draft
from clients.services import allowances, drafts
from clients.services.settling import places_in
from clients.views.compose import (
    back_to_board,
    edited,
    elsewhere,
    looking_at,
    own_draft,
    show_board,
    stale_answer,
    tell_changes,
)
from coachdesk.practice.access import CoachRequest, coach_required

MOST_ASKED = 80


@coach_required
@require_safe
def draft_whole(request: CoachRequest, public_id: str) -> HttpResponse:
    """What would make the week whole: a part of the board, or a page of its own."""
    found = own_draft(request, public_id)
    return elsewhere(found) or _whole(request, found)


@coach_required
@require_safe
def draft_clashes(request: CoachRequest, public_id: str) -> HttpResponse:
    """Which limits clash: opened under the ways out, or a page of its own."""
    found = own_draft(request, public_id)
    return elsewhere(found) or _shown(request, found, "clashes.html", "_clashes.html", clashes=clashes_of(found))


@coach_required
@require_POST
def draft_give_up(request: CoachRequest, public_id: str) -> HttpResponse:
    """Takes a way out. One that loads a spared joint is refused without the tick."""
    found = own_draft(request, public_id)
    form = forms_of.WayForm(request.POST)
    if not form.is_valid():
        return _whole(request, found, status=422, error=_("That was not understood. Nothing was changed."))
    data = form.cleaned_data
    before = deepcopy(found.document)
    try:
        allowances.take_way_out(found, data["revision"], request.user, data["way"], agreed=data["agreed"])
    except drafts.StaleDraft as stale:
        return stale_answer(request, stale.draft, data["revision"])
    except allowances.NotAgreed:
        error = _("Tick that this is agreed, or take another way.")
        return _whole(request, found, status=422, error=error, wrong=data["way"])
    except allowances.NotOffered:
        error = _("The draft, the client or the library changed in between. These are the ways now.")
        return _whole(request, found, status=409, error=error)
    found = own_draft(request, public_id)
    filled = places_in(found.document) - places_in(before)
    words = ngettext("Done: %(count)d place is filled.", "Done: %(count)d places are filled.", len(filled))
    inputs = tell_changes(request, before, found, first=words % {"count": len(filled)}, told=filled, undo=True)
    return show_board(request, found, inputs=inputs) if request.htmx else back_to_board(request, found)


@coach_required
@require_POST
def draft_take_back(request: CoachRequest, public_id: str) -> HttpResponse:
    """An allowance is no more."""

    def act(found: Draft, data: dict[str, Any]) -> None:
        allowances.take_back(found, data["revision"], request.user, data["number"])

    return edited(request, public_id, forms_of.AllowanceForm, act)


@coach_required
@require_safe
def draft_why_not(request: CoachRequest, public_id: str) -> HttpResponse:
    """Asks about any exercise for one place."""
    found = own_draft(request, public_id)
    gone = elsewhere(found)
    if gone is not None:
        return gone
    place = read_place(request.GET.get("open", ""))
    query = request.GET.get("q", "")[:MOST_ASKED]
    asked = asked_about(found, place, query, request.GET.get("exercise", "")) if place else None
    if asked is None:
        raise Http404
    return _shown(request, found, "why_not.html", "_why_not.html", asked=asked)


def _shown(
    request: CoachRequest, found: Draft, page: str, part: str, *, status: int = 200, **shown: Any
) -> HttpResponse:
    """A page of its own, or the part that htmx puts on the board."""
    template = part if request.htmx and not request.htmx.history_restore_request else page
    context = {"page": {"draft": found, "looking": looking_at(request)}, **shown}
    return render(request, f"clients/compose/{template}", context, status=status)


def _whole(request: CoachRequest, found: Draft, *, status: int = 200, error: str = "", wrong: str = "") -> HttpResponse:
    """``wrong`` is the way that the error is about."""
    if error and not wrong:
        messages.error(request, error)
    shown = {"whole": whole_of(found), "error": error, "wrong": wrong}
    response = _shown(request, found, "whole.html", "_whole_answer.html", status=status, **shown)
    if request.method == "POST":
        response["HX-Retarget"] = "#whole"
        response["HX-Reswap"] = "outerHTML"
    return response


urlpatterns = [
    path("drafts/<uuid:public_id>/whole/", draft_whole, name="draft-whole"),
    path("drafts/<uuid:public_id>/clashes/", draft_clashes, name="draft-clashes"),
    path("drafts/<uuid:public_id>/give-up/", draft_give_up, name="draft-give-up"),
    path("drafts/<uuid:public_id>/take-back/", draft_take_back, name="draft-take-back"),
    path("drafts/<uuid:public_id>/why-not/", draft_why_not, name="draft-why-not"),
]
