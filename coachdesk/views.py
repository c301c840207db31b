"""Pages that belong to no app: what is shown when something went wrong, the theme, the worker's pulse."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from coachdesk.practice.access import public
from coachdesk.practice.context import THEMES

YEAR_S = 60 * 60 * 24 * 365


@public
def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    return render(request, "errors/form_expired.html", status=403)


@public
def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "errors/not_found.html", status=404)


@public
def server_error(request: HttpRequest) -> HttpResponse:
    return render(request, "errors/server_error.html", status=500)


def safe_next(request: HttpRequest, fallback: str) -> str:
    """Where the form asked to go on to, if that is a page of ours."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    if url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure()):
        return wanted
    return fallback


@public
@require_POST
def set_theme(request: HttpRequest) -> HttpResponse:
    response = redirect(safe_next(request, "/"))
    theme = request.POST.get("theme", "")
    if theme in THEMES:
        response.set_cookie("theme", theme, max_age=YEAR_S, samesite="Lax", httponly=True, secure=request.is_secure())
    return response
