"""Finding an exercise in the library: by words, by filters, on the body."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import path
from django.utils.cache import patch_vary_headers
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from coachdesk.practice.access import CoachRequest, coach_required
from programs import labels
from programs.catalogue import Catalogue, Listed, catalogue_of
from programs.doable import clients_of, doable
from programs.drawings.bodymap import body_map
from programs.drawings.bodymap_choice import area_of, shapes_of, targets_of
from programs.engine.vocabulary import GROUP_OF_REGION, GROUPS
from programs.library_filter import LibraryFilter
from programs.library_rows import SETS_TIMED, rows_of
from programs.models import FavouriteExercise
from programs.placed import Placed, places_of

PAGE_ROWS = 50
PAGE_MAP_MM = 80
FINDERS_KEPT = 256
Names = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Found:
    """What answers to all that is wanted, what the words were read as where typing mistakes were forgiven, and how
    many more there are that only the chosen client keeps out."""

    listed: Listed
    read_as: str = ""
    left_out: int = 0


@coach_required
@require_safe
def library(request: CoachRequest) -> HttpResponse:
    """The practice's exercises, by what is asked of them. A fragment for htmx, the same page without."""
    practice = request.user.practice
    places, clients = places_of(practice), tuple(clients_of(practice))
    named = tuple((place.key, place.name) for place in places)
    form = LibraryFilter(request.GET, places=named, clients=clients)
    wanted = form.wanted()
    catalogue = catalogue_of(practice)
    found = _found(request, catalogue, wanted, places)
    page = Paginator(found.listed, PAGE_ROWS).get_page(request.GET.get("page"))
    shown = list(page.object_list)
    favourites = request.user.favourites.filter(exercise__in=shown)
    here = _address(request)
    context = {
        "form": form,
        "wanted": wanted,
        "page": page,
        "rows": rows_of(shown, frozenset(favourites.values_list("exercise_id", flat=True))),
        "sets_timed": SETS_TIMED,
        "any": bool(catalogue.pks),
        "filters_on": _filters_on(form, wanted),
        "read_as": found.read_as,
        "left_out": found.left_out,
        "client": dict(clients).get(wanted.get("client", "")),
        "here": here,
    }
    partly = bool(request.htmx) and not request.htmx.history_restore_request
    if partly:
        context["region_map"] = _region_map(get_language(), wanted.get("region", ""))
    else:
        asked = tuple((name, tuple(request.GET.getlist(name))) for name in form.fields if name != "q")
        context["finder_fields"] = _finder_fields(get_language(), asked, named, clients)
    response = render(request, "programs/library/_found.html" if partly else "programs/library/library.html", context)
    patch_vary_headers(response, ["HX-Request"])
    if partly:
        response["HX-Push-Url"] = here
    return response


def _found(request: CoachRequest, catalogue: Catalogue, wanted: dict[str, Any], places: list[Placed]) -> Found:
    """Best answers to the words first, of those the greatest share in the group or region, then by name."""
    within = listed = catalogue.everything if "hidden" in wanted else catalogue.shown
    for kind in ("pattern", "implement"):
        if kind in wanted:
            within &= catalogue.having(kind, wanted[kind])
    if "skill" in wanted:
        within &= catalogue.up_to_skill(wanted["skill"])
    for joint in wanted.get("spare", ()):
        within &= ~catalogue.having("joint", joint)
    if "favourites" in wanted:
        mine = FavouriteExercise.objects.filter(coach=request.user)
        within &= catalogue.of_pks(mine.values_list("exercise_id", flat=True))
    if "place" in wanted:
        there = next(place.stations for place in places if place.key == wanted["place"])
        within &= catalogue.at_stations(there)
    sets: list[int] = [within]
    for kind in ("region", "group"):
        if kind in wanted:
            sets = _by(sets, catalogue.counting_for(f"{kind}:{wanted[kind]}"))
    read_as = ""
    if "q" in wanted:
        answer = catalogue.answering(wanted["q"], listed)
        sets, read_as = _by(answer.sets, sets), answer.read_as
    if "client" not in wanted:
        return Found(catalogue.listed(sets), read_as)
    can = doable(request.user.practice, wanted["client"], catalogue)
    left_out = sum((each & ~can).bit_count() for each in sets)
    return Found(catalogue.listed(each & can for each in sets), read_as, left_out)


def _filters_on(form: LibraryFilter, wanted: dict[str, Any]) -> list[str]:
    """The chosen filters in words, in the order they stand in."""
    words = []
    for name in form.fields:
        if name == "q" or name not in wanted:
            continue
        field: Any = form.fields[name]
        if wanted[name] is True:
            words.append(str(field.label))
            continue
        said = {code: word for codes in field.choices for code, word in _within(codes)}
        chosen = wanted[name] if isinstance(wanted[name], list) else [wanted[name]]
        sentence = _("spare %(name)s") if name == "spare" else "%(name)s"
        words += [sentence % {"name": said[code]} for code in chosen]
    return words


def _within(choice: tuple[Any, Any]) -> list[tuple[Any, Any]]:
    """A choice, or those of a group of choices."""
    return list(choice[1]) if isinstance(choice[1], list) else [choice]


def _by(first: Sequence[int], then: Sequence[int]) -> list[int]:
    """Ordered by the first sets and within each by the others; what is not in both is left out."""
    return [one & other for one in first for other in then]


@lru_cache(maxsize=FINDERS_KEPT)
def _finder_fields(
    language: str | None, asked: tuple[tuple[str, tuple[str, ...]], ...], places: Names, clients: Names
) -> SafeString:
    """The filters beside the name, written once for what they show and the language that is spoken."""
    data = QueryDict(mutable=True)
    for name, values in asked:
        data.setlist(name, list(values))
    form = LibraryFilter(data, places=places, clients=clients)
    ids = {str(choice.data["value"]): choice.id_for_label for choice in form["group"]}
    context = {
        "form": form,
        "region_map": _region_map(language, form.wanted().get("region", "")),
        "targets": [(ids[group], group, labels.GROUPS[group], drawn) for group, drawn in _targets()],
        "parts": [(ids[group], group, labels.GROUPS[group], drawn) for group, drawn in _parts()],
    }
    return render_to_string("programs/library/_finder_fields.html", context)


def _regions_of(group: str) -> tuple[str, ...]:
    return tuple(region for region, own in GROUP_OF_REGION.items() if own == group)


def _targets() -> Iterator[tuple[str, SafeString]]:
    """Boxes to meet with a finger, the largest lowest."""
    for group in sorted(GROUPS, key=lambda group: -area_of(_regions_of(group))):
        yield group, mark_safe(targets_of(_regions_of(group)))  # noqa: S308  coordinates only


def _parts() -> Iterator[tuple[str, SafeString]]:
    for group in GROUPS:
        yield group, mark_safe(shapes_of(_regions_of(group)))  # noqa: S308  coordinates only


@lru_cache(maxsize=FINDERS_KEPT)
def _region_map(language: str | None, region: str) -> SafeString:
    title = _("Front and back of the body, no region chosen")
    if region:
        title = _("Front and back of the body, chosen: %(name)s") % {"name": labels.REGIONS[region]}
    drawn = body_map([region] if region else [], [], height_mm=PAGE_MAP_MM, title=title)
    return mark_safe(drawn)  # noqa: S308  escapes its title


def _address(request: CoachRequest) -> str:
    """This page's address without empty values, to stand in the browser's bar."""
    asked = request.GET.copy()
    for name in list(asked):
        asked.setlist(name, [value for value in asked.getlist(name) if value])
        if not asked.getlist(name):
            del asked[name]
    return f"{request.path}?{asked.urlencode()}" if asked else request.path


urlpatterns = [path("library/", library, name="library")]
