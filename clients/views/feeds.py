"""The address that a client's calendar looks at: days and hours of their sessions, and nothing of what is trained."""

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import path
from django.utils import translation
from django.views.decorators.http import require_safe

from clients.clock import now_for
from clients.export.block_days import block_days
from clients.models import CalendarFeed
from clients.services.links import may_have_links
from coachdesk.practice import throttle
from coachdesk.practice.access import public

WRONG_TOKENS, WRONG_TOKENS_WINDOW_S = 20, 15 * 60


@public
@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """The calendar of whose address it is; 404 once that is closed, over, or of somebody who has left.

    Only tokens that never were one are counted: a calendar asks again and again, also at an address that was closed.
    """
    address = request.META.get("REMOTE_ADDR", "")
    if throttle.exceeded("calendar-feed", address, WRONG_TOKENS, WRONG_TOKENS_WINDOW_S):
        return HttpResponse(status=429)
    feeds = CalendarFeed.objects.select_related("client")
    feed = feeds.filter(token_hash=CalendarFeed.hash_of(token)).first()
    if feed is None:
        throttle.count("calendar-feed", address, WRONG_TOKENS_WINDOW_S)
        raise Http404
    if not feed.alive or not may_have_links(feed.client):
        raise Http404
    with translation.override(feed.client.language):
        content = block_days(feed.client, now_for(feed.client))
    response = HttpResponse(content, content_type="text/calendar; charset=utf-8")
    response["Cache-Control"] = "private, no-store"
    response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return response


urlpatterns = [path("d/<str:token>/days.ics", calendar_feed, name="open-calendar-feed")]
