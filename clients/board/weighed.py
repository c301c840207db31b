"""What another week would be better and worse in than the present one, in words; points stay within the engine."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import ngettext

from programs.engine.compose import assess, evaluate
from programs.engine.compose.request import WeekRequest
from programs.engine.terms import Pick

MOST_SAID: Final = 5
MANY: Final = 50  # steps of the ranking beyond which their number says nothing

# Parts of what a week costs, gathered under what they say to a coach: where there is less of it, and where more.
SAYINGS: Final[Mapping[tuple[str, ...], tuple[str | Promise, str | Promise]]] = {
    ("unfilled",): (_lazy("fewer places stay empty"), _lazy("more places stay empty")),
    ("under", "far_under", "over"): (
        _lazy("the weekly sets lie closer to their ranges"),
        _lazy("the weekly sets lie further from their ranges"),
    ),
    ("rank", "outside_ranking"): (_lazy("it is closer to your ranking"), _lazy("it is further from your ranking")),
    ("repeat",): (_lazy("fewer exercises come twice"), _lazy("more exercises come twice")),
    ("same_implement", "same_angle", "elsewhere"): (
        _lazy("the days of a kind differ more"),
        _lazy("the days of a kind differ less"),
    ),
    ("pattern_again", "second_main", "superset_clash"): (
        _lazy("the exercises of a session get in each other’s way less"),
        _lazy("the exercises of a session get in each other’s way more"),
    ),
    ("disliked", "liked"): (_lazy("it is more to the client’s liking"), _lazy("it is less to the client’s liking")),
    ("go_easy",): (
        _lazy("it asks less of what should be gone easy on"),
        _lazy("it asks more of what should be gone easy on"),
    ),
    ("joint_stress",): (_lazy("it asks less of the joints"), _lazy("it asks more of the joints")),
    ("skill",): (_lazy("it asks for less skill"), _lazy("it asks for more skill")),
    ("stand_in", "off_pattern", "off_reps"): (
        _lazy("it is closer to what the slots ask for"),
        _lazy("it is further from what the slots ask for"),
    ),
    ("changed", "stalled"): (
        _lazy("it keeps more that still serves"),
        _lazy("it keeps less that still serves"),
    ),
    ("implement_change", "superset_at_one_station"): (
        _lazy("equipment changes less often"),
        _lazy("equipment changes more often"),
    ),
    ("sets",): (_lazy("sets are closer to the usual number"), _lazy("sets are further from the usual number")),
    ("kind_missing", "never_stretched"): (
        _lazy("the week holds more kinds of movement"),
        _lazy("the week holds fewer kinds of movement"),
    ),
    ("out_of_balance",): (
        _lazy("pulls and pushes are better balanced"),
        _lazy("pulls and pushes are worse balanced"),
    ),
}


_LIMITS: Final = (_lazy("sessions keep to their minutes and sets"), _lazy("sessions go beyond their minutes or sets"))
BEYOND_PRICE: Final = 10**12  # what no weight can outweigh


@dataclass(frozen=True, slots=True)
class Weighed:
    """The new week against the present one: the verdict, and what is better and worse in it, the weightiest first."""

    verdict: str
    better: list[str]
    worse: list[str]


def weighed(request: WeekRequest, now: Sequence[Pick], then: Sequence[Pick]) -> Weighed:
    before, after = _by_code(request, now), _by_code(request, then)
    better, worse = [], []
    for codes, (less, more) in SAYINGS.items():
        change = _sum(after, codes) - _sum(before, codes)
        if change < 0:
            better.append((change, str(less)))
        elif change > 0:
            worse.append((-change, str(more)))
    over = _over(request, now) - _over(request, then)
    if over:
        (better if over > 0 else worse).append((-BEYOND_PRICE, str(_LIMITS[over < 0])))
    if over > 0:
        verdict = _("The week as it stands goes beyond a session’s limits, which the new one keeps.")
        return Weighed(verdict, _first(better), _first(worse))
    saved = sum(before.values()) - sum(after.values())
    steps = ceil(abs(saved) / max(1, request.weights.rank_step))
    return Weighed(_verdict(saved, steps), _first(better), _first(worse))


def _verdict(saved: int, steps: int) -> str:
    if saved == 0:
        return _("By your rules both weeks are equally good.")
    if saved < 0:
        return _("By your rules the week as it stands is the better one.")
    if steps > MANY:
        return _("By your rules keeping the week as it stands costs a great deal.")
    said = ngettext(
        "By your rules keeping the week as it stands costs about as much as %(count)d step of your ranking.",
        "By your rules keeping the week as it stands costs about as much as %(count)d steps of your ranking.",
        steps,
    )
    return said % {"count": steps}


def _over(request: WeekRequest, picks: Iterable[Pick]) -> int:
    """Warnings of sessions that hold more than they may: such a week stands only by the coach's hand."""
    return sum(why.code in ("session.over_minutes", "session.group_over") for why in assess(request, picks).warnings)


def _by_code(request: WeekRequest, picks: Iterable[Pick]) -> dict[str, int]:
    found: dict[str, int] = {}
    for term in evaluate(request, picks).terms:
        found[term.code] = found.get(term.code, 0) + term.amount
    return found


def _sum(amounts: Mapping[str, int], codes: Collection[str]) -> int:
    return sum(amounts.get(code, 0) for code in codes)


def _first(rows: list[tuple[int, str]]) -> list[str]:
    return [words for _amount, words in sorted(rows)[:MOST_SAID]]
