"""The coach's choice of how sets run over the block that a draft becomes, steep rises among it: edits of the draft."""

from collections.abc import Sequence

from django.db import transaction

from clients.clock import today_for
from clients.models import Draft
from clients.reads.composing import draft_inputs, picks_of
from clients.reads.course import course_of, plan_of, refused_rises, stored_plan
from clients.reads.starting import Starting
from clients.services.drafts import StaleDraft, about, editing, locked
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine.compose.course import SetsPlan


def pin_rises(draft: Draft, revision: int, coach: Coach, reason: str) -> bool:
    """The coach means the steep rises that the draft's first round has now, for this reason; it stays with the block.

    False where there is none. Raises StaleDraft.
    """
    inputs = draft_inputs(draft)
    starting = Starting.gather(draft.client, draft.place, draft.starts_on, inputs.ids)
    course = course_of(draft, inputs, picks_of(draft.document, inputs.merged), starting, rounds=1)
    groups = {str(why.params["group"]): why.params["now"] for why in refused_rises(course, {})}
    if not groups:
        return False
    with editing(draft, revision, coach, "draft.rises") as newest:
        on = today_for(newest.client).isoformat()
        newest.document["rises"] = {"groups": groups, "reason": reason, "by": coach.name, "on": on}
    return True


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
