"""How one exercise goes on for one client: policy and waves, a new baseline, a check set or a test day."""

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients import progression_words as words
from clients.forms.fields import problems, unchecked, with_more_rows
from clients.forms.progressions import PREFIX, BaselineForm, PolicyForm, wave_rows, waves_of
from clients.models import Progression
from clients.reads.people import client_head
from clients.reads.progressions import Going
from clients.services import progressions
from clients.views.common import own_client
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.models import JournalEntry
from coachdesk.practice.toasts import undoable
from programs.models import Exercise

TESTS = {test.value for test in Progression.Test}


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def progression(request: CoachRequest, public_id: str, exercise_id: str) -> HttpResponse:
    """The page; a POST saves what ``do`` names: policy, baseline, no_baseline, or a test."""
    client = own_client(request, public_id)
    rows = Exercise.objects.for_practice(request.user.practice).with_facts()
    going = Going(client, get_object_or_404(rows, public_id=exercise_id))
    if request.method != "POST":
        return _page(request, going)
    do = request.POST.get("do", "")
    if request.POST.get("go") == "rows":
        return _wider(request, going)
    if do == "policy":
        return _policy(request, going)
    if do == "baseline":
        return _baseline(request, going)
    if do == "no_baseline":
        entry = progressions.save_baseline(client, going.exercise, request.user, None)
        return _saved(request, going, entry, _("The whole history counts again."))
    if do in TESTS:
        return _test(request, going, do)
    raise Http404


def _policy(request: CoachRequest, going: Going) -> HttpResponse:
    form = PolicyForm(request.POST, going=going)
    rows = wave_rows(going, request.POST) if going.takes_waves else None
    fine = form.is_valid()
    if not form.waves:
        if not fine:
            return _page(request, going, form=form, rows=rows)
        entry = progressions.save_policy(going.client, going.exercise, request.user, form.cleaned_data["policy"])
        return _saved(request, going, entry, _("Saved how it progresses."))
    if rows is None or not rows.is_valid() or not fine:
        return _page(request, going, form=form, rows=rows)
    waves = waves_of(form, rows)
    if waves is None:
        return _page(request, going, form=form, rows=rows)
    entry = progressions.save_policy(going.client, going.exercise, request.user, Progression.Policy.WAVES, waves)
    return _saved(request, going, entry, _("Saved the wave."))


def _wider(request: CoachRequest, going: Going) -> HttpResponse:
    form = PolicyForm(request.POST, going=going)
    rows = wave_rows(going, with_more_rows(request.POST, [PREFIX]))
    for each in (form, rows):
        unchecked(each)
    return _page(request, going, form=form, rows=rows, status=200)


def _baseline(request: CoachRequest, going: Going) -> HttpResponse:
    form = BaselineForm(request.POST, going=going)
    if not form.is_valid():
        return _page(request, going, baseline=form)
    data = form.cleaned_data
    entry = progressions.save_baseline(
        going.client, going.exercise, request.user, data["baseline_on"], data["baseline_reason"]
    )
    return _saved(request, going, entry, _("A new baseline: what was before stays on record and says nothing here."))


def _test(request: CoachRequest, going: Going, test: str) -> HttpResponse:
    """Asked for or taken back; one that is barred is refused in words, also where a page was left open."""
    barred = {"check_set": going.check_barred, "test_day": going.test_barred}.get(test)
    if barred is not None:
        return _page(request, going, refused=words.barred_words(barred))
    entry = progressions.ask_test(going.client, going.exercise, request.user, test)
    said = {
        "none": _("No test is asked for any more."),
        "check_set": _("A check set is asked for in the next session that comes."),
        "test_day": _("A test day is asked for in the next session that comes."),
    }
    return _saved(request, going, entry, said[test])


def _saved(request: CoachRequest, going: Going, entry: JournalEntry | None, text: str) -> HttpResponse:
    undoable(request, text, entry)
    return redirect("progression", going.client.public_id, going.exercise.public_id)


def _page(
    request: CoachRequest,
    going: Going,
    *,
    form: PolicyForm | None = None,
    rows: Any = None,
    baseline: BaselineForm | None = None,
    refused: str = "",
    status: int = 422,
) -> HttpResponse:
    typed = form is not None or baseline is not None or bool(refused)
    shown = [each for each in (form, rows, baseline) if each is not None]
    context = {
        **client_head(going.client, "client-block", request.user),
        "going": going,
        "exercise": going.exercise,
        "form": form or PolicyForm(going=going),
        "rows": (rows or wave_rows(going)) if going.takes_waves else None,
        "baseline": baseline or BaselineForm(going=going),
        "problems": problems(shown),
        "refused": refused,
        "holds": words.holds(going),
        "weeks": words.week_rows(going),
        "sessions": words.session_rows(going),
        "check_barred": words.barred_words(going.check_barred),
        "test_barred": words.barred_words(going.test_barred),
        "proposals": words.waiting(going),
    }
    return render(request, "clients/progressions/progression.html", context, status=status if typed else 200)


urlpatterns = [
    path("clients/<uuid:public_id>/exercises/<uuid:exercise_id>/", progression, name="progression"),
]
