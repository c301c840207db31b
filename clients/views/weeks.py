"""A draft week by week, as assigning would write it, and the choice of how its sets run."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from clients.board.weeks import asked_week, weeks_of_draft
from clients.cycles import cycle_days_of, rounds_in
from clients.forms.weeks import CourseForm, RisesForm
from clients.models import Draft
from clients.services.courses import pin_rises, set_course
from clients.services.drafts import StaleDraft
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.toasts import undoable
from programs.engine.constants import RISE_REFUSE_SHARE


@coach_required
@require_safe
def draft_weeks(request: CoachRequest, public_id: str) -> HttpResponse:
    """Every week of the block that the draft would become; ``?week=`` is the one looked at."""
    found = _own_draft(request, public_id)
    if found.state != Draft.State.OPEN:
        return redirect("draft", found.public_id)
    return _show(request, found, _form(found))


@coach_required
@require_POST
def draft_course(request: CoachRequest, public_id: str) -> HttpResponse:
    """How the sets run over the block, and whether a deload is planned or comes on call."""
    found = _own_draft(request, public_id)
    if found.state != Draft.State.OPEN:
        return redirect("draft", found.public_id)
    form = _form(found, request.POST)
    if not form.is_valid():
        return _show(request, found, form, status=422)
    data = form.cleaned_data
    try:
        entry = set_course(found, data["revision"], request.user, data["plan"], data["deload_weeks"])
    except StaleDraft:
        messages.error(request, _("Somebody changed this draft in the meantime, so nothing of yours was done."))
        return _again(request, public_id)
    onward = reverse("draft-weeks", args=[found.public_id])
    if entry is not None:
        undoable(request, _("The weeks are reckoned anew."), entry, onward=onward)
    return redirect(onward)


@coach_required
@require_POST
def draft_rises(request: CoachRequest, public_id: str) -> HttpResponse:
    """A steep rise over the weeks before is meant: pinned with its reason, it holds no assignment up."""
    found = _own_draft(request, public_id)
    if found.state != Draft.State.OPEN:
        return redirect("draft", found.public_id)
    form = RisesForm(request.POST)
    if not form.is_valid():
        return _show(request, found, _form(found), rises=form, status=422)
    data = form.cleaned_data
    try:
        pinned = pin_rises(found, data["revision"], request.user, data["reason"])
    except StaleDraft:
        messages.error(request, _("Somebody changed this draft in the meantime, so nothing of yours was done."))
        return redirect("draft-weeks", found.public_id)
    if pinned:
        messages.success(request, _("The rise is kept with its reason. The draft can be assigned."))
    return redirect("draft-weeks", found.public_id)


def _again(request: CoachRequest, public_id: str) -> HttpResponse:
    """409: what was typed stands in the form still, with the revision that is on screen now."""
    newest = _own_draft(request, public_id)
    if newest.state != Draft.State.OPEN:
        return redirect("draft", newest.public_id)
    typed = request.POST.copy()
    typed["revision"] = str(newest.revision)
    return _show(request, newest, _form(newest, typed), status=409)


def _own_draft(request: CoachRequest, public_id: str) -> Draft:
    rows = Draft.objects.for_practice(request.user.practice)
    return get_object_or_404(rows.select_related("client__practice", "outline", "place"), public_id=public_id)


def _form(found: Draft, data: object = None) -> CourseForm:
    days = cycle_days_of(found.document)
    return CourseForm(data, draft=found, rounds=rounds_in(found.weeks, days), cycle_days=days)


def _show(
    request: CoachRequest, found: Draft, form: CourseForm, *, rises: RisesForm | None = None, status: int = 200
) -> HttpResponse:
    weeks = weeks_of_draft(found, asked_week(request.GET))
    part = request.htmx and not request.htmx.history_restore_request and request.method == "GET"
    template = "clients/weeks/_weeks.html" if part and weeks else "clients/weeks/draft.html"
    rises = rises or RisesForm(initial={"revision": found.revision})
    context = {"draft": found, "weeks": weeks, "form": form, "rises": rises, "steepest": round(100 * RISE_REFUSE_SHARE)}
    return render(request, template, context, status=status)


urlpatterns = [
    path("drafts/<uuid:public_id>/weeks/", draft_weeks, name="draft-weeks"),
    path("drafts/<uuid:public_id>/course/", draft_course, name="draft-course"),
    path("drafts/<uuid:public_id>/rises/", draft_rises, name="draft-rises"),
]
