"""The library: finding an exercise, and everything that is known of one."""

from collections.abc import Iterable
from datetime import datetime
from functools import lru_cache
from typing import Any, NamedTuple
from uuid import UUID

from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, render
from django.template.loader import render_to_string
from django.urls import path
from django.utils.cache import patch_vary_headers
from django.utils.formats import number_format
from django.utils.safestring import SafeString, mark_safe
from django.utils.text import capfirst
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.models import Practice
from programs import finding, labels
from programs.alike import Alike, Traits, alike
from programs.drawings.bodymap import body_map
from programs.drawings.tally import share_bar
from programs.engine import minutes
from programs.forms import LibraryFilter
from programs.models import Exercise, ExerciseJoint, ExerciseRegion
from programs.pictures import start_and_end
from programs.placed import Placed, places_of
from programs.reads import text_in

PAGE_ROWS = 40
ALIKE_ROWS = 6
WHOLE_SET = 4  # quarters
CLEARLY = 2  # how much a joint is asked
SETS_TIMED = 3
SECONDS_A_MINUTE = 60
PAGE_MAP_MM = 80
ROWS_KEPT = 4096
FINDERS_KEPT = 256
PARTS_OF_A_SET = {2: "½", 1: "¼"}


class Facts(NamedTuple):
    """What a row of the list says of an exercise, without its shares and joints."""

    pk: int
    public_id: UUID
    name: str
    hidden_at: datetime | None
    implement: str
    limbs: str
    rep_low: int
    rep_high: int
    rep_unit: str
    rest_s: int
    tempo: str


@coach_required
@require_safe
def library(request: CoachRequest) -> HttpResponse:
    """The practice's exercises, by what is asked of them. A fragment for htmx, the same page without."""
    places = places_of(request.user.practice)
    named = tuple((place.key, place.name) for place in places)
    form = LibraryFilter(request.GET, places=named)
    wanted = form.wanted()
    everything = Exercise.objects.for_practice(request.user.practice)
    listed = everything if "hidden" in wanted else everything.shown()
    found = _found(listed, wanted, places)
    page = Paginator(found.values_list(*Facts._fields), PAGE_ROWS).get_page(request.GET.get("page"))
    context = {
        "form": form,
        "wanted": wanted,
        "page": page,
        "rows": _rows(page),
        "sets_timed": SETS_TIMED,
        "any": page.paginator.count > 0 or bool(wanted) or everything.exists(),
        "filters_on": len(wanted),
    }
    partly = bool(request.htmx) and not request.htmx.history_restore_request
    if partly:
        context["region_map"] = _region_map(get_language(), wanted.get("region", ""))
    else:
        asked = tuple((name, tuple(request.GET.getlist(name))) for name in form.fields if name != "q")
        context["finder_fields"] = _finder_fields(get_language(), asked, named)
    response = render(request, "programs/library/_found.html" if partly else "programs/library/library.html", context)
    patch_vary_headers(response, ["HX-Request"])
    if partly:
        response["HX-Push-Url"] = _address(request)
    return response


@coach_required
@require_safe
def exercise(request: CoachRequest, public_id: str) -> HttpResponse:
    """One exercise: what it counts for, what it asks, where it can be done, and its words."""
    rows = Exercise.objects.for_practice(request.user.practice).with_facts().with_photo().prefetch_related("texts")
    shown = get_object_or_404(rows, public_id=public_id)
    regions = list(shown.regions.all())
    whole = [row.region for row in regions if row.share == 1]
    partly = [row.region for row in regions if row.share < 1]
    names = ", ".join(str(labels.REGIONS[region]) for region in whole)
    context = {
        "exercise": shown,
        "figure": start_and_end(shown.figure),
        "text": text_in(shown, request.user.practice.language),
        "cells": _cells(shown),
        "map": _map(
            whole, partly, _("Front and back of the body; a set counts whole for: %(names)s") % {"names": names}
        ),
        "shares": [(row, mark_safe(share_bar(row.share, title=""))) for row in regions],  # noqa: S308  numbers only
        "needs": _needs(shown),
        "step": number_format(f"{shown.load_step:f}".rstrip("0").rstrip(".")),
        "places": [(place, place.offers(shown), _lacks(shown, place)) for place in places_of(request.user.practice)],
        "alike": _alike(shown, request.user.practice),
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


def _rows(page: Iterable[tuple[Any, ...]]) -> list[SafeString]:
    """The rows of the table as they stand on the page: two queries however many."""
    listed = [Facts._make(values) for values in page]
    wanted = [facts.pk for facts in listed]
    shares: dict[int, list[tuple[int, str]]] = {}
    found = ExerciseRegion.objects.filter(exercise__in=wanted).values_list("exercise_id", "quarters", "region")
    for pk, quarters, region in found:
        shares.setdefault(pk, []).append((quarters, region))
    joints: dict[int, list[tuple[str, int]]] = {}
    asked = ExerciseJoint.objects.filter(exercise__in=wanted).values_list("exercise_id", "joint", "severity")
    for pk, joint, severity in asked:
        joints.setdefault(pk, []).append((joint, severity))
    language = get_language()
    return [_row(language, facts, tuple(shares.get(facts.pk, ())), tuple(joints.get(facts.pk, ()))) for facts in listed]


@lru_cache(maxsize=ROWS_KEPT)
def _row(
    language: str | None, facts: Facts, shares: tuple[tuple[int, str], ...], joints: tuple[tuple[str, int], ...]
) -> SafeString:
    """One row, written once for what it says and the language that is spoken.

    ``shares`` are (quarters, region), the greatest first; ``joints`` are (joint, severity).
    """
    counts: dict[str, list[str]] = {}
    for quarters, region in shares:
        counts.setdefault(PARTS_OF_A_SET.get(quarters, ""), []).append(str(labels.REGIONS[region]))
    severities = dict(ExerciseJoint._meta.get_field("severity").flatchoices)
    context = {
        "exercise": facts,
        "implement": labels.STATIONS[facts.implement],
        "counts": [(part, ", ".join(names)) for part, names in counts.items()],
        "asks": [(labels.JOINT_TAGS[joint], severities[severity]) for joint, severity in joints],
        "minutes": _minutes(facts),
    }
    return render_to_string("programs/library/_row.html", context)


@lru_cache(maxsize=FINDERS_KEPT)
def _finder_fields(
    language: str | None, asked: tuple[tuple[str, tuple[str, ...]], ...], places: tuple[tuple[str, str], ...]
) -> SafeString:
    """The filters beside the name, written once for what they show and the language that is spoken."""
    data = QueryDict(mutable=True)
    for name, values in asked:
        data.setlist(name, list(values))
    form = LibraryFilter(data, places=places)
    context = {"form": form, "region_map": _region_map(language, form.wanted().get("region", ""))}
    return render_to_string("programs/library/_finder_fields.html", context)


@lru_cache(maxsize=FINDERS_KEPT)
def _region_map(language: str | None, region: str) -> str:
    return _map([region] if region else [], [], _region_title(region))


def _minutes(facts: Facts) -> int:
    """About how long three sets take, without warm-up."""
    timed = minutes.timed(
        SETS_TIMED,
        (facts.rep_low + facts.rep_high) / 2,
        facts.rest_s,
        tempo=facts.tempo if facts.rep_unit == "reps" else "",
        implement=facts.implement,
        unilateral=facts.limbs == "one",
        rep_unit=facts.rep_unit,
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


def _alike(exercise: Exercise, practice: Practice) -> list[tuple[Exercise, str]]:
    """The nearest others and in words how they differ: three queries however many, none if no set counts whole."""
    one = _traits(exercise)
    if not one.regions:
        return []
    sharing = ExerciseRegion.objects.filter(region__in=one.regions, quarters=WHOLE_SET).values("exercise_id")
    rows = Exercise.objects.for_practice(practice).shown().filter(pk__in=sharing).exclude(pk=exercise.pk)
    others = {row.pk: row for row in rows.with_facts()}
    nearest = alike(one, map(_traits, others.values()), ALIKE_ROWS)
    return [(others[found.other.pk], _differs(one, found, others[found.other.pk])) for found in nearest]


def _traits(exercise: Exercise) -> Traits:
    return Traits(
        pk=exercise.pk,
        name=exercise.name,
        pattern=exercise.pattern,
        regions=frozenset(row.region for row in exercise.regions.all() if row.quarters == WHOLE_SET),
        implement=exercise.implement,
        angle=exercise.angle,
        grip=exercise.grip,
        limbs=exercise.limbs,
        skill=exercise.skill,
        joints=frozenset(row.joint for row in exercise.joints.all() if row.severity >= CLEARLY),
    )


def _differs(one: Traits, found: Alike, other: Exercise) -> str:
    """How another exercise differs, in words."""
    theirs = found.other
    words = [other.get_pattern_display()] if theirs.pattern != one.pattern else []
    said = {
        "implement": other.get_implement_display(),
        "angle": _("angle: %(angle)s") % {"angle": other.angle or _("none")},
        "grip": _("grip: %(grip)s") % {"grip": other.grip or _("any")},
        "limbs": other.get_limbs_display(),
        "skill": _("skill: %(skill)s") % {"skill": other.get_skill_display()},
    }
    words += [said[name] for name in found.differs if name in said]
    for sentence, codes, names in (
        (_("asks more of: %(names)s"), theirs.joints - one.joints, labels.JOINT_TAGS),
        (_("asks less of: %(names)s"), one.joints - theirs.joints, labels.JOINT_TAGS),
        (_("also whole for: %(names)s"), theirs.regions - one.regions, labels.REGIONS),
        (_("not whole for: %(names)s"), one.regions - theirs.regions, labels.REGIONS),
    ):
        if codes:
            # Not a comma between: some of the names have one.
            words.append(sentence % {"names": _(" and ").join(str(names[code]) for code in sorted(codes))})
    return "; ".join(map(str, words))


def _lacks(exercise: Exercise, place: Placed) -> str:
    """What the place lacks, in words; "" when the exercise can be done there."""
    return ", ".join(
        _("no %(thing)s") % {"thing": _any_kind(kinds)} for kinds in finding.lacking(exercise, place.stations)
    )


urlpatterns = [
    path("library/", library, name="library"),
    path("library/<uuid:public_id>/", exercise, name="exercise"),
]
