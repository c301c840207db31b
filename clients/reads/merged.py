"""Sets of old sheets: which of them were done with a line's own exercise although it has another name today."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from clients.models import LoggedSet
from programs.merged import sources


def gather_merged(logged: Sequence[LoggedSet], lines: Iterable[Mapping[str, Any]]) -> None:
    """Gives sets that seem to be of another exercise than their line the keys of what was merged into theirs.

    ``logged`` come with their exercises. No query where every set is of its line's own exercise.
    """
    named = {int(line["number"]): line["exercise"]["id"] for line in lines if not line["free"]}
    others = [row for row in logged if row.line in named and row.exercise.key != named[row.line]]
    found = sources({row.exercise_id: row.exercise for row in others}.values())
    for row in others:
        row.merged_from = found[row.exercise_id]
