"""Changing what the rules of composing weigh in a practice."""

from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine.compose import Weights
from programs.models import OwnWeights

ABOUT = "weights"


def save_weights(coach: Coach, weights: Weights) -> JournalEntry | None:
    """Keeps what differs from the usual weights; None where nothing changed. Composed weeks stay as they are."""
    with journal.act(coach.practice, coach, "weights.save", about=ABOUT) as entry:
        row = OwnWeights.objects.filter(practice=coach.practice).first()
        before = Weights.of(row.own if row else {})
        if weights == before:
            return None
        changed = [name for name in weights.as_dict() if getattr(weights, name) != getattr(before, name)]
        entry.params["count"] = len(changed)
        if row is None:
            entry.made(OwnWeights.objects.create(practice=coach.practice, own=weights.own))
        else:
            entry.change(row)
            row.own = weights.own
            row.save(update_fields=["own"])
    return entry.entry
