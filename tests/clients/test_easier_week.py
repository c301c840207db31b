"""When an easier week is due by what was logged: told with its signs, beside what waits and on the block's page."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from clients.models import SessionNote
from clients.reads.fatigue import DUE, SIGNS, told
from clients.services import proposals
from programs.engine.progress.fatigue import SIGNS as ENGINE_SIGNS
from tests.clients.trained import TODAY, line_in, log, proposed, session_of, weeks_of
from tests.factories import MONDAY, BlockFactory, ExerciseFactory, HealthAnswersFactory, StationFactory


@pytest.fixture(autouse=True)
def _today(monkeypatch):
    for module in ("clients.services.proposing", "clients.services.sheets"):
        monkeypatch.setattr(f"{module}.today_for", lambda client: TODAY)


@pytest.fixture
def block(ben):
    block = BlockFactory(client=ben, weeks=8, deload_weeks=[8])
    StationFactory(place=block.place, loads={"list": [str(load) for load in range(2, 41)]})
    HealthAnswersFactory(client=ben, answered_on=MONDAY)
    return block


@pytest.fixture
def lifts(ana, block):
    """Three lifts, five weeks alike; the sixth week is planned."""
    rows = [ExerciseFactory(practice=ana.practice, name=name, role="secondary") for name in ("Row", "Press", "Squat")]
    for row in rows:
        weeks_of(block, row, 4, slot=row.name.lower())
    for line, row in enumerate(rows, start=1):
        line_in(session_of(block, 5), row, slot=row.name.lower())
        line_in(session_of(block, 6), row, slot=row.name.lower())
        log(session_of(block, 5), row, [(20, 7, 2)] * 3, slot=row.name.lower(), line=line)
    return rows


def too_hard(block):
    """The last session's first sets went to failure where two were to be left."""
    block.client.logged_sets.filter(session__cycle=5).update(rir=0)


def tired(block):
    """Sessions far harder than those before, at like work."""
    for cycle, effort in ((2, 6), (3, 6), (4, 6), (5, 9)):
        SessionNote.objects.create(session=session_of(block, cycle), effort=effort)
    block.client.logged_sets.filter(session__cycle=5).update(performed_on=TODAY - timedelta(days=6))
    block.sessions.filter(cycle=5).update(trained_on=TODAY - timedelta(days=6))


def against(ben, slot="press"):
    return {reason["code"] for reason in proposed(ben, slot).new["not_plain"]}


def test_two_signs_within_a_fortnight_make_it_due(ben, block, lifts):
    too_hard(block)
    assert DUE not in against(ben)
    tired(block)
    assert {DUE, "fatigue_first_sets_harder", "fatigue_sessions_harder"} <= against(ben)
    assert not proposed(ben).plain
    assert [reason["code"] for reason in told(ben)] == ["fatigue_sessions_harder", "fatigue_first_sets_harder"]


def test_an_easier_session_that_comes_is_not_asked_for_another(ben, block, lifts):
    too_hard(block)
    tired(block)
    block.sessions.filter(cycle=6).update(deload=True)
    assert DUE not in against(ben)


def test_the_calendar_alone_asks_for_none(ben, block, lifts):
    """A block without easier weeks was made so by the coach."""
    block.deload_weeks = []
    block.save()
    for row in lifts:
        log(session_of(block, 6), row, [(20, 7, 2)] * 3, slot=row.name.lower())
    line_in(session_of(block, 7), lifts[1])
    assert DUE not in against(ben)


def test_a_week_missed_altogether_has_done_its_work(ben, block, lifts, monkeypatch):
    too_hard(block)
    tired(block)
    monkeypatch.setattr("clients.services.proposing.today_for", lambda client: TODAY + timedelta(days=10))
    assert DUE not in against(ben)


def test_the_blocks_page_tells_the_signs_and_leads_to_an_easier_week(as_ana, ben, block, lifts):
    page = reverse("client-block", args=[ben.public_id])
    assert "An easier week is due" not in as_ana.get(page).content.decode()
    too_hard(block)
    tired(block)
    proposals.refresh(ben)
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", as_ana.get(page).content.decode()))
    assert "An easier week is due by what was logged: Sessions feel harder by 3" in text
    assert "act=ease" in as_ana.get(page).content.decode()


def test_every_sign_is_one_that_can_be_told():
    assert {f"fatigue_{code}" for code in ENGINE_SIGNS} == SIGNS
