"""What of a block goes along into the next one, in names."""

from dataclasses import dataclass
from datetime import date

from clients.cycles import cycle_days_of
from clients.models import Block, Draft
from clients.reads.rotating import rotated_of
from programs.engine.compose.rotation import ROTATE
from programs.models import Exercise


@dataclass(frozen=True, slots=True)
class Along:
    """Names of the exercises that stalled and of those done long enough; what the coach had of their own, in names.

    ``pinned`` counts picks.
    """

    stalled: list[str]
    due: list[str]
    added: list[str]
    removed: list[str]
    pinned: int


def as_assigned(block: Block) -> Draft | Block:
    """What the client's newest block was before it was steered: the draft that it was made of, for its weeks and easier
    rounds; the block itself where its rounds are others by now. One query."""
    drafts = block.client.drafts.filter(state=Draft.State.ASSIGNED, outline=block.outline_id)
    draft = drafts.filter(created_at__lte=block.created_at).order_by("-pk").first()
    return draft if draft is not None and cycle_days_of(draft.document) == block.cycle_days else block


def carried_along(block: Block, on: date) -> Along:
    """Nine queries, however long the block's past."""
    found = rotated_of(block.client, on, ROTATE)
    wanted = {key for keys in found.values() for key in keys}
    rows = Exercise.objects.for_practice(block.client.practice).filter(public_id__in=wanted)
    names = {row.key: row.name for row in rows}
    document = block.document
    removed = document.get("removed_slots", [])
    gone = {row["slot"] for row in removed}
    return Along(
        stalled=sorted(names[key] for key in found["stalled"] if key in names),
        due=sorted(names[key] for key in found["due"] if key in names),
        added=[row["title"] for row in document.get("added_slots", []) if row["key"] not in gone],
        removed=[row["title"] for row in removed],
        pinned=sum(bool(row.get("pinned")) for row in document.get("picks", [])),
    )
