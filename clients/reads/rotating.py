"""What the last block's exercises have come to: which no longer serve, and which were done long enough."""

from datetime import date, timedelta

from clients.models import Client
from clients.reads.composing import picks_of
from clients.reads.history import history_of
from programs.engine.compose.rotation import Kept, rotation
from programs.engine.trend import trend
from programs.merged import ends
from programs.models import Exercise

LOOKED_BACK = timedelta(weeks=26)


def rotated_of(client: Client, on: date, way: str) -> dict[str, list[str]]:
    """{"stalled": [keys], "due": [keys]} of the last block's exercises in a block from ``on``: seven queries at most.

    ``way`` is "keep" or "rotate". Both are empty for somebody without a block.
    """
    document = client.blocks.order_by("-number").values_list("document", flat=True).first()
    if not document:
        return {"stalled": [], "due": []}
    rows = list(Exercise.objects.for_practice(client.practice).select_related("merged_into"))
    merged = ends({row.key: row.merged_into.key for row in rows if row.merged_into is not None})
    wanted = {pick.exercise for pick in picks_of(document, merged)}
    history = history_of(client, client.unit, since=on - LOOKED_BACK)
    kept = {}
    for row in rows:
        exposures = history.by_exercise.get(row.pk, ())
        if row.key not in wanted or not exposures:
            continue
        seen = trend(
            exposures,
            today=on,
            experience=client.experience,
            load_entry=row.load_entry,
            bodyweight_fraction=float(row.bodyweight_fraction),
        )
        kept[row.key] = Kept(row.role, tuple(sorted({one.day for one in exposures})), seen.verdict)
    found = rotation(kept, on, way)
    return {"stalled": sorted(found.stalled), "due": sorted(found.due)}
