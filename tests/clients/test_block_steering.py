"""Steering a running block: shown first, then done exactly so, with trained sessions left alone and one undo."""

import re
from datetime import timedelta

import pytest
from django.core import serializers
from django.urls import reverse

from clients.acts import act_words
from clients.models import (
    Block,
    Client,
    Prescription,
    Proposal,
    SheetVersion,
    TargetSet,
    TrainingSession,
)
from clients.reads.lengths import lengths_of
from clients.reads.steering import Asked, plan
from clients.services import blocks, shorter, steering
from clients.services.proposing import refresh
from clients.services.sheets import issue_week
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.engine.terms import Because
from programs.units import load_of
from tests.clients.weeks import draft_for
from tests.factories import HealthAnswersFactory, LoggedSetFactory, PlaceFactory, StationFactory, TargetSetFactory

pytestmark = pytest.mark.django_db
State = TrainingSession.State
WEEK = timedelta(days=7)


@pytest.fixture
def block(ana, ben, week, today):
    """Four weeks of two sessions, the first of them this week, the last one easier."""
    ben.days = [today.weekday(), (today.weekday() + 3) % 7]
    ben.save()
    draft, _week = draft_for(ben, ana, week, starts_on=today, deload_weeks=[4])
    return blocks.assign_block(draft, draft.revision, ana)


def in_order(block):
    return list(block.sessions.order_by("cycle", "position"))


def places(block):
    return [(row.cycle, row.position, row.planned_on, row.state) for row in in_order(block)]


def trained(*sessions):
    for session in sessions:
        session.state, session.trained_on = State.TRAINED, session.planned_on
        session.save()


def days(block, start):
    rows = block.sessions.exclude(state=State.DROPPED).order_by("cycle", "position")
    return [(row.planned_on - start).days for row in rows]


def do(client, coach, **asked):
    """What the page would show, done at once."""
    wanted = Asked(**asked)
    shown = plan(client, wanted)
    assert not isinstance(shown, Because), shown
    return steering.steer(client, coach, wanted, shown.digest)


def everything():
    """All rows that steering may write, as they stand."""
    kinds = (Block, TrainingSession, Prescription, TargetSet, SheetVersion)
    return {kind.__name__: serializers.serialize("json", kind.objects.order_by("pk")) for kind in kinds}


ACTS = {
    "shift": {"act": "shift", "days": 3},
    "again": {"act": "again", "round": 1},
    "insert": {"act": "insert", "round": 2, "easy": True},
    "drop": {"act": "drop", "round": 2},
    "drop and draw forward": {"act": "drop", "round": 2, "forward": True},
    "ease": {"act": "ease", "round": 2},
    "end": {"act": "end"},
}


@pytest.mark.parametrize("asked", ACTS.values(), ids=ACTS)
def test_one_undo_puts_every_row_back_and_one_more_does_it_again(ana, ben, block, asked):
    trained(in_order(block)[0])
    before = everything()
    _plan, entry = do(ben, ana, **asked)
    done = places(block)
    assert everything() != before
    undone = journal.undo(entry, ana)
    assert everything() == before
    journal.undo(undone, ana)
    assert places(block) == done


@pytest.mark.parametrize("asked", ACTS.values(), ids=ACTS)
def test_what_was_trained_or_begun_is_never_touched(ana, ben, block, asked):
    first, second, *_rest = in_order(block)
    trained(first)
    LoggedSetFactory(client=ben, session=second)
    before = serializers.serialize("json", [first, second])
    do(ben, ana, **asked)
    first.refresh_from_db()
    second.refresh_from_db()
    assert serializers.serialize("json", [first, second]) == before
    on = [row.planned_on for row in block.sessions.exclude(state=State.DROPPED)]
    assert len(on) == len(set(on))


def test_a_shift_moves_the_rest_and_the_end(ana, ben, block, today):
    trained(in_order(block)[0])
    shown = plan(ben, Asked("shift", days=7))
    assert (shown.steered.end_after - shown.steered.end_before).days == 7 and len(shown.changes) == 7
    do(ben, ana, act="shift", days=7)
    block.refresh_from_db()
    assert days(block, today) == [0, 10, 14, 17, 21, 24, 28, 31]
    assert (block.weeks, block.starts_on, block.deload_weeks) == (5, today, [4])


def test_a_block_that_did_not_begin_begins_later(ana, ben, block, today):
    do(ben, ana, act="shift", days=2)
    block.refresh_from_db()
    assert (block.starts_on, block.weeks) == (today + timedelta(days=2), 4)


def test_no_shift_onto_another_blocks_session(ana, ben, week, block, today):
    other = Block.objects.create(
        client=ben, outline=week.outline, place=week.place, number=9, starts_on=today, weeks=1, state=Block.State.ENDED
    )
    TrainingSession.objects.create(
        block=other, cycle=1, position=0, day_key="full", occurrence=0, name="X", planned_on=today + timedelta(days=1)
    )
    assert plan(ben, Asked("shift", days=1)).code == "steer.day_taken"


def test_a_week_again_has_the_same_sets_with_the_loads_in_force(ana, ben, block, today):
    first, second, third, *_rest = in_order(block)
    load(first, 20)
    load(third, 24)
    trained(first, second)
    do(ben, ana, act="again", round=1)
    block.refresh_from_db()
    assert (block.weeks, block.deload_weeks) == (5, [5])
    assert days(block, today) == [0, 3, 7, 10, 14, 17, 21, 24, 28, 31]
    again = block.sessions.get(cycle=2, position=0)
    assert (again.day_key, again.occurrence, again.name, again.minutes) == ("full", 0, first.name, first.minutes)
    assert lines(again) == [(slot, exercise, sets) for slot, exercise, sets in lines(first)]
    assert loads(again) == {24} and loads(first) == {20}
    assert {code_of(line) for line in again.prescriptions.all()} == {"steer.again"}
    assert refresh(ben) and not Proposal.objects.filter(session=again).exists()


def test_a_week_that_nobody_has_done_yet_comes_again_with_loads_to_be_proposed(ana, ben, block):
    load(in_order(block)[0], 20)
    do(ben, ana, act="again", round=3)
    again = block.sessions.get(cycle=4, position=0)
    assert loads(again) == {None} and {code_of(line) for line in again.prescriptions.all()} == {None}


def test_an_inserted_week_is_usual_or_eased_by_the_engine(ana, ben, block):
    trained(*in_order(block)[:2])
    do(ben, ana, act="insert", round=2)
    usual = block.sessions.get(cycle=2, position=0)
    assert lines(usual) == lines(in_order(block)[0]) and not usual.deload
    do(ben, ana, act="insert", round=2, easy=True)
    easier = block.sessions.get(cycle=2, position=0)
    assert easier.deload and lengths_of([easier])[easier.pk] < lengths_of([usual])[usual.pk]
    assert [sets for *_line, sets in lines(easier)] == [-(-sets // 2) for *_line, sets in lines(usual)]
    assert rir(easier) == {value + 2 for value in rir(usual)}
    block.refresh_from_db()
    assert (block.deload_weeks, block.weeks) == ([2, 6], 6)


def test_a_week_left_out_leaves_a_gap_or_draws_the_rest_forward(ana, ben, block, today):
    trained(*in_order(block)[:2])
    _plan, entry = do(ben, ana, act="drop", round=2)
    block.refresh_from_db()
    assert days(block, today) == [0, 3, 14, 17, 21, 24] and block.weeks == 4
    journal.undo(entry, ana)
    do(ben, ana, act="drop", round=2, forward=True)
    block.refresh_from_db()
    assert days(block, today) == [0, 3, 7, 10, 14, 17]
    assert (block.weeks, block.deload_weeks) == (3, [3])
    assert {row.cycle for row in block.sessions.filter(state=State.DROPPED)} == {5}


def test_a_deload_now_eases_what_is_decided_and_what_is_not(ana, ben, block, today):
    trained(*in_order(block)[:2])
    session = in_order(block)[2]
    load(session, 40)
    before, full, minutes = lines(session), rir(session), lengths_of([session])[session.pk]
    do(ben, ana, act="ease", round=2)
    session.refresh_from_db()
    assert session.deload and lengths_of([session])[session.pk] < minutes
    assert [sets for *_line, sets in lines(session)] == [-(-sets // 2) for *_line, sets in before]
    assert rir(session) == {value + 2 for value in full}
    assert max(loads(session)) < 40 and {code_of(line) for line in session.prescriptions.all()} == {"deload"}
    other = in_order(block)[3]
    assert other.deload and loads(other) == {None} and {code_of(line) for line in other.prescriptions.all()} == {None}
    block.refresh_from_db()
    assert (block.deload_weeks, block.weeks) == ([2, 4], 4)
    assert plan(ben, Asked("ease", round=2)).code == "steer.easy_already"


def test_a_load_that_the_coach_pinned_stays_through_a_deload(ana, ben, block):
    session = in_order(block)[0]
    load(session, 20)
    session.prescriptions.update(pinned=["load"])
    do(ben, ana, act="ease", round=1)
    assert loads(session) == {20}


def test_a_pinned_load_stays_with_its_set_though_drop_parts_go(ana, ben, block):
    line = in_order(block)[0].prescriptions.filter(exercise__isnull=False).first()
    line.pinned = ["load"]
    line.save()
    line.target_sets.all().delete()
    for number, (kind, kilograms) in enumerate((("work", 20), ("drop", 15), ("work", 22), ("work", 24)), start=1):
        TargetSetFactory(prescription=line, number=number, kind=kind, load=load_of(kilograms, "kg"))
    do(ben, ana, act="ease", round=1)
    assert [float(one.load_value) for one in line.target_sets.order_by("number")] == [20, 22]


def test_an_early_end_leaves_the_rest_out_and_frees_the_client(ana, ben, block, today):
    trained(*in_order(block)[:2])
    do(ben, ana, act="end")
    block.refresh_from_db()
    assert (block.state, block.weeks) == (Block.State.ENDED, 1)
    assert {row.state for row in in_order(block)[2:]} == {State.DROPPED}
    assert plan(ben, Asked("end")) is None


def test_an_end_that_lies_ahead_lets_the_block_run_until_then(ana, ben, block, today):
    do(ben, ana, act="end", since=today + 2 * WEEK)
    block.refresh_from_db()
    assert (block.state, block.weeks, days(block, today)) == (Block.State.ACTIVE, 2, [0, 3, 7, 10])


def test_sheets_follow_what_they_say(ana, ben, block, today):
    HealthAnswersFactory(client=ben, answered_on=today)
    for session in in_order(block):
        load(session, 20)
    issue_week(block, 1, ana)
    issue_week(block, 2, ana)
    shown = plan(ben, Asked("shift", days=1))
    assert (shown.reissued, shown.withdrawn) == (4, 0)
    _plan, entry = do(ben, ana, act="shift", days=1)
    out = SheetVersion.objects.filter(state=SheetVersion.State.ISSUED)
    assert {str(row.session.planned_on) for row in out} == {row.document["session"]["planned_on"] for row in out}
    assert out.count() == 4
    journal.undo(entry, ana)
    assert set(out.values_list("number", flat=True)) == {1}
    shown = plan(ben, Asked("drop", round=2))
    assert (shown.reissued, shown.withdrawn) == (0, 2)
    do(ben, ana, act="drop", round=2)
    assert {row.session.cycle for row in out.all()} == {1}
    assert plan(ben, Asked("ease", round=1)).reissued == 2


def test_what_was_reckoned_for_a_new_session_holds_no_undo_up_but_a_decision_does(ana, ben, block):
    first = in_order(block)[0]
    load(first, 20)
    trained(first)
    for target in TargetSet.objects.filter(prescription__session=first):
        LoggedSetFactory(
            client=ben,
            session=first,
            exercise=target.prescription.exercise,
            slot_key=target.prescription.slot_key,
            occurrence=0,
            performed_on=first.planned_on,
        )
    before = places(block)
    _plan, entry = do(ben, ana, act="insert", round=2)
    refresh(ben)
    assert Proposal.objects.filter(session=block.sessions.get(cycle=2, position=0)).exists()
    journal.undo(entry, ana)
    assert places(block) == before
    _plan, entry = do(ben, ana, act="insert", round=2)
    refresh(ben)
    made = block.sessions.get(cycle=2, position=0)
    Proposal.objects.filter(session=made).update(state=Proposal.State.ACCEPTED)
    with pytest.raises(journal.CannotUndo):
        journal.undo(entry, ana)


def test_what_is_no_longer_as_shown_is_not_done(ana, ben, block):
    asked = Asked("shift", days=7)
    shown = plan(ben, asked)
    session = in_order(block)[3]
    session.planned_on += timedelta(days=1)
    session.save()
    with pytest.raises(steering.Otherwise):
        steering.steer(ben, ana, asked, shown.digest)
    assert not JournalEntry.objects.filter(act="sessions.shift").exists()


def test_the_dose_beside_it_is_of_the_days_that_change(ana, ben, block, today):
    shown = plan(ben, Asked("ease", round=1))
    chest = next(one for one in shown.shifts if one.group == "chest")
    assert 0 < chest.week_after < chest.week_before and shown.shifts_from == today
    shown = plan(ben, Asked("drop", round=2))
    assert {one.week_after for one in shown.shifts} == {0} and shown.shifts_from == today + WEEK


# By list, and in cycles


def listed(ana, ben, week, today, **changes):
    ben.order_mode, ben.week_minimum = Client.OrderMode.LIST, 1
    ben.save()
    draft, _week = draft_for(ben, ana, week, starts_on=today, deload_weeks=[4], **changes)
    return blocks.assign_block(draft, draft.revision, ana)


def rounds(block):
    return [row.cycle for row in block.sessions.exclude(state=State.DROPPED).order_by("cycle", "position")]


def test_a_list_moves_by_whole_weeks(ana, ben, week, today):
    block = listed(ana, ben, week, today)
    first = in_order(block)[0]
    first.state, first.trained_on = State.TRAINED, today
    first.save()
    assert plan(ben, Asked("shift", days=3)).code == "steer.whole_rounds"
    _plan, entry = do(ben, ana, act="shift", days=7)
    assert rounds(block) == [1, 2, 3, 3, 4, 4, 5, 5]
    block.refresh_from_db()
    assert (block.weeks, block.deload_weeks) == (5, [5])
    journal.undo(entry, ana)
    assert rounds(block) == [1, 1, 2, 2, 3, 3, 4, 4]


def test_a_list_has_weeks_put_in_left_out_and_eased(ana, ben, week, today):
    block = listed(ana, ben, week, today)
    do(ben, ana, act="insert", round=2, easy=True)
    assert rounds(block) == [1, 1, 2, 2, 3, 3, 4, 4, 5, 5]
    shown = plan(ben, Asked("drop", round=2, forward=True))
    assert shown.shifts_from is None and shown.steered.days_later == -7
    do(ben, ana, act="drop", round=2, forward=True)
    assert rounds(block) == [1, 1, 2, 2, 3, 3, 4, 4]
    do(ben, ana, act="ease", round=1)
    assert {row.deload for row in block.sessions.filter(cycle=1)} == {True}
    do(ben, ana, act="end")
    assert rounds(block) == []


def test_a_rolling_block_moves_by_its_cycle(ana, ben, week, today):
    week.outline.order, week.outline.cycle_days, week.outline.offsets = ["full"] * 4, 8, [0, 2, 4, 6]
    week.outline.save()
    draft, _week = draft_for(ben, ana, week, starts_on=today, deload_weeks=[2])
    block = blocks.assign_block(draft, draft.revision, ana)
    before = days(block, today)
    trained(*in_order(block)[:3])
    _plan, entry = do(ben, ana, act="insert", round=2, easy=True)
    assert days(block, today) == [*before[:4], 8, 10, 12, 14, *(day + 8 for day in before[4:])]
    block.refresh_from_db()
    assert block.deload_weeks == [2, 3] and block.rounds >= max(rounds(block))
    journal.undo(entry, ana)
    assert days(block, today) == before


@pytest.mark.parametrize("weeks", [2, 12])
@pytest.mark.parametrize("asked", ACTS.values(), ids=ACTS)
def test_a_preview_costs_the_same_however_long_the_block(
    ana, ben, week, today, asked, weeks, django_assert_num_queries
):
    draft, _week = draft_for(ben, ana, week, starts_on=today, weeks=weeks, deload_weeks=[])
    blocks.assign_block(draft, draft.revision, ana)
    client = Client.objects.select_related("practice").get(pk=ben.pk)
    # block, sessions, days of other blocks, sets, exercises, regions, sheets, priorities
    with django_assert_num_queries(8):
        assert plan(client, Asked(**asked)).changes


def lines(session):
    return [
        (line.slot_key, line.exercise.name, line.target_sets.count())
        for line in session.prescriptions.all()
        if line.exercise
    ]


def loads(session):
    return {
        None if value is None else float(value)
        for value in TargetSet.objects.filter(prescription__session=session).values_list("load_value", flat=True)
    }


def rir(session):
    return set(TargetSet.objects.filter(prescription__session=session).values_list("rir", flat=True))


def code_of(line):
    return line.reasons[0]["code"] if line.reasons else None


def load(session, kilograms):
    """Decides the loads of a session."""
    TargetSet.objects.filter(prescription__session=session).update(
        load_value=kilograms, load_unit="kg", load_grams=kilograms * 1000
    )


# The page


def address(client):
    return reverse("client-steer", args=[client.public_id])


def shown_of(response):
    return re.sub(r"\s+", " ", response.content.decode())


FIELDS = {
    "shift": {"many": "1", "way": "weeks_later"},
    "again": {"round": "1"},
    "insert": {"round": "2", "easy": "1"},
    "drop": {"round": "2", "forward": "1"},
    "ease": {"round": "2"},
    "end": {},
}


@pytest.mark.parametrize("act", FIELDS)
def test_every_act_is_shown_then_done_and_undone_from_the_toast(as_ana, ana, ben, block, today, act):
    trained(in_order(block)[0])
    before = places(block)
    page = as_ana.get(address(ben), {"act": act})
    assert page.status_code == 200 and "What would change" not in page.content.decode()
    asked = {"act": act, **FIELDS[act]} | ({"since": today.isoformat()} if act in ("shift", "end") else {})
    html = shown_of(as_ana.get(address(ben), asked))
    assert "What would change" in html and places(block) == before
    digest = re.search(r'name="digest" value="(\w+)"', html).group(1)
    answer = as_ana.post(address(ben), {**asked, "digest": digest}, follow=True)
    assert answer.redirect_chain[-1][0] == reverse("client-block", args=[ben.public_id])
    entry = JournalEntry.objects.get(act=f"sessions.{act}")
    assert reverse("undo", args=[entry.public_id]) in answer.content.decode()
    assert entry.about == f"client:{ben.public_id}" and act_words(entry, {entry.about: "Ben"}).endswith(", Ben")
    as_ana.post(reverse("undo", args=[entry.public_id]))
    assert places(block) == before


def test_the_new_end_and_what_becomes_of_sheets_are_told_before(as_ana, ana, ben, block, today):
    HealthAnswersFactory(client=ben, answered_on=today)
    load(in_order(block)[0], 20)
    load(in_order(block)[1], 20)
    issue_week(block, 1, ana)
    html = shown_of(as_ana.get(address(ben), {"act": "shift", **FIELDS["shift"], "since": today.isoformat()}))
    assert "7 days later than" in html and "2 get new versions" in html and "Shift 8 sessions" in html
    assert html.count("its sheet gets a new version") == 2
    html = shown_of(as_ana.get(address(ben), {"act": "drop", "round": "1", "forward": "1"}))
    assert "7 days earlier than" in html and "2 are withdrawn" in html
    assert html.count("its sheet is withdrawn") == 2
    html = shown_of(as_ana.get(address(ben), {"act": "insert", **FIELDS["insert"]}))
    assert "<b>2, 5</b>" in html and "before: 4" in html


def test_the_acts_are_told_and_what_is_behind_is_pointed_to(as_ana, ben, block, today):
    block.sessions.filter(planned_on=today).update(planned_on=today - timedelta(days=1))
    html = shown_of(as_ana.get(address(ben)))
    for words in ("Shift what is to come", "Do a week again", "Put a week in", "Leave a week out", "Deload now"):
        assert words in html
    assert "1 session is behind" in html
    assert address(ben) in as_ana.get(reverse("client-block", args=[ben.public_id])).content.decode()


def test_what_cannot_be_done_is_said_at_the_form(as_ana, ben, block, today):
    trained(*in_order(block)[:3])
    for asked, said in (
        ({"act": "drop", "round": "2", "forward": "1"}, "so it stays where it is"),
        (
            {"act": "shift", "many": "0", "way": "weeks_later", "since": today.isoformat()},
            "A whole number: 1 to 182 days",
        ),
        ({"act": "shift", **FIELDS["shift"], "since": (today - WEEK).isoformat()}, "That day is over."),
        ({"act": "ease", "round": "99"}, "Choose one from the list: it may have changed"),
    ):
        answer = as_ana.get(address(ben), asked)
        assert answer.status_code == 422 and said in answer.content.decode()


def test_a_page_that_is_no_longer_true_is_shown_anew(as_ana, ben, block, today):
    asked = {"act": "shift", **FIELDS["shift"], "since": today.isoformat(), "digest": "old"}
    answer = as_ana.post(address(ben), asked)
    assert "Something changed in between" in answer.content.decode()
    assert "What would change" in answer.content.decode()
    assert not JournalEntry.objects.filter(act="sessions.shift").exists()


def test_without_a_running_block_there_is_nothing_to_steer(as_ana, ben):
    assert as_ana.get(address(ben)).headers["Location"] == reverse("client-block", args=[ben.public_id])


def test_a_rolling_block_speaks_of_cycles_and_a_list_of_weeks_alone(as_ana, ana, ben, week, today):
    listed(ana, ben, week, today)
    html = shown_of(as_ana.get(address(ben), {"act": "shift"}))
    assert "weeks later" in html and "days later" not in html
    asked = {"act": "shift", **FIELDS["shift"], "since": today.isoformat()}
    html = shown_of(as_ana.get(address(ben), asked))
    assert "Shift the block" in html and "7 days later than" in html
    digest = re.search(r'name="digest" value="(\w+)"', html).group(1)
    assert "The block begins on" in shown_of(as_ana.post(address(ben), {**asked, "digest": digest}, follow=True))
    week.outline.order, week.outline.cycle_days, week.outline.offsets = ["full"] * 4, 8, [0, 2, 4, 6]
    week.outline.save()
    draft, _week = draft_for(ben, ana, week, starts_on=today, deload_weeks=[])
    blocks.assign_block(draft, draft.revision, ana)
    assert "Put a cycle in" in shown_of(as_ana.get(address(ben)))
    html = shown_of(as_ana.get(address(ben), {"act": "drop", "round": "2", "forward": "0"}))
    assert "Easier cycles" in html and "Cycle 2" in html


@pytest.mark.parametrize("weeks", [2, 12])
def test_the_page_costs_the_same_however_long_the_block(
    as_ana, ana, ben, week, today, weeks, django_assert_num_queries
):
    draft, _week = draft_for(ben, ana, week, starts_on=today, weeks=weeks, deload_weeks=[])
    blocks.assign_block(draft, draft.revision, ana)
    with django_assert_num_queries(24):
        answer = as_ana.get(address(ben), {"act": "shift", **FIELDS["shift"], "since": today.isoformat()})
    assert answer.status_code == 200


def test_a_week_trained_elsewhere_comes_again_on_the_stations_of_the_blocks_place(ana, ben, block, week):
    """What is logged then must not count as done on the machine of the other place."""
    first = in_order(block)[0]
    line = first.prescriptions.filter(exercise__isnull=False).first()
    other = PlaceFactory(practice=ben.practice)
    kind = line.exercise.implement
    line.station = StationFactory(place=other, kind=kind)
    line.save()
    TrainingSession.objects.filter(pk=first.pk).update(elsewhere=other)
    own = block.place.stations.filter(kind=kind).first()
    trained(*in_order(block)[:2])
    do(ben, ana, act="again", round=1)
    made = block.sessions.get(cycle=2, position=0)
    again = made.prescriptions.get(slot_key=line.slot_key)
    assert (made.elsewhere, again.exercise, again.station) == (None, line.exercise, own)


def test_a_deload_now_says_that_a_later_one_stays(as_ana, ana, ben, block):
    url = reverse("client-steer", args=[ben.public_id])
    said = "Week 4 stays a deload, as planned."
    assert said in as_ana.get(url, {"act": "ease", "round": "2"}).content.decode()
    assert "Week 5 stays a deload" in as_ana.get(url, {"act": "insert", "round": "2", "easy": "1"}).content.decode()
    assert "stays a deload" not in as_ana.get(url, {"act": "insert", "round": "2", "easy": "0"}).content.decode()
    assert "stays a deload" not in as_ana.get(url, {"act": "drop", "round": "2", "forward": "1"}).content.decode()


@pytest.mark.parametrize(
    ("many", "way", "status"), [(26, "weeks_later", 200), (27, "weeks_later", 422), (90, "days_later", 200)]
)
def test_nothing_is_shifted_by_more_than_half_a_year(as_ana, ben, block, today, many, way, status):
    asked = {"act": "shift", "many": many, "way": way, "since": today.isoformat()}
    answer = as_ana.get(reverse("client-steer", args=[ben.public_id]), asked)
    assert answer.status_code == status and ("or 1 to 26 weeks." in answer.content.decode()) == (status == 422)


@pytest.mark.parametrize("asked", [{"act": "again", "round": 1}, {"act": "insert", "round": 2, "easy": False}])
def test_what_was_cut_for_time_once_comes_again_whole(ana, ben, block, asked):
    first = TrainingSession.objects.with_lines().get(pk=in_order(block)[0].pk)
    planned = lines(first)
    minutes = next(few for few in range(40, 5, -1) if any(not cut.after for cut in shorter.cuts(first, few)))
    gone, _entry = shorter.shorten(first, minutes, ana, shorter.digest_of(shorter.cuts(first, minutes)))
    assert gone and lines(in_order(block)[0]) != planned
    trained(*in_order(block)[:2])
    shown = plan(ben, Asked(**asked))
    do(ben, ana, **asked)
    made = block.sessions.get(cycle=2, position=0)
    assert lines(made) == lines(block.sessions.get(cycle=3, position=0))
    assert all(sets for _slot, _name, sets in lines(made))
    added = next(one for one in shown.changes if one.kind == "added")
    assert added.sets_after == sum(sets for _slot, _name, sets in lines(made))
