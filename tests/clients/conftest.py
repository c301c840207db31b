"""What many tests of clients begin with."""

from datetime import timedelta

import pytest

from clients.clock import today_for
from clients.services import links
from tests.clients.sheets import add_line, handed_out, session_for
from tests.clients.weeks import small_week
from tests.factories import DraftFactory, ProposalFactory


@pytest.fixture
def week(ana, ben):
    """The template that Ben’s week is composed from: one day type of three slots, twice."""
    return small_week(ben)


@pytest.fixture
def today(ben):
    return today_for(ben)


@pytest.fixture
def training(ben, today):
    """Yesterday without a log, today and next week to come, both with a sheet out; a proposal, a draft, three links."""
    late = session_for(ben, name="Lower A", planned_on=today - timedelta(days=1), position=0)
    now = session_for(ben, name="Upper A", planned_on=today, position=1)
    later = session_for(ben, name="Lower A", planned_on=today + timedelta(days=7), position=2, cycle=2)
    for session in (late, now, later):
        add_line(session)
    handed_out(now), handed_out(later)
    ProposalFactory(client=ben, session=later, slot_key="slot-0")
    DraftFactory(client=ben)
    links.client_link(ben), links.sheet_link(now), links.calendar_feed(ben)
    return late, now, later
