"""Stand-ins on a sheet: the slot filled again, within every limit that holds on the day."""

import pytest

from clients.models import TrainingSession
from clients.reads import swaps
from clients.reads.swaps import swaps_for
from clients.services import blocks
from tests.clients.weeks import draft_for
from tests.factories import LimitFactory

pytestmark = pytest.mark.django_db


def session_of(block):
    return TrainingSession.objects.with_lines().get(pk=block.sessions.first().pk)


def assigned(ana, ben, week):
    draft, _week = draft_for(ben, ana, week)
    return blocks.assign_block(draft, 1, ana)


def named(swaps, slot):
    return {row.name for row in swaps[slot]}


def test_stand_ins_fill_the_same_slot_with_what_the_session_does_not_hold(ana, ben, week):
    session = session_of(assigned(ana, ben, week))
    held = {line.exercise.name for line in session.prescriptions.all()}
    swaps = swaps_for(session, ben)
    assert set(swaps) == {"press", "row", "squat"}
    for slot in swaps:
        assert 1 <= len(swaps[slot]) <= 2
        assert all(name.startswith(slot) and name not in held for name in named(swaps, slot))


def test_what_is_spared_is_no_stand_in_even_where_the_block_may_load_it(ana, ben, week):
    block = assigned(ana, ben, week)
    for name, exercise in week.exercises.items():
        if name in ("press 2", "press 3"):
            exercise.joints.create(joint="shoulder_overhead", severity=2)
    LimitFactory(client=ben)
    block.document["given_up"] = [{"code": "free.load_spared_joint", "params": {"joint": "shoulder_overhead"}}]
    block.save()
    swaps = swaps_for(session_of(block), ben)
    assert named(swaps, "press") <= {"press 0", "press 1"}


def test_a_station_that_was_agreed_for_the_block_is_there(ana, ben, week, monkeypatch):
    # All that would do, not the first two of equals: keys are random, and they decide between equals.
    monkeypatch.setattr(swaps, "SWAPS_A_LINE", len(week.exercises))
    block = assigned(ana, ben, week)
    week.place.stations.filter(kind="barbell").delete()
    held = {line.exercise.name for line in session_of(block).prescriptions.all()}
    barbells = {f"{kind} {number}" for kind in ("press", "row", "squat") for number in (1, 3)} - held

    def offered():
        found = swaps_for(session_of(block), ben)
        return {name for slot in found for name in named(found, slot)} & barbells

    assert not offered()
    block.document["given_up"] = [{"code": "free.add_station", "params": {"station": "barbell"}}]
    block.save()
    assert offered()
