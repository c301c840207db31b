"""An exercise of the library: everything that is known of one."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from coachdesk.practice.access import CoachRequest, coach_required
from programs import labels
from programs.drawings.bodymap import body_map
from programs.drawings.tally import share_bar
from programs.merged import standing
from programs.models import Exercise
from programs.pictures import start_and_end
from programs.placed import places_of
from programs.reads import text_in
from programs.telling import alike_of, cells_of, lacks_of, needs_of, plain, step_of

PAGE_MAP_MM = 80


@coach_required
@require_safe
def exercise(request: CoachRequest, public_id: str) -> HttpResponse:
    """One exercise: what it counts for, what it asks, where it can be done, and its words."""
    practice = request.user.practice
    rows = Exercise.objects.for_practice(practice).with_facts().with_photo().prefetch_related("texts")
    shown = get_object_or_404(rows, public_id=public_id)
    regions = list(shown.regions.all())
    context = {
        "exercise": shown,
        "stands_for": standing(shown),
        "text": text_in(shown, practice.language),
        "cells": cells_of(shown),
        "map": map_of(shown),
        "figure": start_and_end(shown.figure),
        "shares": [(row, mark_safe(share_bar(row.share, title=""))) for row in regions],  # noqa: S308  numbers only
        "angle": plain(shown.angle),
        "grip": plain(shown.grip),
        "needs": needs_of(shown),
        "unit": practice.unit,
        "step": step_of(shown, practice.unit),
        "places": [(place, place.offers(shown), lacks_of(shown, place)) for place in places_of(practice)],
        "alike": alike_of(shown, practice),
        "favourite": request.user.favourites.filter(exercise=shown).exists(),
    }
    return render(request, "programs/library/exercise.html", context)


def map_of(exercise: Exercise) -> str:
    """The body map of an exercise that comes ``with_facts()``."""
    regions = list(exercise.regions.all())
    whole = [row.region for row in regions if row.share == 1]
    partly = [row.region for row in regions if row.share < 1]
    names = ", ".join(str(labels.REGIONS[region]) for region in whole)
    title = _("Front and back of the body; a set counts whole for: %(names)s") % {"names": names}
    return mark_safe(body_map(whole, partly, height_mm=PAGE_MAP_MM, title=title))  # noqa: S308  escapes its title


urlpatterns = [path("library/<uuid:public_id>/", exercise, name="exercise")]
