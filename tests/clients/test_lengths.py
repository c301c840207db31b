"""Minutes of a session follow what it asks for now, wherever they are told."""

import pytest
from django.urls import reverse

from clients.board.weeks import weeks_of_block
from clients.models import TrainingSession
from clients.reads.lengths import length_of, lengths_of
from clients.services import blocks, proposals, sheets
from clients.services.proposals import Change
from programs.units import load_of
from tests.clients.lifting import TODAY, dumbbell_press, five_weeks, loft_block
from tests.clients.weeks import draft_for
from tests.factories import ExerciseFactory, PrescriptionFactory, TrainingSessionFactory


def with_lines(session):
    return TrainingSession.objects.with_lines().get(pk=session.pk)


@pytest.fixture
def line(ben, ana, monkeypatch):
    """A press of three sets, decided with the coach's own numbers: ten sets."""
    for module in ("clients.services.proposing", "clients.services.sheets"):
        monkeypatch.setattr(f"{module}.today_for", lambda client: TODAY)
    found = five_weeks(loft_block(ben), dumbbell_press(ana.practice))
    found.session.minutes = 20
    found.session.save()
    return found


def test_an_assigned_session_takes_what_composing_said(ana, ben, week):
    block = blocks.assign_block(draft_for(ben, ana, week)[0], 1, ana)
    found = list(block.sessions.all())
    assert lengths_of(found) == {session.pk: session.minutes for session in found}


def test_more_sets_take_longer_on_every_page(as_ana, ana, ben, line):
    proposals.refresh(ben)
    before = length_of(with_lines(line.session))
    proposals.accept(
        ben.proposals.waiting().get(), ana, change=Change(load_of("20", "kg"), sets=10, reps_low=8, reps_high=8)
    )
    after = length_of(with_lines(line.session))
    # Seven more sets of 8 repetitions with 150 s of rest each.
    assert after - before > 7 * 2.5
    assert f"{after}" in as_ana.get(reverse("session", args=[line.session.public_id])).content.decode()
    assert f"{after} min" in as_ana.get(reverse("client-calendar", args=[ben.public_id])).content.decode()
    assert sheets.issue_sheet(line.session, ana).version.document["session"]["minutes"] == after
    (cell,) = [
        cell
        for row in weeks_of_block(line.session.block).rows
        for cell in row.cells
        if cell is not None and cell.session == line.session
    ]
    assert cell.minutes == after


def test_a_sheet_that_is_out_tells_its_new_length(ana, ben, line):
    line.target_sets.update(load_value=20, load_unit="kg", load_grams=20000)
    first = sheets.issue_sheet(line.session, ana).version
    proposals.refresh(ben)
    proposals.accept(
        ben.proposals.waiting().get(), ana, change=Change(load_of("20", "kg"), sets=6, reps_low=8, reps_high=8)
    )
    newest = line.session.versions.standing().get()
    assert newest.document["session"]["minutes"] > first.document["session"]["minutes"]


def test_a_superset_and_a_free_line_count(ana, ben, line):
    session = line.session
    alone = length_of(with_lines(session))
    other = PrescriptionFactory(
        session=session,
        exercise=ExerciseFactory(practice=ana.practice, name="Row", role="secondary"),
        position=1,
        slot_key="row",
    )
    apart = length_of(with_lines(session))
    for one in (line, other):
        one.superset = "a"
        one.save()
    in_turns = length_of(with_lines(session))
    assert alone < in_turns < apart
    PrescriptionFactory(session=session, exercise=None, text="Walk", minutes=5, position=2, target_sets=None)
    assert length_of(with_lines(session)) == in_turns + 5


def test_without_lines_it_takes_what_was_assigned(ben):
    session = TrainingSessionFactory(block__client=ben, minutes=45)
    assert length_of(with_lines(session)) == 45
    assert lengths_of([session]) == {session.pk: 45}


@pytest.mark.parametrize("count", [1, 30])
def test_many_cost_as_much_as_one(ben, count, django_assert_num_queries):
    first = TrainingSessionFactory(block__client=ben, cycle=1)
    made = [first]
    made += [TrainingSessionFactory(block=first.block, cycle=number) for number in range(2, count + 1)]
    for session in made:
        PrescriptionFactory(session=session)
    with django_assert_num_queries(2):
        found = lengths_of(made)
    assert found == {session.pk: length_of(with_lines(session)) for session in made}
