"""Taking back what was done: the undo behind every toast and every list of acts."""

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from clients.views.common import back_to, undo_tag
from coachdesk.practice import journal
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.models import JournalEntry

# Rows of these tables are health data; undoing what touched them needs the same permission as seeing them.
HEALTH_TABLES = frozenset(
    f"clients.{name}" for name in ("healthanswers", "condition", "clearance", "painreport", "healthnote", "healthread")
)


@coach_required
@require_POST
def undo(request: CoachRequest, entry_id: str) -> HttpResponse:
    """Puts every row back as it was before that act, or says why it can't."""
    entry = get_object_or_404(JournalEntry.objects.for_practice(request.user.practice), public_id=entry_id)
    tables = {row["model"] for row in entry.rows}
    if tables & HEALTH_TABLES and not request.user.sees_health:
        raise Http404
    target = back_to(request, reverse("clients"))
    try:
        undone = journal.undo(entry, request.user)
    except journal.CannotUndo as refusal:
        messages.error(request, _refusal(refusal))
        return HttpResponseRedirect(target)
    messages.success(request, _("Taken back."), extra_tags=undo_tag(undone))
    if _takes_away(entry, target):
        target = reverse("clients")
    return HttpResponseRedirect(target)


def _refusal(refusal: journal.CannotUndo) -> str:
    if refusal.code == "done":
        return _("This was taken back already.")
    return _("This can’t be taken back any more: something done later builds on it. Take that back first.")


def _takes_away(entry: JournalEntry, target: str) -> bool:
    """Whether the page to go back to is about a row that is gone with this undo, such as a client just added."""
    made = [row["after"] for row in entry.rows if row["before"] is None and row["after"]]
    return any(str(row.get("public_id", "–")) in target for row in made)


urlpatterns = [path("journal/<uuid:entry_id>/undo/", undo, name="undo")]
