"""What waits for one client, and what was decided: by whom, when, and what went out by itself."""

from datetime import timedelta

from django.db.models import F, QuerySet
from django.utils import timezone

from clients.models import Client, Proposal
from coachdesk.practice.models import JournalEntry

WENT_OUT = "proposal.went_out"
RECENT = timedelta(days=14)


def waiting_of(client: Client) -> list[Proposal]:
    """Proposals that wait, in the order of their sessions and lines; those without a date last. One query."""
    rows = Proposal.objects.filter(client=client).waiting().select_related("exercise", "session__block")
    return list(
        rows.order_by(F("session__planned_on").asc(nulls_last=True), "session__cycle", "session__position", "pk")
    )


def decisions_of(client: Client) -> QuerySet[Proposal]:
    """What was decided, the newest first."""
    rows = Proposal.objects.filter(client=client).decided()
    return rows.select_related("exercise", "session__block", "decided_by").order_by("-decided_at", "-pk")


def lately_by_itself(client: Client) -> list[JournalEntry]:
    """Acts of the last two weeks that went out by themselves and can be taken back, the newest first. One query."""
    rows = JournalEntry.objects.for_practice(client.practice).undoable()
    since = timezone.now() - RECENT
    found = rows.filter(act=WENT_OUT, about=f"client:{client.public_id}", at__gte=since)
    return list(found.defer("rows", "moves").order_by("-pk"))
