"""The client's pages behind a private link: the list, a sheet, one exercise at a time.

Opening changes nothing. Every form works without script; with it the page keeps what was typed on the phone and
sends it when it can, to the same addresses, and is answered in JSON.
"""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.dateparse import parse_date
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET, require_POST

from clients import receiving
from clients.access import ClientRequest, client_required, find_link, lapse, remember
from clients.clock import today_for
from clients.models import LoggedSet, SheetLink
from clients.phone import page
from clients.phone.forms import SetForm
from clients.phone.rows import TRIES_FROM
from clients.reads.phone import Sheet, versions_for, week_of
from clients.services.logs import reviewed_later
from coachdesk.practice import throttle
from coachdesk.practice.access import public
from programs.models import Exercise, Photo
from programs.views.photos import photo_response

WRONG_LINKS, WRONG_LINKS_WINDOW_S = 20, 15 * 60


@public
@require_GET
def open_link(request: HttpRequest, token: str) -> HttpResponse:
    """Swaps the token of an address for a cookie. Only wrong tokens are counted."""
    address = request.META.get("REMOTE_ADDR", "")
    if throttle.exceeded("client-link", address, WRONG_LINKS, WRONG_LINKS_WINDOW_S):
        return _unlinked(request, 429, too_many=True)
    link = find_link(token)
    if link is None:
        throttle.count("client-link", address, WRONG_LINKS_WINDOW_S)
        return _unlinked(request, 404)
    if isinstance(link, SheetLink):
        version = link.session.versions.order_by("-number").first()
        if version is None:
            return _unlinked(request, 404)
        response = redirect("sheet", version.public_id)
    else:
        response = redirect("today")
    remember(response, link)
    response["Cache-Control"] = "private, no-store"
    response["Referrer-Policy"] = "no-referrer"
    return response


def _unlinked(request: HttpRequest, status: int, *, too_many: bool = False) -> HttpResponse:
    response = render(request, "clients/link_needed.html", {"too_many": too_many}, status=status)
    response["Cache-Control"] = "private, no-store"
    response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return response


@client_required
@require_POST
def leave(request: ClientRequest) -> HttpResponse:
    """For a phone or tablet that others use too: nothing of this client stays in the browser."""
    response = redirect("link-closed")
    lapse(response)
    response["Clear-Site-Data"] = '"cache"'
    return response


@public
@require_GET
def link_closed(request: HttpRequest) -> HttpResponse:
    return render(request, "clients/link_closed.html")


@client_required
@require_GET
@ensure_csrf_cookie
def today(request: ClientRequest) -> HttpResponse:
    """The week: today's session first, then the others and what was done."""
    if request.only_session is not None:
        version = versions_for(request).order_by("-number").first()
        if version is None:
            raise Http404
        return redirect("sheet", version.public_id)
    week = week_of(request.client, today_for(request.client))
    context = {"week": week, "owner": request.client.public_id, "rendered": page.stamp(), "words": page.words()}
    return render(request, "clients/phone/today.html", context)


def sheet_or_404(request: ClientRequest, public_id: Any) -> Sheet:
    return Sheet(get_object_or_404(versions_for(request), public_id=public_id))


@client_required
@require_GET
@ensure_csrf_cookie
def sheet(request: ClientRequest, public_id: Any) -> HttpResponse:
    """The overview of one session."""
    found = sheet_or_404(request, public_id)
    return render(request, "clients/phone/sheet.html", page.overview(found, _day(request)))


@client_required
@require_GET
def photo(request: ClientRequest, public_id: Any, number: int, photo_id: Any) -> HttpResponse:
    """The picture that the exercise of a line, or a swap agreed for it, shows now."""
    wanted = sheet_or_404(request, public_id).version.line(number)
    if wanted["free"]:
        raise Http404
    keys = [wanted["exercise"]["id"], *(swap["exercise"]["id"] for swap in wanted["swaps"])]
    shown = Exercise.objects.for_practice(request.client.practice).filter(public_id__in=keys).values("photo")
    rows = Photo.objects.filter(pk__in=shown).exclude(image=b"")
    return photo_response(get_object_or_404(rows, public_id=photo_id))


@client_required
@require_GET
@ensure_csrf_cookie
def line(request: ClientRequest, public_id: Any, number: int) -> HttpResponse:
    """Log mode: one exercise."""
    found = sheet_or_404(request, public_id)
    wanted = found.version.line(number)
    return _line_page(request, found, wanted)


def _line_page(
    request: ClientRequest, found: Sheet, wanted: dict[str, Any], form: SetForm | None = None, status: int = 200
) -> HttpResponse:
    if wanted["free"]:
        return render(request, "clients/phone/free_line.html", page.free_line(found, wanted), status=status)
    asked = request.GET.get("set", "")
    context = page.line(
        found,
        wanted,
        chosen=int(asked) if asked.isdecimal() else None,
        swap=request.GET.get("swap", ""),
        day=_day(request),
        anyway="anyway" in request.GET,
        form=form,
    )
    context["own"] = (
        Exercise.objects.for_practice(request.client.practice)
        .with_photo()
        .filter(public_id=context["exercise"]["id"])
        .first()
    )
    return render(request, "clients/phone/line.html", context, status=status)


def _day(request: HttpRequest) -> str:
    """The day a late log is for, as it is carried from page to page; "" for now."""
    text = request.GET.get("day") or request.POST.get("day") or ""
    try:
        return text if parse_date(text) else ""
    except ValueError:
        return ""


def wants_json(request: HttpRequest) -> bool:
    return request.headers.get("Accept", "").startswith("application/json")


@client_required
@require_POST
def log_set(request: ClientRequest, public_id: Any, number: int, set_number: int) -> HttpResponse:
    """Receives one set. The same key again changes nothing; an older version's sets are received too."""
    found = sheet_or_404(request, public_id)
    wanted = found.version.line(number)
    if wanted["free"] or not 1 <= set_number <= TRIES_FROM:
        raise Http404
    state = found.state(wanted)
    # A known key is an edit or a repeat: it is no new try of a load.
    known = LoggedSet.objects.for_client(request.client).filter(key=request.POST.get("key", "")).first()
    finding = known is None and state.finding
    form = SetForm(
        request.POST,
        client=request.client,
        line=wanted,
        place_unit=found.document["place"]["unit"],
        finding=finding,
    )
    if not form.is_valid():
        if wants_json(request):
            return JsonResponse({"errors": {name: list(text) for name, text in form.errors.items()}}, status=422)
        form.set_number = set_number  # type: ignore[attr-defined]
        return _line_page(request, found, wanted, form, status=422)
    kind, number_kept = _kind_of(wanted, state, form, set_number, known, finding)
    swapped = form.swapped
    exercise = (
        get_object_or_404(Exercise.objects.for_practice(request.client.practice), public_id=swapped["id"])
        if swapped
        else None
    )
    received = receiving.take_set(
        request.client,
        found.version,
        number,
        number_kept,
        form.values(kind),
        key=form.cleaned_data["key"],
        arrival=form.arrival(exercise),
    )
    reviewed_later(request.client.pk)
    if wants_json(request):
        return JsonResponse(
            {"outcome": received.outcome, "asked": received.asked, "try": kind == "warm_up", "at": page.stamp()}
        )
    query = {name: value for name, value in (("day", _day(request)), ("swap", request.POST.get("exercise"))) if value}
    return redirect(reverse("sheet-line", args=[public_id, number], query=query, fragment="log"))


def _kind_of(
    wanted: dict[str, Any],
    state: Any,
    form: SetForm,
    set_number: int,
    known: LoggedSet | None,
    finding: bool,
) -> tuple[str, int]:
    """The kind of set and the number it is kept under. While a load is being found, a set that left enough in
    reserve was a try; the one that did not, or the last there is, is the first working set."""
    if known is not None:
        return known.kind, known.number or set_number
    if finding:
        procedure = wanted["finding"]
        last_try = state.tries_done + 1 >= len(procedure["loads"])
        if form.cleaned_data["rir"] >= procedure["go_on"] and not last_try:
            return "warm_up", TRIES_FROM + 1 + state.tries_done
    target = next((row for row in wanted["sets"] if row["number"] == set_number), None)
    return (target["kind"] if target else "work"), set_number


@client_required
@require_POST
def undo_set(request: ClientRequest, public_id: Any, number: int) -> HttpResponse:
    """Takes back the set of that key; without a key the line's last."""
    found = sheet_or_404(request, public_id)
    wanted = found.version.line(number)
    key = request.POST.get("key", "")
    if not key:
        logged = found.logged.get(wanted["number"], [])
        key = logged[-1].key if logged else ""
    if key:
        receiving.take_back(request.client, key[:64])
        reviewed_later(request.client.pk)
    if wants_json(request):
        return JsonResponse({"outcome": "taken_back", "at": page.stamp()})
    return redirect(reverse("sheet-line", args=[public_id, number], fragment="log"))


@client_required
@require_GET
def sent(request: ClientRequest) -> HttpResponse:
    """Whether the server can be reached and the link still holds: asked before a queue is sent."""
    return JsonResponse({"owner": str(request.client.public_id), "at": page.stamp()})


urlpatterns = [
    path("c/<str:token>/", open_link, name="open-client-link"),
    path("s/<str:token>/", open_link, name="open-sheet-link"),
    path("today/", today, name="today"),
    path("today/leave/", leave, name="leave"),
    path("today/closed/", link_closed, name="link-closed"),
    path("today/ready/", sent, name="ready"),
    path("sheet/<uuid:public_id>/", sheet, name="sheet"),
    path("sheet/<uuid:public_id>/<int:number>/", line, name="sheet-line"),
    path("sheet/<uuid:public_id>/<int:number>/photos/<uuid:photo_id>/", photo, name="sheet-photo"),
    path("sheet/<uuid:public_id>/<int:number>/set/<int:set_number>/", log_set, name="log-set"),
    path("sheet/<uuid:public_id>/<int:number>/undo/", undo_set, name="undo-set"),
]
