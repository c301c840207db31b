"""Who trains by a template. The templates know nothing of clients: whoever keeps them says so here when the
application starts (see ``clients.apps``)."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from coachdesk.practice.models import Practice
from programs.models import Outline


@dataclass(frozen=True, slots=True)
class Trainee:
    """Somebody whose running block comes from a template, and where that block is shown."""

    name: str
    url: str


@dataclass(frozen=True, slots=True)
class Use:
    """What hangs on one version of a template: running blocks with their clients, blocks that have ended, and weeks
    that are being composed from it."""

    running: tuple[Trainee, ...] = ()
    ended: int = 0
    composing: int = 0

    def __bool__(self) -> bool:
        return bool(self.running or self.ended or self.composing)


Keeper = Callable[[Practice, Collection[int]], Mapping[int, Use]]
_keepers: list[Keeper] = []
NONE = Use()


def keeps_uses(keeper: Keeper) -> Keeper:
    """Registers a function that gives the uses of templates by their primary keys, at a constant number of queries."""
    if keeper not in _keepers:
        _keepers.append(keeper)
    return keeper


def uses_of(practice: Practice, outlines: Collection[int]) -> dict[int, Use]:
    """The use of each of these templates; none where nobody keeps any."""
    found = dict.fromkeys(outlines, NONE)
    for keeper in _keepers:
        for pk, use in keeper(practice, outlines).items():
            found[pk] = _sum([found[pk], use])
    return found


@dataclass(frozen=True, slots=True)
class Version:
    """One version of a template, with who trains by it."""

    number: int
    public_id: UUID
    made_on: datetime
    shown: bool
    newest: bool
    archived: bool
    use: Use


def versions_of(outline: Outline) -> list[Version]:
    """All versions of a template, the newest first, this one among them; one query and those of the uses."""
    rows = {
        row.pk: row
        for row in Outline.objects.for_practice(outline.practice)
        .saved()
        .only("public_id", "version", "replaced_by", "created_at", "archived_at")
    }
    lines = _lines({pk: row.replaced_by_id for pk, row in rows.items()})
    line = next((line for line in lines if outline.pk in line), [])
    uses = uses_of(outline.practice, line)
    return [
        Version(
            rows[pk].version,
            rows[pk].public_id,
            rows[pk].created_at,
            pk == outline.pk,
            pk == line[0],
            rows[pk].archived_at is not None,
            uses[pk],
        )
        for pk in line
    ]


def uses_of_all_versions(practice: Practice) -> dict[int, tuple[Use, Use]]:
    """By the newest version's primary key its own use and that of the versions before it; one query and the uses'."""
    replaced = Outline.objects.for_practice(practice).saved().values_list("pk", "replaced_by")
    lines = _lines(dict(replaced))
    uses = uses_of(practice, [pk for line in lines for pk in line])
    return {line[0]: (uses[line[0]], _sum([uses[pk] for pk in line[1:]])) for line in lines}


def _lines(replaced_by: Mapping[int, int | None]) -> list[list[int]]:
    """The versions of each template, the newest first."""
    before = {newer: older for older, newer in replaced_by.items() if newer is not None}
    lines = []
    for pk, newer in replaced_by.items():
        if newer in replaced_by:
            continue
        line = [pk]
        while line[-1] in before:
            line.append(before[line[-1]])
        lines.append(line)
    return lines


def _sum(uses: Collection[Use]) -> Use:
    return Use(
        tuple(trainee for use in uses for trainee in use.running),
        sum(use.ended for use in uses),
        sum(use.composing for use in uses),
    )
