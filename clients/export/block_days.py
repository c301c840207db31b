"""The days of a client's block as a calendar: for the export, and for the address that a calendar looks at."""

from datetime import datetime

from django.utils.translation import pgettext

from clients.export.icalendar import Event, calendar
from clients.models import Block, Client, TrainingSession

State = TrainingSession.State


def block_days(client: Client, now: datetime) -> bytes:
    """The block that runs, else the last one; what was left out or is on hold has no day.

    Two queries. The client's language must be active; titles say nothing but that there is training.
    """
    numbers = client.blocks.order_by("-number").values_list("pk", "state")
    chosen = next((pk for pk, state in numbers if state == Block.State.ACTIVE), next(iter(numbers), (0,))[0])
    rows = TrainingSession.objects.filter(block=chosen, state__in=(State.PLANNED, State.TRAINED, State.MISSED))
    events = [
        Event(str(public_id), day, start, minutes)
        for public_id, day, start, minutes in rows.order_by("planned_on", "position").values_list(
            "public_id", "planned_on", "start_time", "minutes"
        )
        if day is not None
    ]
    return calendar(events, title=pgettext("calendar", "Training"), zone=client.time_zone, now=now)
