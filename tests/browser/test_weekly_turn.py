"""A whole weekly turn: forty clients, three of them hard, and at most twelve actions up to the sheets."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from clients.clock import today_for
from clients.models import Client, LoggedSet, Proposal, SheetVersion, TrainingSession
from clients.receiving import take_pain
from clients.services.going_out import review
from coachdesk.practice.models import Coach, JournalEntry
from programs.units import columns, load_of
from tests.browser.windows import Window
from tests.crowd import crowd_of
from tests.factories import CoachFactory, PracticeFactory

pytestmark = pytest.mark.journey
CLIENTS, MOST_ACTIONS = 40, 12


class Turn:
    """The coach's hands: every click on a link or a button is an action, typing is not."""

    def __init__(self, window: Window) -> None:
        self.window = window
        self.actions = 0

    @property
    def page(self) -> Page:
        return self.window.page

    def click(self, what: Locator) -> None:
        self.actions += 1
        what.click()

    def desk(self) -> None:
        self.click(self.page.get_by_role("banner").get_by_role("link", name="Desk", exact=True))
        expect(self.page).to_have_url(f"{self.window.url}{reverse('desk')}")


@pytest.fixture
def practice(live_server) -> tuple[Coach, list[Client]]:
    """Forty demo clients five weeks into their block: one hurts, one was away, one typed ten times the load."""
    coach = CoachFactory(practice=PracticeFactory(name="Net Loft"), name="Sanna K.", is_owner=True)
    clients = crowd_of(coach, CLIENTS)
    hurting, away, doubtful, *others = clients
    take_pain(hurting, key="p", score=4, body_part="shoulder", side="left", felt_on=today_for(hurting))
    stay_away(away, today_for(away) - timedelta(days=17))
    type_tenfold(doubtful)
    for client in clients:
        review(client)
    easy = Proposal.objects.waiting().filter(client__in=others)
    assert not easy.filter(plain=False).exists()
    assert not Proposal.objects.waiting().exclude(client__in=others).filter(plain=True).exists()
    return coach, clients


def stay_away(client: Client, since: date) -> None:
    """Nothing was trained from that day on, and it is known."""
    missed = TrainingSession.objects.filter(block__client=client, state="trained", planned_on__gte=since)
    LoggedSet.objects.filter(session__in=missed).delete()
    missed.update(state="missed", trained_on=None)


def type_tenfold(client: Client) -> None:
    """The last set that came in has a zero too many, and waits to be looked at."""
    last = LoggedSet.objects.filter(client=client).order_by("performed_on", "order").last()
    meant = last.load_value
    params = {"usual": float(meant), "load": float(10 * meant), "unit": "kg", "offer_load": float(meant)}
    params |= {"offer_unit": "kg", "offer_reps": last.reps}
    for name, value in columns(load_of(10 * meant, "kg")).items():
        setattr(last, name, value)
    last.state = LoggedSet.State.ASKED
    last.doubts = [{"code": "ten_times", "params": params}]
    last.save()


def test_the_weekly_turn_of_forty_clients(visit, practice):
    coach, clients = practice
    hurting, away, doubtful, *others = clients
    turn = Turn(visit(coach=coach))
    turn.window.go("/")
    page = turn.page
    easy = Proposal.objects.waiting().filter(client__in=others).count()
    expect(page.get_by_role("button", name=f"Accept {easy} plain proposals")).to_be_visible()

    settle_the_doubt(turn, doubtful)
    answer_the_pain(turn, hurting)
    accept_after_time_away(turn, away)

    # Everybody who is uncontroversial by now costs one action altogether.
    turn.desk()
    plain = Proposal.objects.waiting().filter(plain=True)
    count, whose = plain.count(), set(plain.values_list("client", flat=True))
    assert {client.pk for client in others} <= whose
    turn.click(page.get_by_role("button", name=f"Accept {count} plain proposals"))
    expect(page.locator("#toasts")).to_contain_text(f"Accepted {count} plain proposals.")
    assert not Proposal.objects.waiting().filter(client__in=others).exists()

    turn.click(page.get_by_role("button", name=f"Send {2 * CLIENTS}"))
    expect(page.locator("#toasts")).to_contain_text("Sent ")
    sent_to = set(SheetVersion.objects.standing().values_list("session__block__client", flat=True))
    assert sent_to == {client.pk for client in clients}
    assert not Proposal.objects.waiting().exists()
    assert turn.actions <= MOST_ACTIONS
    everything_is_told(coach, clients)


def settle_the_doubt(turn: Turn, client: Client) -> None:
    """One tap takes the likelier load, and what comes next is reckoned with it."""
    meant = LoggedSet.objects.filter(client=client).counting().last().load_value
    row = turn.page.locator("li.decision").filter(has_text=client.initials).filter(has_text="doubt")
    turn.click(row.get_by_role("button", name=f"{meant.normalize():f} kg"))
    expect(turn.page.locator("#toasts")).to_be_visible()
    assert not LoggedSet.objects.filter(client=client, state=LoggedSet.State.ASKED).exists()
    assert not Proposal.objects.waiting().filter(client=client, plain=False).exists()


def answer_the_pain(turn: Turn, client: Client) -> None:
    """The report is read and answered in words; until then nothing that loads the shoulder went on."""
    page = turn.page
    assert Proposal.objects.waiting().filter(client=client, kind="freeze").exists()
    row = page.locator("li.decision").filter(has_text="pain 4 of 10")
    turn.click(row.get_by_role("link", name="Answer"))
    page.get_by_label("What you decide").fill("Talked it through: go on.")
    turn.click(page.get_by_role("button", name="Answer"))
    expect(page.locator("#toasts")).to_be_visible()
    assert not Proposal.objects.waiting().filter(client=client, kind="freeze").exists()


def accept_after_time_away(turn: Turn, client: Client) -> None:
    """All lighter loads of one client are looked at on their page and accepted there."""
    page = turn.page
    turn.desk()
    rows = page.locator("li.decision").filter(has_text="return").filter(has_text=client.initials)
    turn.click(rows.first.get_by_role("link", name=client.initials, exact=True))
    expect(page.get_by_text("None of them is plain: It follows time away.")).to_be_visible()
    waiting = Proposal.objects.waiting().filter(client=client)
    count = waiting.count()
    turn.click(page.get_by_role("button", name=f"Accept all {count} proposals"))
    expect(page.locator("#toasts")).to_contain_text(f"Accepted {count} proposals")
    assert not waiting.exists()


def everything_is_told(coach: Coach, clients: list[Client]) -> None:
    """Each decision has somebody who took it, and the acts of the turn are few."""
    decided = Proposal.objects.decided().filter(client__in=clients)
    assert set(decided.values_list("decided_by", flat=True)) == {coach.pk}
    acts = JournalEntry.objects.filter(actor=coach, act__in=("proposal.accept", "sheet.issue"))
    assert acts.filter(act="proposal.accept").count() == 2
    assert acts.filter(act="sheet.issue").count() == 1
    lighter = Proposal.objects.decided().filter(client=clients[1]).first()
    assert Decimal(str(lighter.new["load"])) < Decimal(str(lighter.old["load"]))


def test_one_client_is_taken_out_before_confirming(visit, live_server):
    """The list under the button says whose proposals go together; without one of them the button says how many."""
    coach = CoachFactory(practice=PracticeFactory(name="Net Loft"), name="Sanna K.", is_owner=True)
    first, second = crowd_of(coach, 2)
    for client in (first, second):
        review(client)
    theirs = {client: Proposal.objects.waiting().filter(client=client).count() for client in (first, second)}
    window = visit(coach=coach)
    page = window.go("/")
    page.get_by_text("2 clients are accepted with the one button").click()
    page.get_by_role("checkbox", name=first.initials).uncheck()
    page.get_by_role("button", name=f"Accept {theirs[second]} plain proposals").click()
    expect(page.locator("#toasts")).to_contain_text(f"Accepted {theirs[second]} plain proposals.")
    assert Proposal.objects.waiting().filter(client=first).count() == theirs[first]


def test_the_desk_follows_a_decision_in_place(visit, live_server):
    coach = CoachFactory(practice=PracticeFactory(name="Net Loft"), name="Sanna K.", is_owner=True)
    (client,) = crowd_of(coach, 1)
    review(client)
    window = visit(coach=coach)
    page = window.go("/?plain=1")
    count = Proposal.objects.waiting().count()
    expect(page.locator("#desk-state")).to_contain_text(f"{count} decisions for 1 client")
    page.locator("li.decision").get_by_role("button", name="Accept").first.click()
    expect(page.locator("li.decided")).to_be_visible()
    expect(page.locator("#desk-state")).to_contain_text(f"{count - 1} decisions for 1 client")
    expect(page.get_by_role("button", name=f"Accept {count - 1} plain proposals")).to_be_visible()
