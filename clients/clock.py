"""The client's own day. A session's date is theirs, wherever the coach sits."""

import zoneinfo
from datetime import date, datetime

from django.utils import timezone

from clients.models import Client


def now_for(client: Client) -> datetime:
    """The present moment on the client's clock."""
    return timezone.localtime(timezone.now(), timezone=zoneinfo.ZoneInfo(client.time_zone))


def today_for(client: Client) -> date:
    return now_for(client).date()
