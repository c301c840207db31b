"""Taking back an act of the journal, from the toast that told of it."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from coachdesk.practice import journal
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.models import JournalEntry
from coachdesk.practice.toasts import undoable


@coach_required
@require_POST
def undo(request: CoachRequest, public_id: str) -> HttpResponse:
    """Puts back what the act changed and goes on to ``next``, else to where the coach came from."""
    entry = get_object_or_404(JournalEntry.objects.for_practice(request.user.practice), public_id=public_id)
    onward = _onward(request)
    try:
        back = journal.undo(entry, request.user)
    except journal.CannotUndo as refused:
        if refused.code == "done":
            messages.error(request, _("That was taken back already."))
        else:
            messages.error(request, _("That can’t be taken back: something changed since then builds on it."))
    else:
        undoable(request, _("Taken back."), back, onward=onward)
    return redirect(onward)


def _onward(request: CoachRequest) -> str:
    for wanted in (request.GET.get("next"), request.POST.get("next"), request.headers.get("Referer")):
        if wanted and url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure()):
            return wanted
    return "desk"
