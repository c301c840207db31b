"""One proposal: accepted, declined, or changed to the coach's own numbers."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients import proposal_words
from clients.forms.proposals import ChangeForm
from clients.models import Proposal
from clients.reads.people import client_head
from clients.services import proposals
from clients.services.proposals import Change, Overtaken
from clients.views.common import back_to, undo_tag
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.models import JournalEntry


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def proposal(request: CoachRequest, public_id: str) -> HttpResponse:
    """The page to change it on; ``do`` says accept, decline or edit."""
    rows = Proposal.objects.for_practice(request.user.practice)
    found = get_object_or_404(
        rows.select_related("client__practice", "client__coach", "client__place", "exercise", "session__block"),
        public_id=public_id,
    )
    if request.method != "POST":
        return _page(request, found, ChangeForm(proposal=found))
    do = request.POST.get("do", "")
    if do not in ("accept", "decline", "edit"):
        raise Http404
    change: Change | None = None
    if do == "edit":
        form = ChangeForm(request.POST, proposal=found)
        if not form.is_valid():
            return _page(request, found, form, status=422)
        change = form.change()
    try:
        decided = proposals.decline if do == "decline" else proposals.accept
        entry = decided(found, request.user, **({"change": change} if change is not None else {}))
    except Overtaken:
        return _overtaken(request, found)
    found.refresh_from_db()
    return _decided(request, found, entry)


def _decided(request: CoachRequest, found: Proposal, entry: JournalEntry | None) -> HttpResponse:
    state = Proposal.State
    words = {
        state.ACCEPTED: _("Accepted: %(exercise)s, %(ask)s."),
        state.EDITED: _("Changed: %(exercise)s, %(ask)s."),
        state.DECLINED: _("Declined: %(exercise)s stays at %(ask)s."),
    }[state(found.state)] % {"exercise": found.exercise.name, "ask": decided_words(found)}
    messages.success(request, f"{found.client.initials} · {words}", extra_tags=undo_tag(entry))
    if request.htmx:
        return render(request, "clients/desk/_decided.html", {"proposal": found, "words": words})
    return redirect(back_to(request, reverse("desk")))


def _overtaken(request: CoachRequest, found: Proposal) -> HttpResponse:
    found.refresh_from_db()
    text = _("%(exercise)s was decided already, or newer logs have overtaken it.") % {"exercise": found.exercise.name}
    messages.error(request, text)
    if request.htmx:
        return render(request, "clients/desk/_decided.html", {"proposal": found, "words": text})
    return redirect(back_to(request, reverse("desk")))


def decided_words(found: Proposal) -> str:
    """What the line asks for now: "75 kg, 4 × 6–8"."""
    decided: dict[str, Any] = found.decided or {}
    load = decided.get("load")
    unit = decided.get("unit") or ""
    ask = proposal_words.asked_words(decided) or _("left out")
    return f"{proposal_words.load_words(load, unit)}, {ask}" if load is not None else ask


def _page(request: CoachRequest, found: Proposal, form: ChangeForm, status: int = 200) -> HttpResponse:
    context = {
        **client_head(found.client, "client-progress", request.user),
        "proposal": found,
        "flag_word": proposal_words.flag_word(found.kind),
        "what": proposal_words.what(found),
        "session_words": proposal_words.session_words(found),
        "change": proposal_words.figure(found),
        "reasons": proposal_words.reasons(found),
        "offers": proposal_words.offers(found),
        "form": form,
        "open": found.state == Proposal.State.WAITING,
        "next": request.POST.get("next") or request.GET.get("next") or "",
    }
    return render(request, "clients/desk/proposal.html", context, status=status)


urlpatterns = [path("proposals/<uuid:public_id>/", proposal, name="proposal")]
