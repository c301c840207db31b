"""What other weights would change in a template's week: both weeks composed, and the picks that differ."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.utils.translation import gettext as _

from programs import labels
from programs.engine import terms
from programs.engine.compose import WeekRequest, Weights
from programs.engine.compose.evaluate import Rules
from programs.engine.compose.outlook import in_a_full_gym
from programs.engine.compose.week import best_picks
from programs.engine.terms import Exercise
from programs.models import Outline
from programs.preview import names_of
from programs.reads import day_types_of
from programs.reasons import words

Places = dict[tuple[str, int], terms.Pick]


@dataclass(frozen=True, slots=True)
class Changed:
    """One slot on one day: what stands there now and what would."""

    session: str
    slot: str
    now: str
    then: str


@dataclass(frozen=True, slots=True)
class Effect:
    """``places`` is how many there are in the week; ``proven`` whether both weeks are proven the best."""

    outline: Outline
    level: Any
    changes: list[Changed]
    places: int
    proven: bool
    same_weights: bool


def effect_of(outline: Outline, level: str, library: Mapping[str, Exercise], now: Weights, then: Weights) -> Effect:
    """The week of one experience in a gym that has everything, by both weights; ``outline`` is from ``with_week()``.

    Two weeks are composed, which takes up to a few seconds of a large template.
    """
    request = in_a_full_gym(day_types_of(outline, level), library, level, outline.cycle_days, now)
    before, first_proven = _composed(request)
    after, then_proven = (before, first_proven) if now == then else _composed(replace(request, weights=then))
    names = {key: exercise.name for key, exercise in library.items()} | names_of(outline)
    changes = []
    places = 0
    for day in request.day_types:
        for occurrence in range(day.occurrences):
            for slot in day.slots:
                places += 1
                place = slot.key, occurrence
                if _stands(before, place) != _stands(after, place):
                    session = names[f"{day.key}:{occurrence}"]
                    now_words, then_words = (_words(picks.get(place), names) for picks in (before, after))
                    changes.append(Changed(session, slot.title, now_words, then_words))
    proven = first_proven and then_proven
    return Effect(outline, labels.EXPERIENCES[level], changes, places, proven, now == then)


def _composed(request: WeekRequest) -> tuple[Places, bool]:
    picks, proof = best_picks(Rules.of(request))
    return {(pick.slot, pick.occurrence): pick for pick in picks}, proof.kind == "proven"


def _stands(picks: Places, place: tuple[str, int]) -> tuple[str, int] | None:
    pick = picks.get(place)
    return None if pick is None else (pick.exercise, pick.sets)


def _words(pick: terms.Pick | None, names: Mapping[str, str]) -> str:
    if pick is None:
        return _("nothing")
    return _("%(exercise)s, %(sets)s") % {"exercise": names[pick.exercise], "sets": words.sets(pick.sets)}
