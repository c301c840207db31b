"""Adding, editing, copying, hiding exercises: each one act of the journal, with the way back in its toast."""

from django.conf import settings
from django.contrib import messages
from django.db import IntegrityError
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.toasts import undoable
from programs.editor import ExerciseEditor, with_more_rows
from programs.models import Exercise, ExerciseText
from programs.reads import text_in
from programs.services import exercises as services
from programs.services.exercises import ExerciseContent


def _rows(request: CoachRequest) -> QuerySet[Exercise]:
    return Exercise.objects.for_practice(request.user.practice).with_facts().prefetch_related("texts")


@coach_required
@require_http_methods(["GET", "POST"])
def exercise_new(request: CoachRequest) -> HttpResponse:
    language = _language(request, request.user.practice.language)
    exercise = Exercise(practice=request.user.practice, load_step="2.5")
    return _edit(request, exercise, ExerciseText(language=language))


@coach_required
@require_http_methods(["GET", "POST"])
def exercise_edit(request: CoachRequest, public_id: str) -> HttpResponse:
    """Words are edited in one language at a time: the asked one, else the one that the exercise's page shows."""
    exercise = get_object_or_404(_rows(request), public_id=public_id)
    shown = text_in(exercise, request.user.practice.language)
    language = _language(request, shown.language if shown else request.user.practice.language)
    text = next((row for row in exercise.texts.all() if row.language == language), None)
    return _edit(request, exercise, text or ExerciseText(language=language))


def _edit(request: CoachRequest, exercise: Exercise, text: ExerciseText) -> HttpResponse:
    new = exercise.pk is None
    more = request.POST.get("more", "")
    data = with_more_rows(request.POST, more) if more else request.POST or None
    name = exercise.name
    named = text.language != request.user.practice.language
    editor = ExerciseEditor(data, exercise, text, named=named)
    if more:
        editor.quiet()
    elif request.method == "POST" and editor.is_valid():
        try:
            return _saved(request, exercise, editor.content(), new=new)
        except IntegrityError:
            editor.facts.add_error("name", _("Another exercise has just been given this name."))
    context = {
        "editor": editor,
        "exercise": None if new else exercise,
        "name": name,
        "language": text.language,
        "languages": settings.LANGUAGES,
        "problems": editor.problems() if data is not None and not more else [],
    }
    status = 422 if context["problems"] else 200
    return render(request, "programs/library/edit.html", context, status=status)


def _saved(request: CoachRequest, exercise: Exercise, content: ExerciseContent, *, new: bool) -> HttpResponse:
    if new:
        made, entry = services.add_exercise(request.user, content)
        text = _("%(name)s added.") % {"name": made.name}
        undoable(request, text, entry, onward=reverse("library"))
        return redirect("exercise", made.public_id)
    entry = services.edit_exercise(exercise, request.user, content)
    text = _("%(name)s saved.") if entry else _("%(name)s is as it was.")
    undoable(request, text % {"name": content.facts["name"]}, entry)
    return redirect("exercise", exercise.public_id)


def _language(request: CoachRequest, otherwise: str) -> str:
    asked = request.GET.get("language", "")
    return asked if asked in dict(settings.LANGUAGES) else otherwise


@coach_required
@require_POST
def exercise_copy(request: CoachRequest, public_id: str) -> HttpResponse:
    """Makes a copy and opens it for editing."""
    exercise = get_object_or_404(_rows(request), public_id=public_id)
    copied, entry = services.copy_exercise(exercise, request.user)
    text = _("%(name)s made. Change what sets it apart.") % {"name": copied.name}
    undoable(request, text, entry, onward=reverse("exercise", args=[exercise.public_id]))
    return redirect("exercise-edit", copied.public_id)


@coach_required
@require_POST
def exercise_hidden(request: CoachRequest, public_id: str) -> HttpResponse:
    """Hides an exercise from choosing (hidden=1) or shows it again."""
    exercise = get_object_or_404(Exercise.objects.for_practice(request.user.practice), public_id=public_id)
    hide = request.POST.get("hidden") == "1"
    if exercise.merged_into is not None and not hide:
        text = _("%(name)s was merged into %(into)s. Take the merge back to show it again.")
        messages.error(request, text % {"name": exercise.name, "into": exercise.merged_into.name})
    elif hide != (exercise.hidden_at is not None):
        entry = services.set_hidden(exercise, request.user, timezone.now() if hide else None)
        text = _("%(name)s is hidden from choosing.") if hide else _("%(name)s can be chosen again.")
        undoable(request, text % {"name": exercise.name}, entry)
    return redirect("exercise", exercise.public_id)


urlpatterns = [
    path("library/new/", exercise_new, name="exercise-new"),
    path("library/<uuid:public_id>/edit/", exercise_edit, name="exercise-edit"),
    path("library/<uuid:public_id>/copy/", exercise_copy, name="exercise-copy"),
    path("library/<uuid:public_id>/hidden/", exercise_hidden, name="exercise-hidden"),
]
