"""Which blocks and open drafts come from a template."""

from collections.abc import Collection

from django.db.models import Count
from django.urls import reverse

from clients.models import Block, Draft
from coachdesk.practice.models import Practice
from programs.outline_uses import Trainee, Use


def outline_uses(practice: Practice, outlines: Collection[int]) -> dict[int, Use]:
    """By the templates' primary keys, two queries: of a running block its client, of all others how many there are."""
    running: dict[int, list[Trainee]] = {}
    ended: dict[int, int] = {}
    blocks = (
        Block.objects.for_practice(practice)
        .filter(outline__in=outlines)
        .order_by("client__name", "number")
        .values_list("outline_id", "state", "client__name", "client__public_id")
    )
    for outline, state, name, public_id in blocks:
        if state == Block.State.ACTIVE:
            running.setdefault(outline, []).append(Trainee(name, reverse("client-block", args=[public_id])))
        else:
            ended[outline] = ended.get(outline, 0) + 1
    drafts = Draft.objects.for_practice(practice).filter(outline__in=outlines, state=Draft.State.OPEN)
    composing = dict(drafts.order_by().values_list("outline_id").annotate(Count("pk")))
    return {
        pk: Use(tuple(running.get(pk, ())), ended.get(pk, 0), composing.get(pk, 0))
        for pk in {*running, *ended, *composing}
    }
