"""The coach's choice of how sets run over the block that a draft becomes: one more edit of the draft."""

from collections.abc import Sequence

from django.db import transaction

from clients.models import Draft
from clients.reads.course import plan_of, stored_plan
from clients.services.drafts import StaleDraft, about, locked
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine.compose.course import SetsPlan


def set_course(
    draft: Draft, revision: int, coach: Coach, plan: SetsPlan, deload_weeks: Sequence[int]
) -> JournalEntry | None:
    """Keeps the plan and the easier rounds; none of these means that a deload comes on call. None: nothing changed.

    Raises StaleDraft when ``revision`` is not what was on screen.
    """
    with transaction.atomic():
        newest = locked(draft)
        if newest.revision != revision or newest.state != Draft.State.OPEN:
            raise StaleDraft(newest)
        if plan_of(newest.document) == plan and newest.deload_weeks == list(deload_weeks):
            return None
        with journal.act(newest.client.practice, coach, "draft.course", about=about(newest)) as entry:
            entry.change(newest)
            newest.document = {**newest.document, "course": stored_plan(plan)}
            newest.deload_weeks = list(deload_weeks)
            newest.revision += 1
            newest.save(update_fields=["document", "deload_weeks", "revision", "changed_at"])
    draft.refresh_from_db()
    return entry.entry
