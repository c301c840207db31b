"""What happens when a practice is made. The ground floor knows nothing of libraries and clients, so whoever fills
a new practice says so here when the application starts (see ``clients.apps``)."""

from collections.abc import Callable

from coachdesk.practice.models import Coach

_fillers: list[Callable[[Coach, bool], None]] = []


def fills_new_practice(filler: Callable[[Coach, bool], None]) -> Callable[[Coach, bool], None]:
    """Registers a function(owner, with_demo) that is called for each new practice, in order of registration."""
    if filler not in _fillers:
        _fillers.append(filler)
    return filler


def practice_made(owner: Coach, *, with_demo: bool) -> None:
    for filler in _fillers:
        filler(owner, with_demo)
