"""Putting templates away and taking them out again. Blocks, drafts and clients keep what they came from."""

from django.utils import timezone

from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.models import Outline
from programs.services.rows import about


def archive_outline(outline: Outline, coach: Coach) -> JournalEntry | None:
    """Composing offers it no more. None where it was archived already."""
    return _shelve(outline, coach, "outline.archive", away=True)


def restore_outline(outline: Outline, coach: Coach) -> JournalEntry | None:
    """Composing offers it again. None where it was not archived."""
    return _shelve(outline, coach, "outline.restore", away=False)


def _shelve(outline: Outline, coach: Coach, act: str, *, away: bool) -> JournalEntry | None:
    with journal.act(coach.practice, coach, act, about=about(outline), name=outline.name) as entry:
        kept = Outline.objects.select_for_update().for_practice(coach.practice).get(pk=outline.pk)
        if (kept.archived_at is not None) != away:
            entry.change(kept)
            kept.archived_at = timezone.now() if away else None
            kept.save(update_fields=["archived_at"])
    return entry.entry
