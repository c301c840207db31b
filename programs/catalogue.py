"""A practice's exercises as they are looked for: read once, kept until one of them changes.

Sets of exercises are whole numbers, a bit an exercise in the order of their names (see ``programs.finding``), so that
filters are put together at no cost that grows with the library to speak of, and without asking the database.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple, overload

from django.utils.translation import get_language, gettext_lazy

from coachdesk.practice.models import Practice
from programs import labels
from programs.engine.vocabulary import GROUP_OF_REGION, SKILLS
from programs.finding import Answer, Called, Words, bits_of, lacking, positions_in, spoken
from programs.models import Exercise, ExerciseJoint, ExerciseRegion, ExerciseText
from programs.stamps import stamp_of

# Short words that coaches also type for a region, beside its name and its group's.
SHORT_WORDS: Mapping[str, Any] = {
    "abs": gettext_lazy("abs core"),
    "obliques": gettext_lazy("core"),
    **dict.fromkeys(("pec_clav", "pec_stern", "pec_abd"), gettext_lazy("pecs")),
    **dict.fromkeys(("delt_ant", "delt_lat", "delt_post"), gettext_lazy("delts")),
}
HALF_A_SET = 2  # quarters
SHARES = (4, 2, 1)
CATALOGUES_KEPT = 8


class Demands(NamedTuple):
    """What an exercise asks of a place and of a person."""

    implement: str
    needs_all: tuple[str, ...]
    needs_one: tuple[tuple[str, ...], ...]
    skill: str
    joints: tuple[tuple[str, int], ...]


class Listed(Sequence[int]):
    """Keys of exercises in order, for a paginator: only those of one page are ever gone through one by one."""

    def __init__(self, pks: Sequence[int], sets: Iterable[int]) -> None:
        self._pks = pks
        self._sets = [(each, each.bit_count()) for each in sets if each]

    def __len__(self) -> int:
        return sum(count for _bits, count in self._sets)

    @overload
    def __getitem__(self, wanted: int) -> int: ...
    @overload
    def __getitem__(self, wanted: slice) -> list[int]: ...
    def __getitem__(self, wanted: int | slice) -> int | list[int]:
        if isinstance(wanted, int):
            return self[slice(wanted, wanted + 1 or None)][0]
        first, last, step = wanted.indices(len(self))
        found: list[int] = []
        for bits, count in self._sets:
            if first < count and last > 0:
                found += [self._pks[at] for at in list(positions_in(bits))[max(first, 0) : last]]
            first, last = first - count, last - count
        return found[::step]


@dataclass(frozen=True, slots=True)
class Catalogue:
    """``pks`` and ``keys`` by position; sets of exercises by what is true of them."""

    pks: tuple[int, ...]
    positions: Mapping[int, int]
    by_key: Mapping[str, int]
    everything: int
    shown: int
    facets: Mapping[tuple[str, str], int]
    shares: Mapping[str, tuple[int, ...]]
    demands: Mapping[Demands, int]
    called: Called

    def having(self, kind: str, value: str) -> int:
        """Those of one "pattern", "implement" or "skill", or that ask something of one "joint"."""
        return self.facets.get((kind, value), 0)

    def up_to_skill(self, skill: str) -> int:
        found = 0
        for each in SKILLS[: SKILLS.index(skill) + 1]:
            found |= self.having("skill", each)
        return found

    def counting_for(self, code: str) -> tuple[int, ...]:
        """Those that a set counts for the region or the group of: whole, half, a quarter."""
        return self.shares.get(code, ())

    def at_stations(self, there: Collection[str]) -> int:
        """Those that a place with these station kinds allows."""
        return self.meeting(lambda demands: not lacking(demands, there))

    def meeting(self, allows: Callable[[Demands], bool]) -> int:
        """Those whose demands are allowed; each kind of demand is asked about once."""
        found = 0
        for demands, bits in self.demands.items():
            if allows(demands):
                found |= bits
        return found

    def demands_at(self, position: int) -> Demands:
        return next(demands for demands, bits in self.demands.items() if bits >> position & 1)

    def of_pks(self, pks: Iterable[int]) -> int:
        return bits_of((self.positions[pk] for pk in pks if pk in self.positions), len(self.pks))

    def answering(self, words: str, within: int) -> Answer:
        return self.called.answer(words, within)

    def listed(self, sets: Iterable[int]) -> Listed:
        return Listed(self.pks, sets)


def catalogue_of(practice: Practice) -> Catalogue:
    """One query; four more when an exercise has changed since it was last read."""
    stamp, language = stamp_of(practice), get_language()
    return _read(practice.pk) if stamp is None else _kept(practice.pk, stamp, language)


@lru_cache(maxsize=CATALOGUES_KEPT)
def _kept(practice_pk: int, stamp: int, language: str | None) -> Catalogue:
    return _read(practice_pk)


def named(practice: Practice, words: str) -> list[int]:
    """Keys of the shown exercises that answer to the words, the best first."""
    catalogue = catalogue_of(practice)
    return catalogue.listed(catalogue.answering(words, catalogue.shown).sets)[:]


def _read(practice_pk: int) -> Catalogue:
    rows = list(
        Exercise.objects.filter(practice=practice_pk)
        .order_by("name")
        .values_list(
            "pk", "public_id", "name", "aliases", "pattern", "implement", "skill", "needs_all", "needs_one", "hidden_at"
        )
    )
    positions = {row[0]: at for at, row in enumerate(rows)}
    regions: dict[int, list[tuple[str, int]]] = defaultdict(list)
    of_practice = {"exercise__practice": practice_pk}
    found = ExerciseRegion.objects.filter(**of_practice).order_by().values_list("exercise_id", "region", "quarters")
    for pk, region, quarters in found:
        regions[pk].append((region, quarters))
    joints: dict[int, list[tuple[str, int]]] = defaultdict(list)
    asked = ExerciseJoint.objects.filter(**of_practice).order_by().values_list("exercise_id", "joint", "severity")
    for pk, joint, severity in asked:
        joints[pk].append((joint, severity))
    translated: dict[int, list[str]] = defaultdict(list)
    texts = ExerciseText.objects.filter(**of_practice).exclude(name="").order_by().values_list("exercise_id", "name")
    for pk, name in texts:
        translated[pk].append(name)

    facets: dict[Any, list[int]] = defaultdict(list)
    shares: dict[tuple[str, int], list[int]] = defaultdict(list)
    demands: dict[Demands, list[int]] = defaultdict(list)
    names, aliases, said = defaultdict(set), defaultdict(set), defaultdict(set)
    whole_names: dict[str, list[int]] = defaultdict(list)
    shown = []
    for at, (pk, _key, name, others, pattern, implement, skill, needs_all, needs_one, hidden_at) in enumerate(rows):
        if hidden_at is None:
            shown.append(at)
        for facet in (("pattern", pattern), ("implement", implement), ("skill", skill)):
            facets[facet].append(at)
        stresses = tuple(sorted(joints[pk]))
        for joint, _severity in stresses:
            facets["joint", joint].append(at)
        needs = tuple(needs_all), tuple(tuple(kinds) for kinds in needs_one)
        demands[Demands(implement, *needs, skill, stresses)].append(at)
        for code, quarters in _best(regions[pk]).items():
            shares[code, quarters].append(at)
        for called in (name, *translated[pk]):
            words = spoken(called)
            whole_names[" ".join(words)].append(at)
            for word in words:
                names[word].add(at)
        for word in spoken(" ".join(map(str, others))):
            aliases[word].add(at)
        for word in _said(
            implement, tuple(sorted(region for region, quarters in regions[pk] if quarters >= HALF_A_SET))
        ):
            said[word].add(at)
    size = len(rows)
    codes = {code for code, _quarters in shares}
    return Catalogue(
        pks=tuple(positions),
        positions=positions,
        by_key={str(row[1]): at for at, row in enumerate(rows)},
        everything=(1 << size) - 1,
        shown=bits_of(shown, size),
        facets={facet: bits_of(there, size) for facet, there in facets.items()},
        shares={code: tuple(bits_of(shares.get((code, share), ()), size) for share in SHARES) for code in codes},
        demands={each: bits_of(there, size) for each, there in demands.items()},
        called=Called(
            Words(names, size),
            Words(aliases, size),
            Words(said, size),
            {name: bits_of(there, size) for name, there in whole_names.items()},
        ),
    )


def _best(regions: Iterable[tuple[str, int]]) -> dict[str, int]:
    """What a set counts for each region, and for each group by its best region, in quarters."""
    found: dict[str, int] = {}
    for region, quarters in regions:
        for code in (f"region:{region}", f"group:{GROUP_OF_REGION[region]}"):
            found[code] = max(found.get(code, 0), quarters)
    return found


def _said(implement: str, regions: tuple[str, ...]) -> frozenset[str]:
    """The words for an implement, for regions and for their groups, in the language that is spoken."""
    return _said_in(get_language(), implement, regions)


@lru_cache(maxsize=4096)
def _said_in(language: str | None, implement: str, regions: tuple[str, ...]) -> frozenset[str]:
    texts = [labels.STATIONS[implement]]
    for region in regions:
        texts += [labels.REGIONS[region], labels.GROUPS[GROUP_OF_REGION[region]], SHORT_WORDS.get(region, "")]
    return frozenset(spoken(" ".join(map(str, texts))))
