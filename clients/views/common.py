"""What the coach's views about clients share."""

from urllib.parse import urlsplit

from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme

from clients.models import Client
from coachdesk.practice.access import CoachRequest
from coachdesk.practice.models import JournalEntry


def own_client(request: CoachRequest, public_id: str) -> Client:
    """The practice's client of that id; 404 for anybody else's."""
    clients = Client.objects.for_practice(request.user.practice).select_related("practice", "coach", "place")
    return get_object_or_404(clients, public_id=public_id)


def undo_tag(entry: JournalEntry | None) -> str:
    """The tag of a message that offers to take ``entry`` back."""
    return f"undo:{reverse('undo', args=[entry.public_id])}" if entry is not None else ""


def back_to(request: HttpRequest, fallback: str) -> str:
    """The page of ours that the form names or was on, else ``fallback`` (an address)."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    if not wanted:
        came_from = urlsplit(request.headers.get("Referer", ""))
        wanted = came_from._replace(scheme="", netloc="").geturl() if came_from.netloc == request.get_host() else ""
    if url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure()):
        return wanted
    return fallback
