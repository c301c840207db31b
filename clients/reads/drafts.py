"""What there is to compose: open drafts, clients without a block, blocks that end soon."""

from dataclasses import dataclass
from datetime import date, timedelta

from clients.clock import today_for
from clients.models import Block, Client, Draft
from coachdesk.practice.models import Practice

SOON = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Ending:
    client: Client
    block: Block
    last_day: date
    over: bool


@dataclass(frozen=True, slots=True)
class ToCompose:
    drafts: list[Draft]
    without: list[Client]
    ending: list[Ending]
    others: list[Client]

    @property
    def nobody(self) -> bool:
        return not (self.drafts or self.without or self.ending or self.others)


def to_compose(practice: Practice) -> ToCompose:
    """Active clients by what they need, each under one head: three queries however many."""
    clients = list(Client.objects.for_practice(practice).active().filter(intake_step=0))
    open_drafts = (
        Draft.objects.for_practice(practice)
        .filter(state=Draft.State.OPEN)
        .select_related("client", "outline", "place")
        .order_by("client__name")
    )
    drafts = list(open_drafts)
    drafted = {draft.client_id for draft in drafts}
    running = {block.client_id: block for block in Block.objects.for_practice(practice).active()}
    without, ending, others = [], [], []
    for client in clients:
        if client.pk in drafted:
            continue
        block = running.get(client.pk)
        if block is None:
            without.append(client)
            continue
        last_day = block.last_day
        today = today_for(client)
        if last_day - today <= SOON:
            ending.append(Ending(client, block, last_day, last_day < today))
        else:
            others.append(client)
    ending.sort(key=lambda row: (row.last_day, row.client.name))
    return ToCompose(drafts, without, ending, others)
