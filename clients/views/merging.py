"""Merging one exercise of the library into another: choosing the other, seeing what moves, doing it."""

from difflib import SequenceMatcher
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from clients import merging_words as words
from clients.reads.merging import both_have, differences, held_by, refused
from clients.services.merging import CannotMerge, can_be_chosen, merge, names_after, pictures_after
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.toasts import undoable
from programs.catalogue import named
from programs.engine.shorthand import same_name
from programs.merged import count_alike
from programs.models import Exercise
from programs.models.exercises import ExerciseQuerySet

MOST_OFFERED = 12


@coach_required
@require_http_methods(["GET", "POST"])
def exercise_merge(request: CoachRequest, public_id: str) -> HttpResponse:
    """Chooses what to merge into (``q`` looks for it); with ``into`` shows what moves; posted with it, merges."""
    rows = Exercise.objects.for_practice(request.user.practice).with_facts().prefetch_related("texts")
    one = get_object_or_404(rows, public_id=public_id)
    if one.merged_into_id is not None:
        messages.error(request, _("%(name)s has been merged already.") % {"name": one.name})
        return redirect("exercise", one.public_id)
    other = _chosen(rows.exclude(pk=one.pk), request.POST.get("into") or request.GET.get("into") or "")
    if other is None:
        return _choose(request, one)
    if request.method == "POST":
        try:
            merged = merge(one, other, request.user, keep_names=request.POST.get("keep_names") == "on")
        except CannotMerge:
            return _preview(request, one, other, status=422)
        text = _("%(one)s merged into %(other)s.") % {"one": one.name, "other": other.name}
        if merged.sets:
            text += " " + ngettext("%d set moved.", "%d sets moved.", merged.sets) % merged.sets
        undoable(request, text, merged.entry)
        return redirect("exercise", other.public_id)
    return _preview(request, one, other)


def _chosen(rows: ExerciseQuerySet, key: str) -> Exercise | None:
    """The exercise to merge into; None for none, or for one that can't be chosen."""
    try:
        found = rows.filter(public_id=UUID(key)).first()
    except ValueError:
        return None
    return found if found is not None and can_be_chosen(found) else None


def _choose(request: CoachRequest, one: Exercise) -> HttpResponse:
    q = request.GET.get("q", "").strip()[:80]
    rows = Exercise.objects.for_practice(request.user.practice).shown().filter(merged_into=None)
    if q:
        keys = [pk for pk in named(request.user.practice, q) if pk != one.pk][: 2 * MOST_OFFERED]
        by_key = rows.in_bulk(keys)
        found = [by_key[pk] for pk in keys if pk in by_key]
    else:
        near = rows.filter(pattern=one.pattern).exclude(pk=one.pk)
        found = sorted(near, key=lambda row: (-_likeness(one, row), row.name))[:MOST_OFFERED]
    context = {
        "exercise": one,
        "q": q,
        "found": [(row, count_alike(one, row)) for row in found],
        "posted": request.method == "POST",
    }
    return render(request, "programs/library/merge_choose.html", context, status=422 if context["posted"] else 200)


def _likeness(one: Exercise, other: Exercise) -> float:
    """How much two exercises look like one entered twice: by their names, and by what they count."""
    alike = SequenceMatcher(None, same_name(one.name), same_name(other.name)).ratio()
    return alike + count_alike(one, other) + (one.implement == other.implement)


def _preview(request: CoachRequest, one: Exercise, other: Exercise, status: int = 200) -> HttpResponse:
    held = held_by(one)
    found = differences(one, other, held)
    kept, left = names_after(one, other)
    context = {
        "exercise": one,
        "other": other,
        "held": words.held_rows(held, health=request.user.sees_health),
        "counted": held.counted,
        "pictures": words.pictures_words(pictures_after(one, other)),
        "both": words.both_lines(one, other, both_have(one, other)),
        "differences": words.difference_rows(one, other, found),
        "refused": refused(found),
        "staying": words.staying_lines(one, other, held),
        "new_names": words.listed([name for name in kept if name not in other.aliases]),
        "left_names": words.listed(left),
    }
    return render(request, "programs/library/merge.html", context, status=status)


urlpatterns = [path("library/<uuid:public_id>/merge/", exercise_merge, name="exercise-merge")]
