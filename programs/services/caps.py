"""Changing how far loads may change at once in a practice, and what is tried where they can't rise."""

from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs import capping
from programs.engine.progress import Caps
from programs.models import OwnCaps

ABOUT = "caps"
ACT = "caps.save"


def save_caps(coach: Coach, caps: Caps, levers: tuple[str, ...]) -> JournalEntry | None:
    """Keeps what differs from the usual; None where nothing changed. What was decided stays; what waits is reckoned
    again."""
    own = capping.own_of(caps, levers)
    with journal.act(coach.practice, coach, ACT, about=ABOUT) as entry:
        row = OwnCaps.objects.select_for_update().filter(practice=coach.practice).first()
        if own == (row.own if row else {}):
            return None
        if row is None:
            entry.made(OwnCaps.objects.create(practice=coach.practice, own=own))
        else:
            entry.change(row)
            row.own = own
            row.save(update_fields=["own"])
        capping.changed(coach.practice)
    return entry.entry


@journal.follows_undo
def follow_undo(entry: JournalEntry, _actor: Coach | None) -> None:
    if entry.act == ACT:
        capping.changed(entry.practice)
