"""Which exercises of a practice answer to typed words, and which a set of stations allows."""

import unicodedata
from collections.abc import Collection, Iterable

from programs.engine.vocabulary import EVERYWHERE
from programs.models.exercises import Exercise, ExerciseQuerySet


def folded(text: str) -> str:
    """Text as it is compared: without case, accents and the difference between hyphen and space."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    return " ".join("".join(sign for sign in plain if not unicodedata.combining(sign)).replace("-", " ").split())


def answers(words: str, *texts: str) -> bool:
    """Whether every word starts one of the words of the texts, or stands inside one from three letters on."""
    there = folded(" ".join(texts)).split()
    return all(
        any(word.startswith(asked) or (len(asked) > 2 and asked in word) for word in there)
        for asked in folded(words).split()
    )


def lacking(exercise: Exercise, there: Collection[str]) -> list[tuple[str, ...]]:
    """What a place with these station kinds lacks for an exercise: of each entry one kind would do."""
    return _lacking(exercise.implement, exercise.needs_all, exercise.needs_one, there)


def _lacking(
    implement: str, needs_all: Iterable[str], needs_one: Iterable[Iterable[str]], there: Collection[str]
) -> list[tuple[str, ...]]:
    here = {*there, *EVERYWHERE}
    wanted = [(implement,), *((kind,) for kind in needs_all), *(tuple(kinds) for kinds in needs_one)]
    return [kinds for kinds in wanted if here.isdisjoint(kinds)]


def named(exercises: ExerciseQuerySet, words: str) -> ExerciseQuerySet:
    """Those whose name, other names or translated names answer to the words. One query, and one when evaluated.

    Compared here and not in the database: SQLite ignores case for plain Latin letters only.
    """
    found = exercises.order_by().values_list("pk", "name", "aliases", "texts__name")
    return exercises.filter(
        pk__in={pk for pk, name, aliases, translated in found if answers(words, name, *aliases, translated or "")}
    )


def at_stations(exercises: ExerciseQuerySet, there: Collection[str]) -> ExerciseQuerySet:
    """Those that a place with these station kinds allows. One query, and one when evaluated."""
    found = exercises.order_by().values_list("pk", "implement", "needs_all", "needs_one")
    return exercises.filter(
        pk__in={
            pk for pk, implement, needs_all, needs_one in found if not _lacking(implement, needs_all, needs_one, there)
        }
    )
