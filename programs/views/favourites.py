"""The coach's own favourites: a toggle at each exercise."""

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.toasts import undoable
from programs.models import Exercise
from programs.services.favourites import set_favourite


@coach_required
@require_POST
def exercise_favourite(request: CoachRequest, public_id: str) -> HttpResponse:
    """Makes an exercise a favourite (favourite=1) or no longer. The toggle alone for htmx."""
    exercise = get_object_or_404(Exercise.objects.for_practice(request.user.practice), public_id=public_id)
    wanted = request.POST.get("favourite") == "1"
    entry = set_favourite(exercise, request.user, wanted)
    text = _("%(name)s is one of your favourites.") if wanted else _("%(name)s is no longer one of your favourites.")
    undoable(request, text % {"name": exercise.name}, entry)
    if request.htmx:
        context = {"exercise": exercise, "favourite": wanted, "oob": True}
        return render(request, "programs/library/_favourite_answer.html", context)
    return HttpResponseRedirect(_back(request, reverse("exercise", args=[exercise.public_id])))


def _back(request: CoachRequest, fallback: str) -> str:
    """The page of ours that the form was on."""
    wanted = request.POST.get("next", "")
    safe = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure())
    return wanted if safe else fallback


urlpatterns = [path("library/<uuid:public_id>/favourite/", exercise_favourite, name="exercise-favourite")]
