"""Composing: the list of what is to be composed, starting a draft, the board and every edit on it."""

from collections.abc import Callable, Collection, Mapping, Sequence
from copy import deepcopy
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.board.looking import Looking
from clients.board.page import Page, page_of
from clients.board.preview import preview_of
from clients.board.state import state_of
from clients.board.words import rises_words
from clients.clock import today_for
from clients.cycles import WEEK_DAYS, cycle_days_of, is_rolling, length_words, not_kept_words
from clients.forms import compose as forms_of
from clients.models import Draft
from clients.reads.composing import ComposeInputs, draft_inputs
from clients.reads.differences import differences
from clients.reads.drafts import to_compose
from clients.reads.health import standing_of
from clients.services import blocks, drafts
from clients.views.common import own_client
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.toasts import undoable
from programs.engine.terms import Because
from programs.reasons import sentence_of
from programs.services.outline_work import newest_version

Edit = Callable[[Draft, dict[str, Any]], None]
MOST_TOLD = 2


@coach_required
@require_safe
def compose_list(request: CoachRequest) -> HttpResponse:
    """Open drafts, and clients whose block is missing or about to end."""
    return render(request, "clients/compose/compose.html", {"listed": to_compose(request.user.practice)})


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def compose_start(request: CoachRequest, public_id: str) -> HttpResponse:
    """Chooses template, place and dates, composes, and opens the board. Who is not cleared may be composed for."""
    client = own_client(request, public_id)
    today = today_for(client)
    active = client.blocks.filter(state="active").first()
    asked = request.POST or request.GET
    initial = _usual(client, today, active)
    form = forms_of.StartForm(request.POST or None, client=client, initial=initial)
    if request.method == "POST" and form.is_valid():
        draft = drafts.start_draft(client, request.user, **form.cleaned_data)
        return redirect("draft", draft.public_id)
    context = {
        "client": client,
        "form": form,
        "active": active,
        "open_draft": client.drafts.filter(state=Draft.State.OPEN).first(),
        "cleared": standing_of(client, today).cleared,
        "rhythm": _rhythm(client, form, asked.get("outline"), asked.get("weeks")),
        "can_start": form.fields["outline"].queryset.exists() and form.fields["place"].queryset.exists(),  # type: ignore[attr-defined]
    }
    return render(request, "clients/compose/start.html", context, status=422 if form.is_bound else 200)


def _rhythm(client: Any, form: forms_of.StartForm, chosen: str | None, weeks: str | None) -> list[str]:
    """What a rolling template means for this client and block; nothing for one that goes by weeks."""
    key = str(chosen or form.initial.get("outline") or "")
    offered = form.fields["outline"].queryset  # type: ignore[attr-defined]
    outline = offered.filter(pk=int(key)).first() if key.isdecimal() else offered.first()
    if outline is None or not is_rolling(outline.cycle_days):
        return []
    length = int(weeks) if weeks and weeks.isdecimal() else blocks.USUAL_WEEKS
    length = min(max(length, forms_of.LEAST_WEEKS), forms_of.MOST_WEEKS)
    days = [] if client.order_mode == client.OrderMode.LIST else client.days
    usual = blocks.usual_deloads(client.experience, length, outline.cycle_days)
    said = [
        not_kept_words(client.name, days, len(outline.order), outline.cycle_days),
        length_words(length, outline.cycle_days),
        _("Easier weeks are cycles here; usual is %(cycles)s.") % {"cycles": ", ".join(map(str, usual))}
        if usual
        else _("Easier weeks are cycles here."),
    ]
    return [words for words in said if words]


def _usual(client: Any, today: Any, active: Any) -> dict[str, Any]:
    ends = blocks.last_day(active) if active is not None else None
    initial: dict[str, Any] = {
        "place": client.place_id,
        "starts_on": forms_of.usual_start(today, client.practice.week_start, ends),
        "weeks": blocks.USUAL_WEEKS,
    }
    cycle_days = WEEK_DAYS
    if client.outline_id:
        # The client keeps the version that the block came from; what is composed anew starts from the newest one.
        outline = newest_version(client.outline)
        initial["outline"] = outline.pk
        cycle_days = outline.cycle_days
    usual = blocks.usual_deloads(client.experience, blocks.USUAL_WEEKS, cycle_days)
    initial["deload_weeks"] = ", ".join(map(str, usual))
    return initial


@coach_required
@require_safe
def draft(request: CoachRequest, public_id: str) -> HttpResponse:
    """The board."""
    found = own_draft(request, public_id)
    return elsewhere(found) or show_board(request, found)


@coach_required
@require_POST
def draft_swap(request: CoachRequest, public_id: str) -> HttpResponse:
    def act(found: Draft, data: dict[str, Any]) -> None:
        exercise = str(data["exercise"])
        drafts.swap(found, data["revision"], request.user, data["slot"], data["occurrence"], exercise)

    return edited(request, public_id, forms_of.SwapForm, act)


@coach_required
@require_POST
def draft_sets(request: CoachRequest, public_id: str) -> HttpResponse:
    def act(found: Draft, data: dict[str, Any]) -> None:
        drafts.set_sets(found, data["revision"], request.user, data["slot"], data["occurrence"], data["sets"])

    return edited(request, public_id, forms_of.SetsForm, act)


@coach_required
@require_POST
def draft_pin(request: CoachRequest, public_id: str) -> HttpResponse:
    """Pins, releases, or fills again what was left out."""

    def act(found: Draft, data: dict[str, Any]) -> None:
        place = (data["slot"], data["occurrence"])
        wanted = data["act"] or ("release" if place in drafts.pinned_places(found) else "pin")
        if wanted == "back":
            drafts.put_back(found, data["revision"], request.user, *place)
        else:
            drafts.pin(found, data["revision"], request.user, *place, pinned=wanted == "pin")

    return edited(request, public_id, forms_of.PinForm, act)


@coach_required
@require_POST
def draft_move(request: CoachRequest, public_id: str) -> HttpResponse:
    def act(found: Draft, data: dict[str, Any]) -> None:
        drafts.move_slot(found, data["revision"], request.user, data["day"], data["slot"], data["by"])

    return edited(request, public_id, forms_of.MoveForm, act)


@coach_required
@require_POST
def draft_day(request: CoachRequest, public_id: str) -> HttpResponse:
    def act(found: Draft, data: dict[str, Any]) -> None:
        drafts.set_day(found, data["revision"], request.user, data["day"], data["occurrence"], data["on"])

    return edited(request, public_id, forms_of.DayForm, act)


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def draft_recompose(request: CoachRequest, public_id: str) -> HttpResponse:
    """Shows what composing again would change, then does exactly that."""
    found = own_draft(request, public_id)
    if request.method != "POST":
        return elsewhere(found) or _preview(request, found)
    form = forms_of.RecomposeForm(request.POST)
    if not form.is_valid():
        return _preview(request, found, status=422)
    try:
        before = deepcopy(found.document)
        drafts.recompose(found, form.cleaned_data["revision"], request.user, form.cleaned_data["digest"])
    except drafts.StaleDraft as stale:
        return stale_answer(request, stale.draft, form.cleaned_data["revision"])
    except drafts.StalePreview:
        messages.error(request, _("The library or the client changed in between. This is what would change now."))
        return _preview(request, own_draft(request, public_id), status=409)
    tell_changes(request, before, own_draft(request, public_id))
    return redirect("draft", public_id)


@coach_required
@require_POST
def draft_undo(request: CoachRequest, public_id: str) -> HttpResponse:
    return _turned_back(request, public_id, drafts.undo, _("Taken back."), _("There is nothing to take back."))


@coach_required
@require_POST
def draft_redo(request: CoachRequest, public_id: str) -> HttpResponse:
    return _turned_back(request, public_id, drafts.redo, _("Done again."), _("There is nothing to do again."))


@coach_required
@require_POST
def draft_assign(request: CoachRequest, public_id: str) -> HttpResponse:
    """Writes what was on screen as the client's block."""
    found = own_draft(request, public_id)
    form = forms_of.RevisionForm(request.POST)
    if not form.is_valid():
        return show_board(request, found, status=422)
    try:
        block, entry = blocks.assign(found, form.cleaned_data["revision"], request.user)
    except drafts.StaleDraft as stale:
        return stale_answer(request, stale.draft, form.cleaned_data["revision"])
    except blocks.TooSteep as steep:
        words = _("Not assigned: too much more at once for %(rises)s. Start with fewer sets, or say why it is meant.")
        messages.error(request, words % {"rises": rises_words(steep.rises)})
        return redirect(f"{reverse('draft-weeks', args=[found.public_id])}#rises")
    said = ngettext(
        "Block %(number)d assigned: %(count)d week of sessions.",
        "Block %(number)d assigned: %(count)d weeks of sessions.",
        block.weeks,
    )
    onward = reverse("draft", args=[found.public_id])
    undoable(request, said % {"number": block.number, "count": block.weeks}, entry, onward=onward)
    return redirect("client-block", found.client.public_id)


def own_draft(request: CoachRequest, public_id: str) -> Draft:
    rows = Draft.objects.for_practice(request.user.practice)
    return get_object_or_404(rows.select_related("client__practice", "outline", "place"), public_id=public_id)


def elsewhere(found: Draft) -> HttpResponse | None:
    """Where a draft that is not open any more has gone."""
    if found.state == Draft.State.ASSIGNED:
        return redirect("client-block", found.client.public_id)
    if found.state == Draft.State.DROPPED:
        newer = found.client.drafts.filter(state=Draft.State.OPEN).first()
        return redirect("draft", newer.public_id) if newer else redirect("compose-start", found.client.public_id)
    return None


def looking_at(request: CoachRequest) -> Looking:
    return Looking.asked(lambda name: request.POST.get(name) or request.GET.get(name) or "")


def _page(
    request: CoachRequest, found: Draft, looking: Looking | None = None, inputs: ComposeInputs | None = None
) -> Page:
    typed = request.POST if "region" in request.POST else None
    looking = looking or looking_at(request)
    return page_of(state_of(found, inputs), looking, sees_health=request.user.sees_health, typed=typed)


def show_board(
    request: CoachRequest,
    found: Draft,
    *,
    status: int = 200,
    changed: list[str] | None = None,
    looking: Looking | None = None,
    inputs: ComposeInputs | None = None,
) -> HttpResponse:
    """The board whole, or its fragment with the toasts. ``changed``: what happened since the page was loaded.

    ``looking`` is what to look at where that is not what the request says; ``inputs`` are the draft's, where they have
    been gathered already.
    """
    context = {"page": _page(request, found, looking, inputs), "changed": changed}
    part = request.htmx and not request.htmx.history_restore_request
    template = "clients/compose/_answer.html" if part else "clients/compose/draft.html"
    return render(request, template, context, status=status)


def edited(request: CoachRequest, public_id: str, form_class: type[forms.Form], act: Edit) -> HttpResponse:
    """One edit: done and told with its undo, refused with the reason, or stale."""
    found = own_draft(request, public_id)
    form = form_class(request.POST)
    if not form.is_valid() or form.cleaned_data.get("on", 0) >= cycle_days_of(found.document):
        messages.error(request, _("That was not understood. The board is as it was."))
        return show_board(request, found, status=422)
    data = form.cleaned_data
    if not _knows(found, data):
        raise Http404
    before = deepcopy(found.document)
    try:
        act(found, data)
    except drafts.StaleDraft as stale:
        return stale_answer(request, stale.draft, data["revision"])
    except drafts.NotPossible as refused:
        names = draft_inputs(found).names()
        messages.error(request, " ".join(sentence_of(why, names) for why in refused.reasons))
        return show_board(request, found, status=422)
    found = own_draft(request, public_id)
    inputs = tell_changes(request, before, found, at=(data.get("slot"), data.get("occurrence")))
    return show_board(request, found, inputs=inputs) if request.htmx else back_to_board(request, found)


def _turned_back(
    request: CoachRequest, public_id: str, act: Callable[..., bool], done_words: str, nothing: str
) -> HttpResponse:
    found = own_draft(request, public_id)
    asked = request.POST.get("revision") or request.GET.get("revision")
    form = forms_of.RevisionForm({"revision": asked})
    if not form.is_valid():
        return show_board(request, found, status=422)
    before = deepcopy(found.document)
    try:
        done = act(found, request.user, form.cleaned_data["revision"])
    except drafts.StaleDraft as stale:
        return stale_answer(request, stale.draft, form.cleaned_data["revision"])
    found = own_draft(request, public_id)
    inputs = None
    if done:
        inputs = tell_changes(request, before, found, first=done_words)
    else:
        messages.info(request, nothing)
    return show_board(request, found, inputs=inputs) if request.htmx else back_to_board(request, found)


def _knows(found: Draft, data: dict[str, Any]) -> bool:
    """Whether slot, day type and occurrence belong to this draft."""
    order, days = found.document["order"], found.document["days"]
    slot, day, occurrence = data.get("slot"), data.get("day"), data.get("occurrence")
    if slot is not None and not any(slot in slots for slots in order.values()):
        return False
    if day is None and slot is not None:
        day = next(key for key, slots in order.items() if slot in slots)
    return occurrence is None or any((row["day"], row["occurrence"]) == (day, occurrence) for row in days)


def back_to_board(request: CoachRequest, found: Draft) -> HttpResponseRedirect:
    query = looking_at(request).query()
    address = reverse("draft", args=[found.public_id])
    return HttpResponseRedirect(f"{address}?{query}#pick" if query else address)


def tell_changes(
    request: CoachRequest,
    before: dict[str, Any],
    found: Draft,
    *,
    first: str = "",
    at: tuple[Any, Any] = (None, None),
    told: Collection[tuple[str, int]] = (),
    undo: bool | None = None,
) -> ComposeInputs:
    """What an edit changed, as a toast that takes it back; what undo or redo changed stands behind its own words.

    ``at`` is the place that was touched: it is told first, and what moved with it after that. What changed on the
    places ``told`` stands in ``first`` already. The draft's inputs come back, for the board.
    """
    inputs = draft_inputs(found)
    changes = differences(before, found.document, inputs)
    if not changes and not first:
        return inputs
    names = inputs.names()
    own = [why for why in changes if _place_of(why) == at]
    if not own and not told:
        own = changes[:1]
    also = [why for why in changes if why not in own and _place_of(why) not in told]
    said = " ".join(filter(None, [first, *(sentence_of(why, names) for why in own), _also(also, names)]))
    if first and not undo:
        messages.success(request, said)
        return inputs
    address = reverse("draft-undo", args=[found.public_id])
    query = looking_at(request).query(revision=str(found.revision))
    messages.success(request, said, extra_tags=f"undo:{address}?{query}")
    return inputs


def _place_of(why: Because) -> tuple[Any, Any]:
    return why.params.get("slot"), why.params.get("occurrence")


def _also(changes: Sequence[Because], names: Mapping[str, str]) -> str:
    """ "Also changed: Lower A: Leg press goes from 3 sets to 4 sets. 2 more."."""
    if not changes:
        return ""
    told = [sentence_of(why, names) for why in changes[:MOST_TOLD]]
    more = len(changes) - len(told)
    if more:
        told.append(ngettext("%(count)d more.", "%(count)d more.", more) % {"count": more})
    return _("Also changed: %(changes)s") % {"changes": " ".join(told)}


def stale_answer(request: CoachRequest, newest: Draft, revision: int) -> HttpResponse:
    """409: somebody was faster. The board as it stands now, with what changed since the page was loaded."""
    found = own_draft(request, str(newest.public_id))
    if found.state != Draft.State.OPEN:
        messages.error(request, _("This draft is not open any more; nothing was changed."))
        gone = elsewhere(found)
        if request.htmx and gone is not None:
            response = HttpResponse(status=204)
            response["HX-Redirect"] = gone["Location"]
            return response
        return gone or redirect("compose")
    earlier = drafts.document_at(found, revision)
    inputs = draft_inputs(found)
    names = inputs.names()
    changed = [sentence_of(why, names) for why in differences(earlier, found.document, inputs)] if earlier else []
    return show_board(request, found, status=409, changed=changed)


def _preview(request: CoachRequest, found: Draft, *, status: int = 200) -> HttpResponse:
    context = {"draft": found, "preview": preview_of(found)}
    return render(request, "clients/compose/recompose.html", context, status=status)


urlpatterns = [
    path("compose/", compose_list, name="compose"),
    path("clients/<uuid:public_id>/compose/", compose_start, name="compose-start"),
    path("drafts/<uuid:public_id>/", draft, name="draft"),
    path("drafts/<uuid:public_id>/swap/", draft_swap, name="draft-swap"),
    path("drafts/<uuid:public_id>/sets/", draft_sets, name="draft-sets"),
    path("drafts/<uuid:public_id>/pin/", draft_pin, name="draft-pin"),
    path("drafts/<uuid:public_id>/move/", draft_move, name="draft-move"),
    path("drafts/<uuid:public_id>/day/", draft_day, name="draft-day"),
    path("drafts/<uuid:public_id>/recompose/", draft_recompose, name="draft-recompose"),
    path("drafts/<uuid:public_id>/undo/", draft_undo, name="draft-undo"),
    path("drafts/<uuid:public_id>/redo/", draft_redo, name="draft-redo"),
    path("drafts/<uuid:public_id>/assign/", draft_assign, name="draft-assign"),
]
