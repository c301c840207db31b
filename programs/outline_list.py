"""The list of templates: whom each serves, how much it is, where it can be trained, and what narrows it down."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from django.http import QueryDict
from django.utils.translation import gettext as _

from coachdesk.practice.models import Practice
from programs import labels
from programs.engine.calendar import WEEK_DAYS
from programs.engine.vocabulary import EVERYWHERE, EXPERIENCES
from programs.models import Exercise, Outline, SlotCandidate
from programs.outline_uses import Use, uses_of_all_versions
from programs.placed import places_of

HOME: Final = "home"
# What somebody who trains at home with dumbbells may be taken to have (coaching practice).
HOME_STATIONS: Final = frozenset(
    (
        "dumbbell",
        "flat_bench",
        "incline_bench",
        "low_bench_or_step",
        "box",
        "chair",
        "band",
        "band_anchor",
        "foot_anchor",
        "stability_ball",
        "space_to_walk",
    )
)
FILTERS: Final = ("days", "serves", "place")


@dataclass(frozen=True, slots=True)
class Row:
    """One template of the list; ``spans`` are its sets a week by experience, ``older_use`` is that of the versions
    before the newest."""

    outline: Outline
    serves: str
    length: str
    spans: list[tuple[Any, str]]
    use: Use
    older_use: Use
    at_home: bool


@dataclass(frozen=True, slots=True)
class Choice:
    word: Any
    query: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Filter:
    """One line of words over the list: a part of the address's query and what it may be."""

    name: str
    word: str
    choices: list[Choice]


@dataclass(frozen=True, slots=True)
class Listing:
    """``any`` tells an empty practice from filters that nothing answers to."""

    rows: list[Row]
    in_work: list[Outline]
    archived: list[Outline]
    filters: list[Filter]
    any: bool
    narrowed: bool


def listing_of(practice: Practice, query: QueryDict) -> Listing:
    """The newest versions, narrowed down by the query; eleven queries however many there are, the places among them."""
    everything = Outline.objects.for_practice(practice).filter(replaced_by=None).with_slots()
    in_work = [outline for outline in everything if outline.in_work]
    current = [outline for outline in everything if outline.archived_at is None and not outline.in_work]
    archived = [outline for outline in everything if outline.archived_at is not None]
    places = {HOME: (_("at home with dumbbells"), HOME_STATIONS)}
    places |= {place.key: (place.name, place.stations) for place in places_of(practice)}
    asked = _asked(query, current, places)
    fits = _fitting([outline.pk for outline in current])
    uses = uses_of_all_versions(practice)
    stations = places[asked["place"]][1] if asked["place"] else None
    rows = [
        _row(outline, *uses[outline.pk], fits(outline.pk, HOME_STATIONS))
        for outline in current
        if asked["days"] in ("", str(outline.days_per_week))
        and (not asked["serves"] or asked["serves"] in outline.serves)
        and (stations is None or fits(outline.pk, stations))
    ]
    return Listing(
        rows,
        in_work,
        sorted(archived, key=_put_away, reverse=True),
        _filters(asked, current, places),
        any=bool(current),
        narrowed=any(asked.values()),
    )


def serves_words(outline: Outline) -> str:
    return ", ".join(str(labels.EXPERIENCES[name]) for name in EXPERIENCES if name in outline.serves) or "–"


def length_words(outline: Outline) -> str:
    """ "4 a week", "6 in 8 days"."""
    if outline.cycle_days == WEEK_DAYS:
        return str(outline.days_per_week)
    return _("%(sessions)d in %(days)d days") % {"sessions": outline.days_per_week, "days": outline.cycle_days}


def span(low: int, high: int) -> str:
    return str(low) if low == high else f"{low}–{high}"


def _row(outline: Outline, use: Use, older: Use, at_home: bool) -> Row:
    spans = [(labels.EXPERIENCES[name], span(*outline.sets_a_week(name))) for name in EXPERIENCES]
    return Row(outline, serves_words(outline), length_words(outline), spans, use, older, at_home)


def _put_away(outline: Outline) -> datetime:
    return outline.archived_at or outline.created_at


def _asked(query: QueryDict, outlines: Iterable[Outline], places: Mapping[str, object]) -> dict[str, str]:
    """What was asked for and is on offer, so that an old address still works."""
    offered: dict[str, Collection[str]] = {
        "days": {str(outline.days_per_week) for outline in outlines},
        "serves": EXPERIENCES,
        "place": places.keys(),
    }
    return {name: value if (value := query.get(name, "")) in offered[name] else "" for name in FILTERS}


def _filters(
    asked: Mapping[str, str], outlines: Sequence[Outline], places: Mapping[str, tuple[str, object]]
) -> list[Filter]:
    days = sorted({outline.days_per_week for outline in outlines})
    offered: dict[str, tuple[str, list[tuple[str, Any]]]] = {
        "days": (_("Days"), [("", _("any")), *((str(count), count) for count in days)]),
        "serves": (_("For"), [("", _("anybody")), *((name, labels.EXPERIENCES[name]) for name in EXPERIENCES)]),
        "place": (_("At"), [("", _("anywhere")), *((key, name) for key, (name, _stations) in places.items())]),
    }
    return [
        Filter(
            name,
            word,
            [Choice(said, _query(asked, name, value), asked[name] == value) for value, said in choices],
        )
        for name, (word, choices) in offered.items()
    ]


def _query(asked: Mapping[str, str], name: str, value: str) -> str:
    query = QueryDict(mutable=True)
    query.update({key: kept for key, kept in {**asked, name: value}.items() if kept})
    return f"?{query.urlencode()}"


Needs = tuple[frozenset[str], tuple[frozenset[str], ...]]  # all of these, and of each of those one


def _fitting(outlines: Collection[int]) -> Callable[[int, frozenset[str]], bool]:
    """Whether every slot of a template has, each time it comes, a candidate for what stands at a place: two queries.

    Slots without candidates are left to composing; a template without any fits nowhere.
    """
    ways: dict[int, dict[tuple[int, int], list[Needs]]] = {pk: {} for pk in outlines}
    candidates = SlotCandidate.objects.filter(slot__day__outline__in=outlines, exercise__hidden_at=None)
    # An exercise stands in many slots: what it needs is read once.
    exercises = Exercise.objects.filter(pk__in=candidates.order_by().values("exercise")).values_list(
        "pk", "implement", "needs_all", "needs_one"
    )
    needs: dict[int, Needs] = {
        pk: (frozenset((implement, *needs_all)), tuple(map(frozenset, needs_one)))
        for pk, implement, needs_all, needs_one in exercises
    }
    rows = candidates.values_list("slot__day__outline", "slot", "occurrence", "exercise")
    for outline, slot, occurrence, exercise in rows:
        ways[outline].setdefault((slot, occurrence), []).append(needs[exercise])

    def fits(outline: int, stations: frozenset[str]) -> bool:
        there = stations.union(EVERYWHERE)
        found = ways[outline]
        return bool(found) and all(
            any(wants <= there and all(there & one for one in ones) for wants, ones in candidates)
            for candidates in found.values()
        )

    return fits
