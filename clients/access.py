"""Client pages: the link's token is swapped for a signed cookie and leaves the address.

Opening a link changes nothing in the database, as mail scanners follow links.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone, translation

from clients.models import Client, ClientLink, SheetLink
from clients.services import links
from coachdesk.practice.access import mark

COOKIE = "sheet"
SALT = "clients.access"
COOKIE_DAYS = 30


class ClientRequest(HttpRequest):
    """A request after ``client_required``. ``only_session`` is set when a one-sheet link was used."""

    client: Client
    only_session: int | None
    htmx: Any


def find_link(token: str) -> ClientLink | SheetLink | None:
    """The living link of that token, whichever kind; None otherwise."""
    hashed = ClientLink.hash_of(token)
    for model, related in ((ClientLink, "client__practice"), (SheetLink, "session__block__client__practice")):
        link = model.objects.select_related(related).filter(token_hash=hashed).first()
        if link is not None and _opens(link):
            return link
    return None


def _opens(link: ClientLink | SheetLink) -> bool:
    """Whether it is neither closed nor over, and its client has not left."""
    return link.alive and links.may_have_links(client_of(link))


def client_of(link: ClientLink | SheetLink) -> Client:
    return link.session.block.client if isinstance(link, SheetLink) else link.client


def remember(response: HttpResponseBase, link: ClientLink | SheetLink) -> None:
    """Gives the browser the cookie that stands for the link from now on."""
    kind = "s" if isinstance(link, SheetLink) else "c"
    response.set_signed_cookie(
        COOKIE,
        f"{kind}:{link.public_id}:{link.revision}",
        salt=SALT,
        max_age=COOKIE_DAYS * 24 * 60 * 60,
        httponly=True,
        samesite="Lax",
        secure=settings.HOSTED,
    )


def _link_of(request: HttpRequest) -> ClientLink | SheetLink | None:
    try:
        raw = request.get_signed_cookie(COOKIE, salt=SALT, max_age=COOKIE_DAYS * 24 * 60 * 60)
        kind, public_id, revision = (raw or "").split(":")
    except (KeyError, ValueError, signing.BadSignature):
        return None
    if kind == "s":
        sheet_links = SheetLink.objects.select_related("session__block__client__practice")
        sheet = sheet_links.filter(public_id=public_id, revision=revision).first()
        return sheet if sheet is not None and _opens(sheet) else None
    client_links = ClientLink.objects.select_related("client__practice", "client__coach")
    link = client_links.filter(public_id=public_id, revision=revision).first()
    return link if link is not None and _opens(link) else None


def client_required(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """For the client whose link this browser opened; in their language and at their time."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        link = _link_of(request)
        if link is None:
            response: HttpResponseBase = render(request, "clients/link_needed.html", status=403)
            return _private(response)
        client = client_of(link)
        request.client = client  # type: ignore[attr-defined]
        request.only_session = link.session_id if isinstance(link, SheetLink) else None  # type: ignore[attr-defined]
        with translation.override(client.language), timezone.override(client.time_zone):
            response = view(request, *args, **kwargs)
            # A lazily rendered response would be rendered outside the client's language.
            if hasattr(response, "render") and not getattr(response, "is_rendered", True):
                response.render()
        return _private(response)

    return mark(guarded, "client")


def _private(response: HttpResponseBase) -> HttpResponseBase:
    response["Cache-Control"] = "private, no-store"
    response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return response


def lapse(response: HttpResponse) -> None:
    """Takes the cookie away: for a shared tablet, when the person is done."""
    response.delete_cookie(COOKIE)
