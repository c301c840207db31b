"""Other days for what is left of a block: as many of them, fewer with the sessions in turn, or a week built anew."""

from collections import Counter
from datetime import date, timedelta
from itertools import pairwise

import pytest

from clients.models import Block, Draft, SheetVersion, TrainingSession
from clients.services import blocks, other_days
from clients.services.sheets import issue_sheet
from coachdesk.practice import journal
from tests.clients.weeks import NEXT_MONDAY, draft_for, small_week
from tests.factories import (
    MONDAY,
    HealthAnswersFactory,
    OutlineDayFactory,
    OutlineFactory,
    OutlineSlotFactory,
    SlotCandidateFactory,
)

pytestmark = pytest.mark.django_db

MON, TUE, WED, THU, FRI, SAT, SUN = range(7)
State = TrainingSession.State


@pytest.fixture
def week(ben):
    """Four sessions a week: the whole body, four times."""
    found = small_week(ben)
    found.outline.order = ["full"] * 4
    found.outline.save()
    ben.days, ben.sessions_per_week = [MON, TUE, THU, FRI], 4
    ben.save()
    return found


@pytest.fixture
def block(ana, ben, week):
    draft, _week = draft_for(ben, ana, week)
    return blocks.assign_block(draft, draft.revision, ana)


def three_days(ana, week):
    """A template of three sessions a week with the same slots."""
    outline = OutlineFactory(practice=ana.practice, order=["whole"] * 3, name="Three times the whole")
    day = OutlineDayFactory(outline=outline, key="whole", name="Whole body")
    for slot in week.outline.days.get().slots.all():
        own = OutlineSlotFactory(
            day=day, key=f"{slot.key}-3", title=slot.title, region=slot.region, position=slot.position
        )
        for number, candidate in enumerate(slot.candidates.filter(occurrence=0)):
            SlotCandidateFactory(slot=own, exercise=candidate.exercise, rank=number)
    return outline


def planned(block):
    return [row.planned_on for row in block.sessions.order_by("cycle", "position")]


def shift(found, group="chest"):
    return next(one for one in found if one.group == group)


def snapshot():
    rows = TrainingSession.objects.order_by("pk").values_list("pk", "block", "cycle", "planned_on", "state")
    return list(rows), list(Block.objects.order_by("pk").values_list("pk", "state", "weeks", "cycle_days"))


def test_four_sessions_on_three_days_are_shown_with_the_dose_before_and_after(ben, block):
    before = snapshot()
    found = other_days.offers(ben, NEXT_MONDAY, [MON, WED, FRI])
    assert found.sessions_a_round == 4
    assert len(found.in_turn.moved) == 12
    assert found.in_turn.round_days == pytest.approx(28 / 3)
    assert found.in_turn.end_before == date(2026, 3, 27)
    assert found.in_turn.end_after == date(2026, 4, 3)
    assert found.in_turn.days_later == 7
    chest = shift(found.in_turn.shifts)
    assert chest.week_after == pytest.approx(chest.week_before * 3 / 4)
    assert chest.largest_after == pytest.approx(chest.largest_before)
    assert snapshot() == before


def test_stretched_they_go_on_in_turn_as_a_block_with_longer_rounds(ana, ben, block):
    assert other_days.go_on(ben, ana, NEXT_MONDAY, [MON, WED, FRI], date(2026, 4, 3)) is not None
    block.refresh_from_db()
    later = ben.blocks.active().get()
    assert (block.state, later.number, later.cycle_days, later.starts_on) == ("ended", 2, 10, NEXT_MONDAY)
    assert block.sessions.count() == 4 and later.sessions.count() == 12
    rows = list(later.sessions.order_by("planned_on"))
    assert [(row.cycle, row.position) for row in rows] == [(cycle, place) for cycle in (1, 2, 3) for place in range(4)]
    assert {row.planned_on.weekday() for row in rows} == {MON, WED, FRI}
    firsts = [row.planned_on for row in rows if row.position == 0]
    assert {(after - before).days for before, after in pairwise(firsts)} <= {9, 10}
    assert later.deload_weeks == [3] and [row.deload for row in rows] == [False] * 8 + [True] * 4
    ben.refresh_from_db()
    assert (ben.days, ben.sessions_per_week) == ([MON, WED, FRI], 3)


def test_one_undo_puts_the_old_days_back_and_another_takes_the_new_ones_again(ana, ben, block):
    before = snapshot()
    entry = other_days.go_on(ben, ana, NEXT_MONDAY, [MON, WED, FRI], date(2026, 4, 3))
    after = snapshot()
    undone = journal.undo(entry, ana)
    ben.refresh_from_db()
    assert snapshot() == before and ben.days == [MON, TUE, THU, FRI]
    journal.undo(undone, ana)
    assert snapshot() == after


def test_what_was_trained_stays_and_a_round_that_was_begun_is_ended_first(ana, ben, block):
    first, second, *_rest = block.sessions.order_by("cycle", "position")
    for row in (first, second):
        row.state, row.trained_on = State.TRAINED, row.planned_on
        row.save()
    wednesday = MONDAY + timedelta(days=2)
    end = other_days.offers(ben, wednesday, [MON, WED, FRI]).in_turn.end_after
    other_days.go_on(ben, ana, wednesday, [MON, WED, FRI], end)
    later = ben.blocks.active().get()
    rows = list(later.sessions.order_by("planned_on"))
    assert [(row.cycle, row.position) for row in rows[:4]] == [(1, 2), (1, 3), (2, 0), (2, 1)]
    assert rows[0].planned_on == wednesday
    assert [row.planned_on for row in block.sessions.order_by("position")] == [first.planned_on, second.planned_on]


def test_as_many_days_keep_the_block_and_its_weeks(ana, ben, block):
    found = other_days.offers(ben, NEXT_MONDAY, [TUE, WED, FRI, SUN])
    assert not found.in_turn.stretched and found.anew is None
    other_days.go_on(ben, ana, NEXT_MONDAY, [TUE, WED, FRI, SUN], found.in_turn.end_after)
    assert ben.blocks.active().get() == block
    days = planned(block)
    assert [day.weekday() for day in days[4:]] == [TUE, WED, FRI, SUN] * 3
    assert days[:4] == [MONDAY + timedelta(days=day) for day in (0, 1, 3, 4)]


def test_of_more_days_than_sessions_the_most_restful_are_taken(ana, ben):
    draft, _week = draft_for(ben, ana)
    blocks.assign_block(draft, draft.revision, ana)
    found = other_days.offers(ben, NEXT_MONDAY, [TUE, WED, FRI])
    assert [day.weekday() for _row, day in found.in_turn.moved] == [TUE, FRI] * 3


def test_built_anew_the_sets_are_spread_and_one_undo_puts_all_back(ana, ben, week, block):
    outline = three_days(ana, week)
    found = other_days.offers(ben, NEXT_MONDAY, [MON, WED, FRI])
    assert found.anew.outline == outline and found.anew.weeks == 3
    chest = shift(found.anew.shifts)
    assert (chest.week_before, chest.week_after, chest.largest_after) == (16, 12, 4)
    assert not chest.crammed and chest.verdict == "in_range"
    before = snapshot()
    new, entry = other_days.build_anew(ben, ana, NEXT_MONDAY, [MON, WED, FRI], outline, found.anew.digest)
    assert (new.starts_on, new.weeks, new.deload_weeks) == (NEXT_MONDAY, 3, [3])
    assert [day.weekday() for day in planned(new)] == [MON, WED, FRI] * 3
    assert Counter(block.sessions.values_list("state", flat=True)) == {"planned": 4, "dropped": 12}
    journal.undo(entry, ana)
    ben.refresh_from_db()
    assert snapshot() == before
    assert ben.days == [MON, TUE, THU, FRI] and not Draft.objects.filter(outline=outline).exists()


def test_built_anew_as_a_draft_the_running_block_goes_on(ana, ben, week, block):
    outline = three_days(ana, week)
    digest = other_days.offers(ben, NEXT_MONDAY, [MON, WED, FRI], outline).anew.digest
    draft, entry = other_days.draft_anew(ben, ana, NEXT_MONDAY, [MON, WED, FRI], outline, digest)
    assert (draft.state, draft.starts_on) == (Draft.State.OPEN, NEXT_MONDAY)
    assert [row["weekday"] for row in draft.document["days"]] == [MON, WED, FRI]
    assert ben.blocks.active().get() == block
    journal.undo(entry, ana)
    assert not ben.drafts.filter(state=Draft.State.OPEN).exists()


def test_sheets_that_are_out_say_the_new_days(ana, ben, block):
    HealthAnswersFactory(client=ben)
    session = block.sessions.filter(cycle=1, position=2).get()
    old = issue_sheet(session, ana).version
    wednesday = MONDAY + timedelta(days=2)
    found = other_days.offers(ben, wednesday, [MON, WED, FRI])
    assert found.in_turn.sheets_out == 1
    entry = other_days.go_on(ben, ana, wednesday, [MON, WED, FRI], found.in_turn.end_after)
    old.refresh_from_db()
    session.refresh_from_db()
    now = session.versions.get(state=SheetVersion.State.ISSUED)
    assert old.state == SheetVersion.State.SUPERSEDED
    assert now.document["session"]["planned_on"] == session.planned_on.isoformat()
    assert now.document["session"]["cycle_days"] == 10
    journal.undo(entry, ana)
    old.refresh_from_db()
    assert old.state == SheetVersion.State.ISSUED


def test_what_was_not_on_screen_is_not_done(ana, ben, week, block):
    outline = three_days(ana, week)
    before = snapshot()
    with pytest.raises(other_days.Otherwise):
        other_days.go_on(ben, ana, NEXT_MONDAY, [MON, WED, FRI], date(2026, 4, 4))
    with pytest.raises(other_days.Otherwise):
        other_days.build_anew(ben, ana, NEXT_MONDAY, [MON, WED, FRI], outline, "another")
    ben.refresh_from_db()
    assert snapshot() == before and ben.days == [MON, TUE, THU, FRI]


def test_a_round_never_takes_more_than_a_fortnight_and_something_has_to_be_left(ben, ana, block):
    for since, days, code in ((NEXT_MONDAY, [MON], "too_few"), (date(2026, 6, 1), [MON], "none_left")):
        with pytest.raises(other_days.NotLaid) as caught:
            other_days.offers(ben, since, days)
        assert caught.value.code == code


@pytest.mark.parametrize("zone", ["America/New_York", "Europe/Madrid", "Pacific/Auckland"])
def test_neither_the_clients_zone_nor_a_clock_change_moves_a_day(ana, ben, week, zone):
    """Both changes of the clocks in March and April lie in the block."""
    ben.time_zone = zone
    ben.save()
    draft, _week = draft_for(ben, ana, week)
    blocks.assign_block(draft, draft.revision, ana)
    found = other_days.offers(ben, NEXT_MONDAY, [MON, WED, FRI])
    days = [day for _row, day in found.in_turn.moved]
    assert [(after - before).days for before, after in pairwise(days)] == [2, 2, 3] * 3 + [2, 2]


def test_templates_that_serve_the_client_and_know_the_exercises_come_first(ana, ben, week, block):
    strange = OutlineFactory(practice=ana.practice, order=["a"] * 3, name="Another")
    three_days(ana, week)
    elsewhere = OutlineFactory(practice=ana.practice, order=["a"] * 3, name="A first", serves=["advanced"])
    rolling = OutlineFactory(practice=ana.practice, order=["a"] * 3, cycle_days=8, name="Rolls")
    found = other_days.templates_for(ben, block, 3)
    assert [row.name for row in found] == ["Three times the whole", "Another", "A first"]
    assert {strange, elsewhere} <= set(found) and rolling not in found
