"""What would make a week whole that cannot be filled as it stands, and which limits clash."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from clients.board.known import capital, minutes_words
from clients.board.words import day_name
from clients.cycles import day_of
from clients.models import Draft
from clients.reads.composing import ComposeInputs, draft_inputs
from clients.services.allowances import key_of, open_ways
from programs.engine.compose import WayOut, clashes, given_up
from programs.engine.compose.solver import available, unfillable_sessions
from programs.engine.compose.solver.relax import MINUTES
from programs.engine.terms import Because
from programs.reasons import sentence_of
from programs.reasons.words import listing


@dataclass(frozen=True, slots=True)
class Way:
    """One way out, its steps in words. ``needs_tick``: it loads what is to be spared."""

    key: str
    steps: list[str]
    needs_tick: bool

    @property
    def words(self) -> str:
        return capital(listing(self.steps, pgettext("in a list", "and")))


@dataclass(frozen=True, slots=True)
class Clash:
    """A session that cannot be filled, and the limits that cannot hold together there."""

    session: str
    limits: list[str]


@dataclass(frozen=True, slots=True)
class Whole:
    """``possible``: the week can be filled as things stand, only not around what is there. ``solver`` is False on a
    machine that cannot look for ways."""

    ways: list[Way]
    possible: bool
    solver: bool


def whole_of(draft: Draft) -> Whole:
    """A few tenths of a second: asked for only where something is empty."""
    inputs = draft_inputs(draft)
    if not available():
        return Whole([], False, False)
    names, days = _names(draft, inputs)
    ways = [
        Way(key_of(way), [_words(step, way, inputs, names, days) for step in way.steps], way.needs_tick)
        for way in open_ways(inputs)
    ]
    return Whole(ways, not ways and not unfillable_sessions(inputs.request), True)


def clashes_of(draft: Draft) -> list[Clash]:
    """As long again as the ways: asked for only when the coach wants to know."""
    inputs = draft_inputs(draft)
    if not available():
        return []
    names, _days = _names(draft, inputs)
    return [
        Clash(names[f"{day}:{occurrence}"], [sentence_of(limit, names) for limit in sorted(limits, key=_is_slot)])
        for (day, occurrence), limits in clashes(inputs.request).items()
    ]


def _is_slot(limit: Because) -> bool:
    """What limits comes first, then the slots that it leaves empty."""
    return limit.code == "limit.slot"


def _names(draft: Draft, inputs: ComposeInputs) -> tuple[dict[str, str], dict[str, str]]:
    """Names for sentences, with sessions as "Upper A (Tuesday)", and the sessions' days alone by the same keys."""
    names = inputs.names()
    days = {}
    for row in draft.document["days"]:
        key, on = f"{row['day']}:{row['occurrence']}", day_of(row)
        if key not in names:
            continue
        days[key] = names[key] if on is None else day_name(on, inputs.cycle_days)
        if on is not None:
            names[key] = _("%(session)s (%(day)s)") % {"session": names[key], "day": days[key]}
    return names, days


def _words(step: Because, way: WayOut, inputs: ComposeInputs, names: Mapping[str, str], days: Mapping[str, str]) -> str:
    """More minutes are told with the days that need them: those of sessions that all else given up does not fill."""
    if step.code != MINUTES:
        return sentence_of(step, names)
    others = [other for other in way.steps if other is not step]
    needed = unfillable_sessions(given_up(inputs.request, others))
    listed = [day for key, day in days.items() if key in {f"{name}:{occurrence}" for name, occurrence in needed}]
    if not listed:
        return minutes_words(step)
    return _("%(minutes)s on %(days)s") % {
        "minutes": minutes_words(step),
        "days": listing(listed, pgettext("in a list", "and")),
    }
