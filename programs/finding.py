"""Finding by typed words: what answers, which of it first, and typing mistakes forgiven. Sets are kept as bits of
whole numbers: bit n stands for the n-th thing that can be found, so that thousands are compared in one step."""

import re
import unicodedata
from bisect import bisect_left
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from programs.engine.vocabulary import EVERYWHERE

ONE_MISTAKE_FROM = 4  # letters
TWO_MISTAKES_FROM = 8
INSIDE_FROM = 3
LETTERS_TOLD_APART = 64
# How well a word answers, best first: a word of the name, the start of one, the same of other names, of what else is
# said, and last somewhere inside a name, so that "lat" means the lats before it means "flat".
NAME, NAME_START, ALIAS, SAID, INSIDE = range(5)
LEVELS: Final = (NAME, NAME_START, ALIAS, SAID, INSIDE)

_SPOKEN = re.compile(r"[^\s,;:()/.\"“”]+")


def folded(text: str) -> str:
    """Text as it is compared: without case, accents and the difference between hyphen and space."""
    plain = text.casefold()
    if not plain.isascii():
        marked = unicodedata.normalize("NFKD", plain)
        plain = "".join(sign for sign in marked if not unicodedata.combining(sign))
    return " ".join(plain.replace("-", " ").split())


def spoken(text: str) -> list[str]:
    """The words of a text as they are compared, without punctuation."""
    return _SPOKEN.findall(folded(text))


def answers(words: str, *texts: str) -> bool:
    """Whether every word starts one of the words of the texts, or stands inside one from three letters on."""
    there = folded(" ".join(texts)).split()
    return all(
        any(word.startswith(asked) or (len(asked) >= INSIDE_FROM and asked in word) for word in there)
        for asked in folded(words).split()
    )


def lacking(needs: Any, there: Collection[str]) -> list[tuple[str, ...]]:
    """What a place with these station kinds lacks: of each entry one kind would do. ``needs`` has an ``implement``,
    ``needs_all`` and ``needs_one``, as an exercise has."""
    here = {*there, *EVERYWHERE}
    wanted = [(needs.implement,), *((kind,) for kind in needs.needs_all), *(tuple(kinds) for kinds in needs.needs_one)]
    return [kinds for kinds in wanted if here.isdisjoint(kinds)]


def mistakes_allowed(asked: str) -> int:
    """How many typing mistakes are forgiven in a word: short words are too near to each other to guess."""
    if len(asked) < ONE_MISTAKE_FROM:
        return 0
    return 1 if len(asked) < TWO_MISTAKES_FROM else 2


def mistakes(asked: str, word: str, most: int | None = None) -> int:
    """The fewest typing mistakes between what was typed and the start of a word that comes nearest to it; past
    ``most`` just some number above it.

    A mistake is a letter too many, too few or wrong, or two neighbours changed over (Damerau 1964), each letter
    touched once. The start and not the whole, as a word is looked for while it is still being typed.
    """
    if most is not None:
        word = word[: len(asked) + most]
    before: list[int] = []
    row = list(range(len(word) + 1))
    for at, letter in enumerate(asked, 1):
        earlier, before, row = before, row, [at]
        for upto, other in enumerate(word, 1):
            fewest = min(before[upto] + 1, row[upto - 1] + 1, before[upto - 1] + (letter != other))
            if at > 1 and upto > 1 and letter == word[upto - 2] and asked[at - 2] == other:
                fewest = min(fewest, earlier[upto - 2] + 1)
            row.append(fewest)
        if most is not None and min(row) > most and min(before) > most:
            return most + 1
    return min(row)


def bits_of(positions: Iterable[int], size: int) -> int:
    """The set of these positions, each below ``size``."""
    written = bytearray(size // 8 + 1)
    for position in positions:
        written[position >> 3] |= 1 << (position & 7)
    return int.from_bytes(written, "little")


def positions_in(bits: int) -> Iterator[int]:
    """The positions of a set, the lowest first."""
    signs = bin(bits)[:1:-1]
    at = signs.find("1")
    while at >= 0:
        yield at
        at = signs.find("1", at + 1)


class Words:
    """Words and the things that they are said of. ``said`` gives positions for each folded word."""

    def __init__(self, said: Mapping[str, Collection[int]], size: int) -> None:
        self._said = {word: bits_of(positions, size) for word, positions in said.items()}
        self._sorted = sorted(said)
        self._text = "\n".join(["", *self._sorted])
        self._letters = {word: _letters(word) for word in self._sorted}

    def whole(self, asked: str) -> int:
        return self._said.get(asked, 0)

    def starting(self, asked: str) -> int:
        found = 0
        for at in range(bisect_left(self._sorted, asked), len(self._sorted)):
            if not self._sorted[at].startswith(asked):
                break
            found |= self._said[self._sorted[at]]
        return found

    def holding(self, asked: str) -> int:
        """Those with the letters anywhere inside a word."""
        found, at = 0, self._text.find(asked)
        while at >= 0:
            begins, ends = self._text.rfind("\n", 0, at) + 1, self._text.find("\n", at)
            ends = len(self._text) if ends < 0 else ends
            found |= self._said[self._text[begins:ends]]
            at = self._text.find(asked, ends)
        return found

    def near(self, asked: str, most: int) -> dict[str, int]:
        """Words within so many mistakes, with how many each has. Only those are gone through letter by letter that
        lack few enough of the letters asked for: every one that is missing is a mistake of its own."""
        letters, shortest = _letters(asked), len(asked) - most
        found = {}
        for word, own in self._letters.items():
            if len(word) >= shortest and (letters & ~own).bit_count() <= most:
                made = mistakes(asked, word, most)
                if made <= most:
                    found[word] = made
        return found


def _letters(word: str) -> int:
    found = 0
    for letter in word:
        found |= 1 << (ord(letter) % LETTERS_TOLD_APART)
    return found


@dataclass(frozen=True, slots=True)
class Answer:
    """What answers to typed words: sets by how well they answer, the best first, no thing in two of them.

    ``read_as`` is what the words were taken for where typing mistakes had to be forgiven; "" where none were.
    """

    sets: tuple[int, ...]
    read_as: str = ""


@dataclass(frozen=True, slots=True)
class Called:
    """All that things are called: words of their names, of other names, of what else is said of them; whole names."""

    names: Words
    aliases: Words
    said: Words
    whole_names: Mapping[str, int]

    def answer(self, words: str, within: int) -> Answer:
        """Those of the set ``within`` that answer to all the words; typing mistakes are forgiven only where none
        answers as typed, as few of them as can be."""
        asked = spoken(words)
        if not asked:
            return Answer((within,))
        levels = [self._levels(each) for each in asked]
        named = self.whole_names.get(" ".join(asked), 0) & within
        if found := _ranked(levels, within):
            return Answer((named, *(each & ~named for each in found)) if named else tuple(found))
        unknown = [not own[-1] & within for own in levels]
        for most in range(1, 1 + max(map(mistakes_allowed, asked))):
            near = [self._near(each, min(most, mistakes_allowed(each))) for each in asked]
            forgiven = [self._levels_near(own, words) for own, words in zip(levels, near, strict=True)]
            for taken in (unknown, [True] * len(asked)):
                pairs = zip(levels, forgiven, taken, strict=True)
                if found := _ranked([other if take else own for own, other, take in pairs], within):
                    read_as = [
                        self._read_as(each, words, sum(found)) if take else each
                        for each, words, take in zip(asked, near, taken, strict=True)
                    ]
                    return Answer(tuple(found), " ".join(read_as))
        return Answer(())

    def _levels(self, asked: str) -> list[int]:
        """For each level those that answer at least so well."""
        name = self.names.whole(asked)
        start = name | self.names.starting(asked)
        alias = start | self.aliases.starting(asked)
        said = alias | self.said.starting(asked)
        inside = said
        if len(asked) >= INSIDE_FROM:
            inside |= self.names.holding(asked) | self.aliases.holding(asked)
        return [name, start, alias, said, inside]

    def _near(self, asked: str, most: int) -> dict[str, int]:
        if not most:
            return {}
        return {
            word: made
            for words in (self.said, self.aliases, self.names)
            for word, made in words.near(asked, most).items()
        }

    def _levels_near(self, own: Sequence[int], near: Iterable[str]) -> list[int]:
        found = [0, 0, 0]
        for word in near:
            for at, words in enumerate((self.names, self.aliases, self.said)):
                found[at] |= words.whole(word)
        name, alias, said = own[NAME] | found[0], found[1], found[2]
        start = name | own[NAME_START]
        return [
            name,
            start,
            start | alias | own[ALIAS],
            start | alias | said | own[SAID],
            start | alias | said | own[INSIDE],
        ]

    def _read_as(self, asked: str, near: Mapping[str, int], found: int) -> str:
        """The nearest word that what was found is called by."""
        there = [
            (made, abs(len(word) - len(asked)), word)
            for word, made in near.items()
            if (self.names.whole(word) | self.aliases.whole(word) | self.said.whole(word)) & found
        ]
        return min(there)[2] if there else asked


def _ranked(levels: Sequence[Sequence[int]], within: int) -> list[int]:
    """Sets by the worst level of any of the words; without any that answer none at all."""
    found, seen = [], 0
    for level in LEVELS:
        there = within
        for own in levels:
            there &= own[level]
        found.append(there & ~seen)
        seen |= there
    return found if seen else []
