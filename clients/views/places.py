"""Where clients train: places, their stations and the loads that are really there."""

from typing import Any

from django.contrib import messages
from django.db.models import Prefetch
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.forms.fields import problems, unchecked, with_more_rows
from clients.forms.places import (
    LOADS_FORMS,
    MACHINES,
    ApparatusForm,
    AwayForm,
    BarRows,
    PlaceForm,
    PlateRows,
    StationForm,
    way_of,
)
from clients.models import Place, Station, StationAbsence
from clients.reads.places import mistaken_words, offers_of, places_with_counts, plates_words, weight
from clients.reads.racks import PlaceLoads
from clients.services import places
from clients.starting_sets import SETS
from clients.views.common import undo_tag
from coachdesk.practice.access import CoachRequest, coach_required
from programs import labels
from programs.engine import vocabulary

TABLES = ("bars", "plates")


def own_place(request: CoachRequest, public_id: str) -> Place:
    own = Place.objects.for_practice(request.user.practice).select_related("practice", "owner")
    return get_object_or_404(own, public_id=public_id)


def own_station(place: Place, station_id: str) -> Station:
    return get_object_or_404(Station.objects.select_related("place__practice"), place=place, public_id=station_id)


@coach_required
@require_safe
def place_list(request: CoachRequest) -> HttpResponse:
    context = {"places": places_with_counts(request.user.practice)}
    return render(request, "clients/places.html", context)


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def place_new(request: CoachRequest) -> HttpResponse:
    place = Place(practice=request.user.practice, unit=request.user.practice.unit)
    form = PlaceForm(request.POST or None, instance=place, practice=request.user.practice)
    if request.method == "POST" and form.is_valid():
        entry = places.save_place(form.instance, request.user, form.cleaned_data)
        messages.success(request, _("%s added.") % form.instance.name, extra_tags=undo_tag(entry))
        return redirect("place", form.instance.public_id)
    return render(request, "clients/place_form.html", {"form": form, "here": None}, status=_status(form))


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def place_change(request: CoachRequest, public_id: str) -> HttpResponse:
    place = own_place(request, public_id)
    form = PlaceForm(request.POST or None, instance=own_place(request, public_id), practice=place.practice)
    if request.method == "POST" and form.is_valid():
        entry = places.save_place(place, request.user, form.cleaned_data)
        if entry is not None:
            messages.success(request, _("Saved: %s.") % form.cleaned_data["name"], extra_tags=undo_tag(entry))
        return redirect("place", place.public_id)
    return render(request, "clients/place_form.html", {"form": form, "here": place}, status=_status(form))


@coach_required
@require_safe
def place(request: CoachRequest, public_id: str) -> HttpResponse:
    """One place: each station with what can be loaded on it, and what is just there."""
    return _show_place(request, own_place(request, public_id))


def _show_place(request: CoachRequest, place: Place, apparatus: ApparatusForm | None = None) -> HttpResponse:
    today = timezone.localdate()
    loads = PlaceLoads(place, None, today)
    absences = Prefetch("absences", StationAbsence.objects.filter(day__gte=today).order_by("day"))
    stations = list(place.stations.prefetch_related(absences))
    loaded = []
    gone = []
    for station in stations:
        station.place = place
        if station.kind in vocabulary.APPARATUS:
            continue
        if station.count == 0:
            gone.append({"station": station, "kind": labels.STATIONS[station.kind]})
            continue
        away = [_away_words(absence) for absence in station.absences.all() if absence.day == today]
        loaded.append(
            {
                "station": station,
                "kind": labels.STATIONS[station.kind],
                "offers": offers_of(station, loads),
                "plates": plates_words(station),
                "mistaken": mistaken_words(station),
                "away": away[0] if away else "",
            }
        )
    here = [station.kind for station in stations if station.kind in vocabulary.APPARATUS and station.count > 0]
    present = {station.kind for station in stations}
    context = {
        "here": place,
        "today": today,
        "loaded": loaded,
        "gone": gone,
        "apparatus": apparatus or ApparatusForm(initial={"here": here}),
        "kinds": labels.choices(vocabulary.LOADED_STATIONS),
        "sets": [
            {"key": key, "title": ready.title, "summary": ready.summary, "adds": _adds(ready, present)}
            for key, ready in SETS.items()
        ],
        "clients": list(place.clients.order_by("name").only("name", "public_id")),
    }
    return render(request, "clients/place.html", context, status=422 if apparatus is not None else 200)


def _adds(ready: Any, present: set[str]) -> str:
    count = len([kind for kind in (*ready.loaded, *ready.apparatus) if kind not in present])
    return ngettext("%d station", "%d stations", count) % count if count else ""


def _away_words(absence: StationAbsence) -> str:
    if not absence.plates:
        return _("not here today")
    which = ", ".join(f"{weight(row['weight'], row['unit'])} × {row['count']}" for row in absence.plates)
    return _("not here today: %s") % which


@coach_required
@require_POST
def place_fill(request: CoachRequest, public_id: str, key: str) -> HttpResponse:
    """One click: the stations of a ready-made set, to be corrected afterwards."""
    place = own_place(request, public_id)
    if key not in SETS:
        raise Http404
    entry = places.fill(place, request.user, SETS[key])
    if entry is not None:
        count = len(entry.rows)
        words = ngettext("%d station added.", "%d stations added.", count) % count
        messages.success(request, words, extra_tags=undo_tag(entry))
    return redirect("place", place.public_id)


@coach_required
@require_POST
def place_apparatus(request: CoachRequest, public_id: str) -> HttpResponse:
    """What only has to be there."""
    place = own_place(request, public_id)
    form = ApparatusForm(request.POST)
    if not form.is_valid():
        return _show_place(request, place, form)
    entry = places.set_apparatus(place, request.user, form.cleaned_data["here"])
    if entry is not None:
        messages.success(request, _("Saved: what is just there."), extra_tags=undo_tag(entry))
    return redirect("place", place.public_id)


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def station_new(request: CoachRequest, public_id: str) -> HttpResponse:
    """A station of the kind named in the address; its form fits the loads of that kind."""
    place = own_place(request, public_id)
    kind = request.GET.get("kind", "")
    if kind not in vocabulary.LOADED_STATIONS:
        raise Http404
    return _station_form(request, Station(place=place, kind=kind, unit=place.unit))


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def station(request: CoachRequest, public_id: str, station_id: str) -> HttpResponse:
    place = own_place(request, public_id)
    return _station_form(request, own_station(place, station_id))


def _station_form(request: CoachRequest, station: Station) -> HttpResponse:
    way = way_of(station.kind, station.loads, request.GET.get("way", ""))
    data: Any = request.POST if request.method == "POST" else None
    more = data is not None and data.get("go") == "rows"
    if more:
        data = with_more_rows(data, TABLES)
    forms = _station_forms(station, way, data)
    if more:
        for form in forms.values():
            unchecked(form)
    elif data is not None:
        held = [form.is_valid() for form in forms.values()]
        if all(held) and _can_be_loaded(forms, way):
            return _save_station(request, station, forms, way)
    context = {
        **forms,
        "problems": problems(forms.values()),
        "here": station.place,
        "station": station,
        "kind": labels.STATIONS[station.kind],
        "way": way,
        "other_way": {"plates": "stack", "stack": "plates"}.get(way, "") if station.kind in MACHINES else "",
        "away_form": AwayForm(station=station, initial={"day": timezone.localdate()})
        if not station._state.adding
        else None,
        "absences": _coming_absences(station),
    }
    return render(request, "clients/station.html", context, status=422 if data is not None and not more else 200)


def _station_forms(station: Station, way: str, data: Any) -> dict[str, Any]:
    loads = station.loads if station.loads and way == way_of(station.kind, station.loads) else {}
    initial = {"name": station.name, "count": station.count, "note": station.note}
    forms: dict[str, Any] = {"form": StationForm(data, initial=initial)}
    if not way:
        return forms
    class_ = LOADS_FORMS[way]
    forms["loads_form"] = class_(data, initial={"unit": station.unit, **class_.initial_of(loads)})
    if way == "plates":
        kwargs = {"unit": station.unit}
        bars = [dict(bar) for bar in loads.get("bars", [])]
        plates = [dict(plate) for plate in loads.get("plates", [])]
        forms["bars"] = BarRows(data, initial=bars, prefix="bars", form_kwargs=kwargs)
        forms["plates"] = PlateRows(data, initial=plates, prefix="plates", form_kwargs=kwargs)
    return forms


def _can_be_loaded(forms: dict[str, Any], way: str) -> bool:
    """A bar rack needs a bar or plates: with neither there is nothing to lift."""
    if way == "plates" and not forms["bars"].filled and not forms["plates"].filled:
        forms["loads_form"].add_error(None, _("Write at least one bar or one size of plate."))
        return False
    return True


def _save_station(request: CoachRequest, station: Station, forms: dict[str, Any], way: str) -> HttpResponse:
    values: dict[str, Any] = dict(forms["form"].cleaned_data)
    if way:
        values["loads"] = forms["loads_form"].loads
        values["unit"] = forms["loads_form"].cleaned_data.get("unit") or station.unit
    if way == "plates":
        values["loads"]["bars"] = [row.bar for row in forms["bars"].filled]
        values["loads"]["plates"] = [row.plate for row in forms["plates"].filled]
    entry = places.save_station(station, request.user, values)
    if entry is not None:
        messages.success(request, _("Saved: %s.") % labels.STATIONS[station.kind], extra_tags=undo_tag(entry))
    return redirect("place", station.place.public_id)


def _coming_absences(station: Station) -> list[dict[str, Any]]:
    if station._state.adding:
        return []
    rows = station.absences.filter(day__gte=timezone.localdate()).order_by("day")
    return [
        {
            "day": row.day,
            "plates": ", ".join(f"{weight(one['weight'], one['unit'])} × {one['count']}" for one in row.plates),
        }
        for row in rows
    ]


@coach_required
@require_POST
def station_remove(request: CoachRequest, public_id: str, station_id: str) -> HttpResponse:
    place = own_place(request, public_id)
    station = own_station(place, station_id)
    entry = places.remove_station(station, request.user)
    words = _("%s is no longer there.") % str(labels.STATIONS[station.kind]).capitalize()
    messages.success(request, words, extra_tags=undo_tag(entry))
    return redirect("place", place.public_id)


@coach_required
@require_POST
def station_away(request: CoachRequest, public_id: str, station_id: str) -> HttpResponse:
    """Not here on a day: the whole station or some of its plates."""
    place = own_place(request, public_id)
    station = own_station(place, station_id)
    form = AwayForm(request.POST, station=station)
    if not form.is_valid():
        context = {"here": place, "station": station, "kind": labels.STATIONS[station.kind], "away_form": form}
        return render(request, "clients/station_away.html", context, status=422)
    entry = places.set_away(station, request.user, form.cleaned_data["day"], form.cleaned_data.get("plates") or [])
    if entry is not None:
        messages.success(request, _("Noted for that day. The place itself stays as it is."), extra_tags=undo_tag(entry))
    return redirect("place", place.public_id)


@coach_required
@require_POST
def station_back(request: CoachRequest, public_id: str, station_id: str) -> HttpResponse:
    """It is here after all."""
    place = own_place(request, public_id)
    station = own_station(place, station_id)
    form = AwayForm({"day": request.POST.get("day")}, station=station)
    if not form.is_valid():
        raise Http404
    entry = places.set_back(station, request.user, form.cleaned_data["day"])
    if entry is not None:
        messages.success(request, _("It counts as there again."), extra_tags=undo_tag(entry))
    return redirect("place", place.public_id)


def _status(form: Any) -> int:
    return 422 if form.is_bound else 200


urlpatterns = [
    path("places/", place_list, name="places"),
    path("places/new/", place_new, name="place-new"),
    path("places/<uuid:public_id>/", place, name="place"),
    path("places/<uuid:public_id>/change/", place_change, name="place-change"),
    path("places/<uuid:public_id>/fill/<slug:key>/", place_fill, name="place-fill"),
    path("places/<uuid:public_id>/just-there/", place_apparatus, name="place-apparatus"),
    path("places/<uuid:public_id>/stations/new/", station_new, name="station-new"),
    path("places/<uuid:public_id>/stations/<uuid:station_id>/", station, name="station"),
    path("places/<uuid:public_id>/stations/<uuid:station_id>/remove/", station_remove, name="station-remove"),
    path("places/<uuid:public_id>/stations/<uuid:station_id>/away/", station_away, name="station-away"),
    path("places/<uuid:public_id>/stations/<uuid:station_id>/back/", station_back, name="station-back"),
]
