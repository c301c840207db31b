"""Splitting an exercise of the library in two: choosing a part of its history, seeing what moves, doing it."""

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from clients import merging_words as words
from clients.forms.splitting import SplitForm
from clients.reads.splitting import Portion, portion_of, whole_of
from clients.services.splitting import CannotSplit, split
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.toasts import undoable
from programs.models import Exercise


@coach_required
@require_http_methods(["GET", "POST"])
def exercise_split(request: CoachRequest, public_id: str) -> HttpResponse:
    """The form; posted it shows what would move, and with ``act=split`` it moves that."""
    one = get_object_or_404(Exercise.objects.for_practice(request.user.practice), public_id=public_id)
    if one.merged_into is not None:
        text = _("%(one)s was merged: split %(other)s instead.")
        messages.error(request, text % {"one": one.name, "other": one.merged_into.name})
        return redirect("exercise", one.public_id)
    form = SplitForm(request.POST or None, one=one, whole=whole_of(one))
    portion = None
    if request.method == "POST" and form.is_valid():
        portion = portion_of(one, form.part())
        if portion.nothing:
            form.add_error(None, _("Nothing was done or planned in this part. Choose otherwise."))
        elif request.POST.get("act") == "split":
            try:
                return _split(request, one, form)
            except (CannotSplit, IntegrityError):
                form.add_error(None, _("This has just changed. Look again at what would move."))
    return _page(request, one, form, None if form.errors else portion)


def _split(request: CoachRequest, one: Exercise, form: SplitForm) -> HttpResponse:
    data = form.cleaned_data
    done = split(
        one,
        data["name"],
        form.part(),
        request.user,
        aliases=data.get("aliases", ()),
        outlines=data.get("outlines", ()),
    )
    text = _("%(made)s split off %(name)s.") % {"made": done.exercise.name, "name": one.name}
    if done.sets:
        text += " " + ngettext("%d set moved.", "%d sets moved.", done.sets) % done.sets
    undoable(request, text, done.entry, onward=reverse("exercise", args=[one.public_id]))
    return redirect("exercise", done.exercise.public_id)


def _page(request: CoachRequest, one: Exercise, form: SplitForm, portion: Portion | None) -> HttpResponse:
    context = {
        "exercise": one,
        "form": form,
        "whole": form.whole,
        "portion": portion,
        "moves": words.portion_rows(portion, health=request.user.sees_health) if portion else [],
        "staying": words.left_lines(one, portion) if portion else [],
    }
    status = 422 if form.errors else 200
    return render(request, "programs/library/split.html", context, status=status)


urlpatterns = [path("library/<uuid:public_id>/split/", exercise_split, name="exercise-split")]
