"""What a client may do as the library asks it: at each of their places, what a week would be composed with."""

from uuid import UUID

from django.db.models import Q

from clients.clock import today_for
from clients.models import Block, Client, Place
from clients.reads.composing import skill_allowed_for
from coachdesk.practice.models import Practice
from programs.doable import Keeper
from programs.engine import terms
from programs.engine.compose.request import WeekRequest


def _names(practice: Practice) -> list[tuple[str, str]]:
    rows = Client.objects.for_practice(practice).exclude(status=Client.Status.LEFT)
    return [(str(key), name) for key, name in rows.values_list("public_id", "name")]


def _requests(practice: Practice, key: str) -> list[WeekRequest]:
    """Six queries however many places. A client without a place that is open has what they bring along."""
    try:
        client = Client.objects.for_practice(practice).get(public_id=UUID(key))
    except (ValueError, Client.DoesNotExist):
        return []
    today = today_for(client)
    limits = [limit for limit in client.limits.select_related("exercise") if limit.holds_on(today)]
    brought = frozenset(client.items.values_list("kind", flat=True))
    theirs = Q(pk=client.place_id) | Q(owner=client) | Q(blocks__client=client, blocks__state=Block.State.ACTIVE)
    open_now = Q(opens_on=None) | Q(opens_on__lte=today), Q(closes_on=None) | Q(closes_on__gte=today)
    places = Place.objects.for_practice(practice).filter(theirs, *open_now).distinct().prefetch_related("stations")
    stations = [
        frozenset(station.kind for station in place.stations.all() if station.count) | brought for place in places
    ]
    return [
        WeekRequest(
            day_types=(),
            library={},
            experience=client.experience,
            stations=there,
            limits=tuple(terms.Limit(limit.joint, limit.strict, limit.side) for limit in limits if limit.joint),
            excluded=frozenset(limit.exercise.key for limit in limits if limit.exercise is not None),
            skill_allowed=skill_allowed_for(client),
        )
        for there in stations or [brought]
    ]


doable = Keeper(_names, _requests)
