"""The places an exercise can be done at. The library knows nothing of places: whoever keeps them says so here when
the application starts (see ``clients.apps``)."""

from collections.abc import Callable
from dataclasses import dataclass

from coachdesk.practice.models import Practice
from programs.models import Exercise


@dataclass(frozen=True, slots=True)
class Placed:
    """A place as the library needs it: its station kinds, and in words what it offers for an exercise's implement."""

    key: str
    name: str
    stations: frozenset[str]
    offers: Callable[[Exercise], str]


Keeper = Callable[[Practice], list[Placed]]
_keepers: list[Keeper] = []


def keeps_places(keeper: Keeper) -> Keeper:
    """Registers a function that lists a practice's places by name, at a constant number of queries."""
    if keeper not in _keepers:
        _keepers.append(keeper)
    return keeper


def places_of(practice: Practice) -> list[Placed]:
    return [place for keeper in _keepers for place in keeper(practice)]
