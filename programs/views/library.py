"""The library: finding an exercise, and everything that is known of one."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.utils.cache import patch_vary_headers
from django.utils.formats import number_format
from django.utils.safestring import mark_safe
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from coachdesk.practice.access import CoachRequest, coach_required
from programs import finding, labels
from programs.drawings.bodymap import body_map
from programs.drawings.tally import share_bar
from programs.engine import minutes
from programs.forms import LibraryFilter
from programs.models import Exercise
from programs.placed import Placed, places_of
from programs.reads import text_in

PAGE_ROWS = 40
SETS_TIMED = 3
SECONDS_A_MINUTE = 60
PAGE_MAP_MM = 80


@coach_required
@require_safe
def library(request: CoachRequest) -> HttpResponse:
    """The practice's exercises, by what is asked of them. A fragment for htmx, the same page without."""
    places = places_of(request.user.practice)
    form = LibraryFilter(request.GET, places=[(place.key, place.name) for place in places])
    wanted = form.wanted()
    everything = Exercise.objects.for_practice(request.user.practice)
    listed = everything if "hidden" in wanted else everything.shown()
    found = _found(listed, wanted, places)
    page = Paginator(found.with_facts(), PAGE_ROWS).get_page(request.GET.get("page"))
    region = wanted.get("region", "")
    context = {
        "form": form,
        "wanted": wanted,
        "page": page,
        "rows": [(exercise, _minutes(exercise)) for exercise in page],
        "sets_timed": SETS_TIMED,
        "any": page.paginator.count > 0 or bool(wanted) or everything.exists(),
        "filters_on": len(wanted),
        "region_map": _map([region] if region else [], [], _region_title(region)),
    }
    partly = bool(request.htmx) and not request.htmx.history_restore_request
    response = render(request, "programs/library/_found.html" if partly else "programs/library/library.html", context)
    patch_vary_headers(response, ["HX-Request"])
    if partly:
        response["HX-Push-Url"] = _address(request)
    return response


@coach_required
@require_safe
def exercise(request: CoachRequest, public_id: str) -> HttpResponse:
    """One exercise: what it counts for, what it asks, where it can be done, and its words."""
    rows = Exercise.objects.for_practice(request.user.practice).with_facts().prefetch_related("texts")
    shown = get_object_or_404(rows, public_id=public_id)
    regions = list(shown.regions.all())
    whole = [row.region for row in regions if row.share == 1]
    partly = [row.region for row in regions if row.share < 1]
    names = ", ".join(str(labels.REGIONS[region]) for region in whole)
    context = {
        "exercise": shown,
        "text": text_in(shown, request.user.practice.language),
        "cells": _cells(shown),
        "map": _map(
            whole, partly, _("Front and back of the body; a set counts whole for: %(names)s") % {"names": names}
        ),
        "shares": [(row, mark_safe(share_bar(row.share, title=""))) for row in regions],  # noqa: S308  numbers only
        "needs": _needs(shown),
        "step": number_format(f"{shown.load_step:f}".rstrip("0").rstrip(".")),
        "places": [(place, place.offers(shown), _lacks(shown, place)) for place in places_of(request.user.practice)],
    }
    return render(request, "programs/library/exercise.html", context)


def _found(rows: QuerySet, wanted: dict[str, Any], places: list[Placed]) -> Any:
    """The rows that answer to all that is wanted; a region brings its own order, the greatest share first."""
    found: Any = rows
    for name in ("pattern", "implement"):
        if name in wanted:
            found = found.filter(**{name: wanted[name]})
    if "skill" in wanted:
        found = found.up_to_skill(wanted["skill"])
    for joint in wanted.get("spare", ()):
        found = found.sparing(joint)
    if "q" in wanted:
        found = finding.named(found, wanted["q"])
    if "place" in wanted:
        there = next(place.stations for place in places if place.key == wanted["place"])
        found = finding.at_stations(found, there)
    return found.counting_for(wanted["region"]) if "region" in wanted else found


def _minutes(exercise: Exercise) -> int:
    """About how long three sets take, without warm-up."""
    timed = minutes.timed(
        SETS_TIMED,
        (exercise.rep_low + exercise.rep_high) / 2,
        exercise.rest_s,
        tempo=exercise.tempo if exercise.rep_unit == "reps" else "",
        implement=exercise.implement,
        unilateral=exercise.limbs == "one",
        rep_unit=exercise.rep_unit,
    )
    return max(1, round(minutes.block_seconds([timed]) / SECONDS_A_MINUTE))


def _map(whole: list[str], partly: list[str], title: str) -> str:
    return mark_safe(body_map(whole, partly, height_mm=PAGE_MAP_MM, title=title))  # noqa: S308  escapes its title


def _region_title(region: str) -> str:
    if not region:
        return _("Front and back of the body, no region chosen")
    return _("Front and back of the body, chosen: %(name)s") % {"name": labels.REGIONS[region]}


def _address(request: CoachRequest) -> str:
    """This page's address without empty values, to stand in the browser's bar."""
    asked = request.GET.copy()
    for name in list(asked):
        asked.setlist(name, [value for value in asked.getlist(name) if value])
        if not asked.getlist(name):
            del asked[name]
    return f"{request.path}?{asked.urlencode()}" if asked else request.path


def clock(seconds: int) -> str:
    return f"{seconds // SECONDS_A_MINUTE}:{seconds % SECONDS_A_MINUTE:02}"


def _cells(exercise: Exercise) -> list[dict[str, Any]]:
    span = f"{exercise.rep_low}–{exercise.rep_high}"
    if exercise.rep_low == exercise.rep_high:
        span = str(exercise.rep_low)
    cells: list[dict[str, Any]] = [
        {"label": _("Role"), "value": exercise.get_role_display()},
        {"label": _("Implement"), "value": exercise.get_implement_display()},
        {"label": _("Skill"), "value": exercise.get_skill_display()},
        {"label": capfirst(str(labels.REP_UNITS[exercise.rep_unit])), "value": span},
        {"label": _("Rest"), "value": clock(exercise.rest_s)},
    ]
    if exercise.tempo:
        cells.append({"label": _("Tempo"), "value": "-".join(exercise.tempo)})
    return [{**cell, "who": False} for cell in cells]


def _needs(exercise: Exercise) -> list[str]:
    """What must be there beside the implement, in words; of several kinds any one."""
    kinds = [(kind,) for kind in exercise.needs_all] + [tuple(group) for group in exercise.needs_one]
    return [_any_kind(group) for group in kinds]


def _any_kind(kinds: tuple[str, ...]) -> str:
    return _(" or ").join(str(labels.STATIONS[kind]) for kind in kinds)


def _lacks(exercise: Exercise, place: Placed) -> str:
    """What the place lacks, in words; "" when the exercise can be done there."""
    return ", ".join(
        _("no %(thing)s") % {"thing": _any_kind(kinds)} for kinds in finding.lacking(exercise, place.stations)
    )


urlpatterns = [
    path("library/", library, name="library"),
    path("library/<uuid:public_id>/", exercise, name="exercise"),
]
