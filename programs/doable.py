"""What a client can do. The library knows nothing of clients: whoever keeps them says so here when the application
starts (see ``clients.apps``), in the terms that a week is composed with, so that the same rule holds for both."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from coachdesk.practice.models import Practice
from programs.catalogue import Catalogue, Demands
from programs.engine.compose.candidates import reasons_against
from programs.engine.compose.request import WeekRequest
from programs.engine.terms import Exercise, JointStress


@dataclass(frozen=True, slots=True)
class Keeper:
    """Who keeps the clients. ``names`` lists a practice's clients as (key, name), in one query; ``requests`` gives
    what one client of the practice may do, a request for each of their places, at a constant number of queries.

    It gives none for a key that is no client of this practice.
    """

    names: Callable[[Practice], list[tuple[str, str]]]
    requests: Callable[[Practice, str], list[WeekRequest]]


_keepers: list[Keeper] = []


def keeps_clients(keeper: Keeper) -> Keeper:
    if keeper not in _keepers:
        _keepers.append(keeper)
    return keeper


def clients_of(practice: Practice) -> list[tuple[str, str]]:
    return [client for keeper in _keepers for client in keeper.names(practice)]


def doable(practice: Practice, key: str, catalogue: Catalogue) -> int:
    """The set of exercises that nothing keeps the client from at one of their places at least."""
    found = 0
    for keeper in _keepers:
        for request in keeper.requests(practice, key):
            found |= _allowed(request, catalogue)
    return found


def _allowed(request: WeekRequest, catalogue: Catalogue) -> int:
    found = catalogue.meeting(lambda demands: not reasons_against(_term(demands), request))
    # The exercises left out by name are asked about by name; all others only once a kind of demand.
    for key in request.excluded:
        at = catalogue.by_key.get(key)
        if at is not None and reasons_against(_term(catalogue.demands_at(at), key), request):
            found &= ~(1 << at)
    return found


@lru_cache(maxsize=4096)
def _term(demands: Demands, key: str = "") -> Exercise:
    """An exercise of which nothing but its demands is told."""
    return Exercise(
        key=key,
        name="",
        pattern="",
        role="",
        regions=(),
        load_entry="none",
        implement=demands.implement,
        needs_all=demands.needs_all,
        needs_one=demands.needs_one,
        skill=demands.skill,
        joints=tuple(JointStress(joint, severity) for joint, severity in demands.joints),
    )
