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
            before = found[pk]
            found[pk] = Use((*before.running, *use.running), before.ended + use.ended, before.composing + use.composing)
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
        .filter(in_work=False)
        .only("public_id", "version", "replaced_by", "created_at", "archived_at")
    }
    after: dict[int, int] = {pk: row.replaced_by_id for pk, row in rows.items() if row.replaced_by_id in rows}
    before = {newer: older for older, newer in after.items()}
    newest = outline.pk
    while newest in after:
        newest = after[newest]
    line = [newest] if newest in rows else []
    while line and line[-1] in before:
        line.append(before[line[-1]])
    uses = uses_of(outline.practice, line)
    return [
        Version(
            rows[pk].version,
            rows[pk].public_id,
            rows[pk].created_at,
            pk == outline.pk,
            pk == newest,
            rows[pk].archived_at is not None,
            uses[pk],
        )
        for pk in line
    ]
