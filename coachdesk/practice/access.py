"""Who may open a view. Every view carries one mark (coach, owner, client or public); a test finds any without."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import resolve_url

from coachdesk.practice.models import Coach

View = Callable[..., HttpResponseBase]


class CoachRequest(HttpRequest):
    """A request after ``coach_required``: the user is a coach and ``htmx`` says whether a fragment is wanted."""

    user: Coach
    htmx: Any


def mark(view: View, access: str) -> View:
    view.access = access  # type: ignore[attr-defined]
    return view


def coach_required(view: View) -> View:
    """For signed-in coaches. A fragment asked for after the session ended sends the whole page to sign-in."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.user.is_authenticated:
            return view(request, *args, **kwargs)
        if getattr(request, "htmx", False):
            response = HttpResponse(status=204)
            response["HX-Redirect"] = resolve_url(settings.LOGIN_URL)
            return response
        return redirect_to_login(request.get_full_path(), resolve_url(settings.LOGIN_URL))

    return mark(guarded, "coach")


def owner_required(view: View) -> View:
    """For the owner of the practice; other coaches get the same 404 as a stranger."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if not request.user.is_owner:  # type: ignore[union-attr]
            raise Http404
        return view(request, *args, **kwargs)

    return mark(coach_required(guarded), "owner")


def health_required(view: View) -> View:
    """For coaches who may read health answers."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if not request.user.sees_health:  # type: ignore[union-attr]
            raise Http404
        return view(request, *args, **kwargs)

    return mark(coach_required(guarded), "health")


def public(view: View) -> View:
    """For anybody: sign-in, first set-up, the page that swaps a link for a cookie."""
    return mark(view, "public")
