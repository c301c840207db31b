"""A coach's own picture of an exercise: put up, described, taken down, shown."""

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.toasts import undoable
from programs.models import Exercise, Photo
from programs.photo_form import PhotoForm
from programs.services import photos as services


def photo_response(photo: Photo) -> HttpResponse:
    """The picture itself. Its address names this one picture for ever, so a browser may keep it."""
    response = HttpResponse(bytes(photo.image), content_type="image/jpeg")
    response["Cache-Control"] = "private, max-age=31536000, immutable"
    return response


def _rows(request: CoachRequest) -> QuerySet[Exercise]:
    return Exercise.objects.for_practice(request.user.practice).with_photo()


@coach_required
@require_http_methods(["GET", "POST"])
def exercise_photo(request: CoachRequest, public_id: str) -> HttpResponse:
    """Puts up a picture, or describes anew the one that is there."""
    exercise = get_object_or_404(_rows(request), public_id=public_id)
    form = PhotoForm(request.POST or None, request.FILES or None, present=exercise.photo)
    if request.method == "POST" and form.is_valid():
        picture, shows = form.cleaned_data["picture"], form.cleaned_data["shows"]
        if picture:
            entry = services.set_photo(exercise, request.user, picture, shows)
        else:
            entry = services.describe_photo(exercise, request.user, shows)
        text = _("Photo of %(name)s saved.") if entry else _("The photo of %(name)s is as it was.")
        undoable(request, text % {"name": exercise.name}, entry)
        return redirect("exercise", exercise.public_id)
    context = {"exercise": exercise, "form": form}
    return render(request, "programs/library/photo.html", context, status=422 if form.is_bound else 200)


@coach_required
@require_POST
def exercise_photo_remove(request: CoachRequest, public_id: str) -> HttpResponse:
    exercise = get_object_or_404(_rows(request), public_id=public_id)
    if exercise.photo:
        entry = services.remove_photo(exercise, request.user)
        undoable(request, _("Photo of %(name)s taken down.") % {"name": exercise.name}, entry)
    return redirect("exercise", exercise.public_id)


@coach_required
@require_safe
def photo(request: CoachRequest, public_id: str) -> HttpResponse:
    rows = Photo.objects.filter(practice=request.user.practice).exclude(image=b"")
    return photo_response(get_object_or_404(rows, public_id=public_id))


urlpatterns = [
    path("library/<uuid:public_id>/photo/", exercise_photo, name="exercise-photo"),
    path("library/<uuid:public_id>/photo/remove/", exercise_photo_remove, name="exercise-photo-remove"),
    path("photos/<uuid:public_id>/", photo, name="photo"),
]
