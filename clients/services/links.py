"""Links for clients: made, printed again, revoked."""

from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet
from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone

from clients.models import CalendarFeed, Client, ClientLink, SheetLink, TrainingSession
from clients.models.links import SHEET_LINK_DAYS_AFTER, client_link_end
from coachdesk.practice import journal
from coachdesk.practice.models import Coach

_OPENED_BY = {ClientLink: "open-client-link", SheetLink: "open-sheet-link", CalendarFeed: "open-calendar-feed"}
LOOPBACK_HOSTS = {"127.0.0.1", "localhost", "[::1]"}


@transaction.atomic
def client_link(client: Client) -> ClientLink:
    """The client's living link, made when there is none; one that ends soon is prolonged.

    One that is over already was found closed, so it stays so and another is made.
    """
    link = ClientLink.objects.filter(client=client, revoked_at=None).first()
    if link is not None and not link.alive:
        link.revoked_at = link.expires_at
        link.save(update_fields=["revoked_at"])
        link = None
    if link is None:
        link = ClientLink(client=client, expires_at=timezone.now() + client_link_end())
        link.seal()
        link.save()
    elif link.expires_at < timezone.now() + client_link_end() / 4:
        link.expires_at = timezone.now() + client_link_end()
        link.save(update_fields=["expires_at"])
    return link


@transaction.atomic
def renew_client_link(client: Client, coach: Coach) -> ClientLink:
    """Revokes the client's link, so that whoever has it sees nothing any more, and makes another."""
    with journal.act(client.practice, coach, "link.renew", about=f"client:{client.public_id}"):
        ClientLink.objects.filter(client=client, revoked_at=None).update(revoked_at=timezone.now())
    return client_link(client)


def may_have_links(client: Client) -> bool:
    """Whoever has left opens nothing any more, and is given no new link."""
    return client.status != Client.Status.LEFT


def close_links(client: Client) -> None:
    """Revokes all that opens this client's pages or dates from outside.

    Never through the journal: an address that was found closed must not open again for whoever kept it, so undoing
    the act around it does not bring it back. A new one is made when it is next asked for.
    """
    links: tuple[QuerySet[Any], ...] = (
        ClientLink.objects.filter(client=client),
        SheetLink.objects.filter(session__block__client=client),
        CalendarFeed.objects.filter(client=client),
    )
    now = timezone.now()
    for rows in links:
        rows.filter(revoked_at=None).update(revoked_at=now)


@transaction.atomic
def sheet_link(session: TrainingSession) -> SheetLink:
    """The one-session link for paper; it ends two weeks after the session's date. One that was revoked stays so: its
    next revision has another token."""
    zone = ZoneInfo(session.block.client.time_zone)
    day = session.planned_on or timezone.now().astimezone(zone).date()
    ends = datetime.combine(day + timedelta(days=SHEET_LINK_DAYS_AFTER + 1), datetime.min.time(), zone)
    link = SheetLink.objects.filter(session=session).first()
    if link is None:
        link = SheetLink(session=session, expires_at=ends)
        link.seal()
        link.save()
    elif link.revoked_at is not None:
        link.revision += 1
        link.revoked_at, link.expires_at = None, ends
        link.seal()
        link.save(update_fields=["revision", "revoked_at", "expires_at", "token_hash"])
    elif link.expires_at != ends:
        link.expires_at = ends
        link.save(update_fields=["expires_at"])
    return link


@transaction.atomic
def calendar_feed(client: Client) -> CalendarFeed:
    """The address for the client's calendar, made when there is none; one that was revoked or is over gets another
    token."""
    ends = timezone.now() + client_link_end()
    feed = CalendarFeed.objects.filter(client=client).first()
    if feed is None:
        feed = CalendarFeed(client=client, expires_at=ends)
    elif not feed.alive:
        feed.revision += 1
        feed.revoked_at = None
    feed.expires_at = ends
    feed.seal()
    feed.save()
    return feed


def close_feed(client: Client) -> None:
    """Revokes the calendar address."""
    CalendarFeed.objects.filter(client=client, revoked_at=None).update(revoked_at=timezone.now())


def address_of(link: ClientLink | SheetLink | CalendarFeed, request: HttpRequest | None = None) -> str:
    """The whole address to hand out: COACHDESK_URL where set, else where this page was asked for."""
    name = _OPENED_BY[type(link)]
    path = reverse(name, args=[link.token()])
    if settings.PUBLIC_URL:
        return f"{settings.PUBLIC_URL}{path}"
    return request.build_absolute_uri(path) if request is not None else f"http://127.0.0.1:8000{path}"


def reach(request: HttpRequest) -> str:
    """Whether a phone can open the links: "phones", "phones_no_offline" (plain http) or "this_machine"."""
    if settings.PUBLIC_URL:
        return "phones" if settings.PUBLIC_URL.startswith("https://") else "phones_no_offline"
    host = request.get_host().rsplit(":", 1)[0]
    if host in LOOPBACK_HOSTS:
        return "this_machine"
    return "phones" if request.is_secure() else "phones_no_offline"
