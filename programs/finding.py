"""Which exercises of a practice answer to typed words, and which a set of stations allows."""

import unicodedata
from collections.abc import Collection, Iterable, Mapping

from programs import labels
from programs.engine.vocabulary import EVERYWHERE, GROUP_OF_REGION
from programs.models.exercises import Exercise, ExerciseQuerySet

ONE_MISTAKE_FROM = 4  # letters
TWO_MISTAKES_FROM = 8
HALF_A_SET = 2  # quarters


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


def mistakes_allowed(asked: str) -> int:
    """How many typing mistakes are forgiven in a word: short words are too near to each other to guess."""
    if len(asked) < ONE_MISTAKE_FROM:
        return 0
    return 1 if len(asked) < TWO_MISTAKES_FROM else 2


def mistakes(asked: str, word: str) -> int:
    """The fewest typing mistakes between what was typed and the start of a word that comes nearest to it.

    A mistake is a letter too many, too few or wrong, or two neighbours changed over (Damerau 1964), each letter
    touched once. The start and not the whole, as a word is looked for while it is still being typed.
    """
    before: list[int] = []
    row = list(range(len(word) + 1))
    for at, letter in enumerate(asked, 1):
        earlier, before, row = before, row, [at]
        for upto, other in enumerate(word, 1):
            fewest = min(before[upto] + 1, row[upto - 1] + 1, before[upto - 1] + (letter != other))
            if at > 1 and upto > 1 and letter == word[upto - 2] and asked[at - 2] == other:
                fewest = min(fewest, earlier[upto - 2] + 1)
            row.append(fewest)
    return min(row)


def matching(words: str, called: Mapping[int, tuple[str, str]]) -> set[int]:
    """The keys that answer to all the words; with typing mistakes forgiven only where none answers as typed.

    ``called`` gives for each key what it is called, and what else is said of it. A word may stand inside a name,
    but only at the start of what else is said: "lat" is to find the lats and not every plate.
    """
    asked = folded(words).split()
    there = {key: (names, folded(more).split()) for key, (names, more) in called.items()}
    found = {
        key
        for key, (names, more) in there.items()
        if all(answers(each, names) or any(word.startswith(each) for word in more) for each in asked)
    }
    if found or not any(map(mistakes_allowed, asked)):
        return found
    spoken = {key: {*folded(names).split(), *more} for key, (names, more) in there.items()}
    vocabulary: set[str] = set().union(*spoken.values())
    near = [
        {word for word in vocabulary if answers(each, word) or mistakes(each, word) <= mistakes_allowed(each)}
        for each in asked
    ]
    return {key for key, own in spoken.items() if all(own & words_near for words_near in near)}


def named(exercises: ExerciseQuerySet, words: str) -> ExerciseQuerySet:
    """Those that answer to the words by name, other or translated names, implement, or the regions and groups that
    a set counts for at least by half. One query, and one when evaluated.

    Compared here and not in the database: SQLite ignores case for plain Latin letters only.
    """
    found = exercises.order_by().values_list(
        "pk", "name", "aliases", "implement", "texts__name", "regions__region", "regions__quarters"
    )
    names: dict[int, set[str]] = {}
    more: dict[int, set[str]] = {}
    for pk, name, aliases, implement, translated, region, quarters in found:
        names.setdefault(pk, set()).update((name, *aliases, translated or ""))
        said = more.setdefault(pk, set())
        said.add(str(labels.STATIONS[implement]))
        if region and quarters >= HALF_A_SET:
            said.update((str(labels.REGIONS[region]), str(labels.GROUPS[GROUP_OF_REGION[region]])))
    return exercises.filter(
        pk__in=matching(words, {pk: (" ".join(texts), " ".join(more[pk])) for pk, texts in names.items()})
    )


def at_stations(exercises: ExerciseQuerySet, there: Collection[str]) -> ExerciseQuerySet:
    """Those that a place with these station kinds allows. One query, and one when evaluated."""
    found = exercises.order_by().values_list("pk", "implement", "needs_all", "needs_one")
    return exercises.filter(
        pk__in={
            pk for pk, implement, needs_all, needs_one in found if not _lacking(implement, needs_all, needs_one, there)
        }
    )
