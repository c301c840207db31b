"""What exercises are called: each name and other name belongs to one exercise of a practice."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from coachdesk.practice.models import Practice
from programs.engine.shorthand import same_name
from programs.models import Exercise

MOST_ALIASES = 20


@dataclass(frozen=True, slots=True)
class Called:
    """Who is called what, compared as messages are read (``same_name``); ``by_name`` gives the exercise's own name."""

    by_name: Mapping[str, str]

    def whose(self, name: str) -> str:
        """The exercise that has this name already; "" where it is free."""
        return self.by_name.get(same_name(name), "")


def called(practice: Practice, *, besides: Iterable[int] = ()) -> Called:
    """What a practice's exercises are called, but for those of these keys. One query.

    What was merged into another has handed its names on: they are no longer its own.
    """
    rows = Exercise.objects.for_practice(practice).filter(merged_into=None).exclude(pk__in=list(besides))
    found: dict[str, str] = {}
    for name, aliases, translated in rows.order_by("pk").values_list("name", "aliases", "texts__name"):
        for each in (name, *aliases, translated or ""):
            found.setdefault(same_name(each), name)
    found.pop("", None)
    return Called(found)


def added(aliases: Sequence[str], names: Iterable[str], *, own: str = "") -> list[str]:
    """Other names with further ones behind them: none twice, and none that is the exercise's ``own`` name.

    What was there stays as it is; there may be more than MOST_ALIASES then.
    """
    found = list(aliases)
    known = {same_name(own), *map(same_name, aliases), ""}
    for name in names:
        if same_name(name) not in known:
            found.append(name)
            known.add(same_name(name))
    return found
