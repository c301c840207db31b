"""Part of a block done otherwise: a sore joint from a day on, a fortnight in an hotel, and back."""

from datetime import date, timedelta

import pytest

from clients.models import Limit, LoggedSet, Prescription, SheetVersion, TargetSet, TrainingSession
from clients.reads.part_of_block import Asked, plan
from clients.reads.swaps import swaps_for
from clients.services import blocks, part_of_block
from clients.services.proposals import decide
from clients.services.proposing import refresh
from clients.services.sheets import issue_sheet, last_by_slot
from coachdesk.practice import journal
from programs.models import ExerciseJoint
from programs.units import load_of
from tests.clients.weeks import NEXT_MONDAY, draft_for
from tests.factories import (
    MONDAY,
    HealthAnswersFactory,
    LoggedSetFactory,
    PlaceFactory,
    ProposalFactory,
    RecentSetFactory,
    StationFactory,
)

pytestmark = pytest.mark.django_db

JOINT = "shoulder_extension"
FORTNIGHT = (NEXT_MONDAY, NEXT_MONDAY + timedelta(days=13))
POUNDS_TO_FIFTY = [str(load) for load in range(10, 55, 5)]


@pytest.fixture
def block(ana, ben, week):
    for name, exercise in week.exercises.items():
        RecentSetFactory(client=ben, exercise=exercise, load=load_of(40 if name[-1] in "13" else 20, "kg"))
    draft, _week = draft_for(ben, ana, week, deload_weeks=[])
    return blocks.assign_block(draft, draft.revision, ana)


@pytest.fixture
def hotel(ana):
    """Dumbbells to fifty pounds and nothing else."""
    place = PlaceFactory(practice=ana.practice, name="Hotel", unit="lb")
    StationFactory(place=place, kind="dumbbell", unit="lb", loads={"list": POUNDS_TO_FIFTY})
    return place


def sore(week, *names):
    for name in sorted(set(names)):
        ExerciseJoint.objects.create(exercise=week.exercises[name], joint=JOINT, severity=2)


def lines(block, **wanted):
    """Exercise and sets by session and slot."""
    rows = Prescription.objects.filter(session__block=block, **{f"session__{k}": v for k, v in wanted.items()})
    return {
        (row.session.cycle, row.session.occurrence, row.slot_key): (row.exercise.name, row.target_sets.count())
        for row in rows.select_related("session", "exercise").prefetch_related("target_sets")
    }


def snapshot():
    names = ("session__elsewhere", "session__minutes", "exercise", "station", "finds_load", "reasons", "pinned")
    rows = list(Prescription.objects.order_by("pk").values_list("pk", *names))
    targets = list(TargetSet.objects.order_by("pk").values_list("pk", "prescription", "reps_low", "load_value", "rir"))
    return rows, targets, list(Limit.objects.values_list("joint", "since", "until"))


def test_only_what_loads_the_sore_joint_gives_way_and_keeps_its_sets(ana, ben, week, block):
    before = lines(block)
    loads_it = {name for name, _sets in before.values() if name.startswith("press")}
    sore(week, *loads_it)
    part = plan(ben, Asked(NEXT_MONDAY, joints=(JOINT,)))
    assert {change.before.name for change in part.changes} == loads_it
    assert all(change.after is not None and change.sets for change in part.changes)
    assert [why.code for change in part.changes for why in change.reasons] == ["exercise.spared_joint"] * 2
    entry = part_of_block.change_part(ben, ana, Asked(NEXT_MONDAY, joints=(JOINT,)), part.digest)
    after = lines(block)
    assert entry is not None and before.keys() == after.keys()
    for key, (name, sets) in after.items():
        cycle, _occurrence, slot = key
        if cycle == 1 or slot != "press":
            assert (name, sets) == before[key]
        else:
            assert name not in loads_it and sets == before[key][1]
    assert Limit.objects.get().since == NEXT_MONDAY and Limit.objects.get().until is None
    block.refresh_from_db()
    kept = {row["exercise"] for row in block.document["picks"] if row["slot"] == "press"}
    assert kept.isdisjoint({week.key(name) for name in loads_it})


def test_undo_puts_every_line_and_the_joint_back(ana, ben, week, block):
    sore(week, "press 0", "press 2")
    before = snapshot()
    asked = Asked(NEXT_MONDAY, joints=(JOINT,))
    entry = part_of_block.change_part(ben, ana, asked, plan(ben, asked).digest)
    assert snapshot() != before
    journal.undo(entry, ana)
    assert snapshot() == before


def test_what_nothing_can_stand_in_for_is_left_out_and_said(ana, ben, week, block):
    sore(week, *(f"press {number}" for number in range(4)))
    asked = Asked(NEXT_MONDAY, joints=(JOINT,))
    part = plan(ben, asked)
    assert {(change.after, change.slot) for change in part.changes} == {(None, "Press")}
    chest = next(one for one in part.shifts if one.group == "chest")
    assert chest.week_before > 0 and chest.week_after == 0
    before = snapshot()
    entry = part_of_block.change_part(ben, ana, asked, part.digest)
    assert not any(slot == "press" for cycle, _occurrence, slot in lines(block) if cycle > 1)
    journal.undo(entry, ana)
    assert snapshot() == before


def test_a_joint_to_go_easy_on_forbids_nothing(ana, ben, week, block):
    mine = {name for name, _sets in lines(block).values() if name.startswith("press")}
    sore(week, *mine)
    part = plan(ben, Asked(NEXT_MONDAY, joints=(JOINT,), strict=False))
    assert {change.before.name for change in part.changes} <= mine
    sore(week, *({f"press {number}" for number in range(4)} - mine))
    assert plan(ben, Asked(NEXT_MONDAY, joints=(JOINT,), strict=False)).nothing


def test_a_fortnight_in_an_hotel_takes_what_is_there_and_then_goes_back(ana, ben, week, block, hotel):
    before = lines(block)
    asked = Asked(*FORTNIGHT, place=hotel)
    part = plan(ben, asked)
    assert (len(part.sessions), part.moved) == (4, 4)
    part_of_block.change_part(ben, ana, asked, part.digest)
    after = lines(block)
    for key, (name, sets) in after.items():
        away = key[0] in (2, 3)
        stays = not away or before[key][0][-1] in "02"
        assert (name == before[key][0]) == stays and sets == before[key][1]
        assert not away or name[-1] in "02", "dumbbells alone are there"
    rows = block.sessions.select_related("elsewhere")
    assert {(row.cycle, row.place) for row in rows} == {(1, week.place), (2, hotel), (3, hotel), (4, week.place)}
    assert not Limit.objects.exists()


def test_in_the_hotel_loads_are_those_of_its_dumbbells(ana, ben, week, block, hotel):
    HealthAnswersFactory(client=ben)
    asked = Asked(*FORTNIGHT, place=hotel)
    part_of_block.change_part(ben, ana, asked, plan(ben, asked).digest)
    session = block.sessions.get(cycle=2, position=0)
    sheet = issue_sheet(session, ana).version
    assert sheet.document["place"]["name"] == "Hotel"
    loads = [target["load"] for line in sheet.document["lines"] for target in line["sets"] if target["load"]]
    assert loads and {load["unit"] for load in loads} == {"lb"}
    assert {f"{float(load['value']):g}" for load in loads} <= set(POUNDS_TO_FIFTY)
    for swaps in swaps_for(TrainingSession.objects.with_lines().get(pk=session.pk), ben).values():
        assert all(row.implement == "dumbbell" for row in swaps)


def test_results_from_the_hotel_stay_in_lines_of_their_own(ana, ben, week, block, hotel):
    """After the journey the bar goes on from before it, though the dumbbells were lighter."""
    for session in block.sessions.filter(cycle=1):
        for row in session.prescriptions.all():
            for _again in range(3):
                LoggedSetFactory(
                    client=ben,
                    session=session,
                    exercise=row.exercise,
                    place=week.place,
                    slot_key=row.slot_key,
                    occurrence=session.occurrence,
                    performed_on=session.planned_on,
                    load=load_of(40, "kg"),
                )
        session.state, session.trained_on = "trained", session.planned_on
        session.save()
    asked = Asked(*FORTNIGHT, place=hotel)
    part_of_block.change_part(ben, ana, asked, plan(ben, asked).digest)
    for session in block.sessions.filter(cycle__in=(2, 3)):
        for row in session.prescriptions.all():
            LoggedSetFactory(
                client=ben,
                session=session,
                exercise=row.exercise,
                place=hotel,
                slot_key=row.slot_key,
                occurrence=session.occurrence,
                performed_on=session.planned_on,
                load=load_of(25, "lb"),
            )
        session.state, session.trained_on = "trained", session.planned_on
        session.save()
    homes = list(TrainingSession.objects.with_lines().filter(block=block, cycle=4))
    lifted = [(home, row) for home in homes for row in home.prescriptions.all() if row.exercise.implement == "barbell"]
    assert lifted
    for home, row in lifted:
        last = last_by_slot(ben, home)[row.slot_key]
        assert {(done.load_value, done.load_unit) for done in last} == {(40, "kg")}
    refresh(ben)
    proposals = list(ben.proposals.filter(session__in=homes, state="waiting"))
    assert proposals
    for proposal in proposals:
        assert proposal.new["unit"] == "kg"
        # Eased for the weeks away, but nowhere near the dumbbells of eleven kilos.
        assert proposal.new["load"] is None or proposal.new["load"] >= 30


def test_what_waits_for_an_exercise_that_gave_way_is_not_accepted_for_the_one_in_its_place(ana, ben, week, block):
    loads_it = {name for name, _sets in lines(block).values() if name.startswith("press")}
    sore(week, *loads_it)
    session = block.sessions.filter(planned_on__gte=NEXT_MONDAY).earliest("planned_on")
    line = session.prescriptions.get(slot_key="press")
    waiting = ProposalFactory(client=ben, session=session, slot_key="press", exercise=line.exercise)
    asked = Asked(NEXT_MONDAY, joints=(JOINT,))
    part_of_block.change_part(ben, ana, asked, plan(ben, asked).digest)
    assert session.prescriptions.get(slot_key="press").exercise != line.exercise
    assert decide([waiting], ana) == (0, None)


def test_who_comes_home_early_has_there_what_was_planned(ana, ben, week, block, hotel):
    before = lines(block)
    away = Asked(*FORTNIGHT, place=hotel)
    part_of_block.change_part(ben, ana, away, plan(ben, away).digest)
    early = Asked(NEXT_MONDAY + timedelta(days=7), place=week.place)
    part_of_block.change_part(ben, ana, early, plan(ben, early).digest)
    after = lines(block)
    assert {key: line for key, line in after.items() if key[0] != 2} == {
        key: line for key, line in before.items() if key[0] != 2
    }
    assert block.sessions.filter(elsewhere=hotel).values_list("cycle", flat=True).distinct().get() == 2


def test_a_joint_that_hurts_on_the_journey_is_spared_there_and_at_home(ana, ben, week, block, hotel):
    away = Asked(*FORTNIGHT, place=hotel)
    part_of_block.change_part(ben, ana, away, plan(ben, away).digest)
    sore(week, "press 0", "press 1")
    asked = Asked(NEXT_MONDAY, joints=(JOINT,))
    part_of_block.change_part(ben, ana, asked, plan(ben, asked).digest)
    found = lines(block)
    assert {name for (cycle, _turn, slot), (name, _sets) in found.items() if slot == "press" and cycle in (2, 3)} == {
        "press 2"
    }
    assert {name for (cycle, _turn, slot), (name, _sets) in found.items() if slot == "press" and cycle == 4} <= {
        "press 2",
        "press 3",
    }


def test_sheets_that_are_out_are_superseded_and_what_waited_is_reckoned_again(ana, ben, week, block):
    HealthAnswersFactory(client=ben)
    sore(week, *(name for name, _sets in lines(block).values() if name.startswith("press")))
    session = block.sessions.get(cycle=2, position=0)
    first = block.sessions.get(cycle=1, position=0)
    out = issue_sheet(first, ana).version
    proposal = ProposalFactory(client=ben, session=session, slot_key="press", exercise=week.exercises["press 0"])
    asked = Asked(MONDAY, joints=(JOINT,))
    part = plan(ben, asked)
    assert part.sheets_out == 1
    part_of_block.change_part(ben, ana, asked, part.digest)
    out.refresh_from_db()
    assert out.state == SheetVersion.State.SUPERSEDED
    now = first.versions.get(state=SheetVersion.State.ISSUED)
    spared = set(ExerciseJoint.objects.values_list("exercise__name", flat=True))
    assert spared.isdisjoint(line["exercise"]["name"] for line in now.document["lines"])
    assert refresh(ben) >= 0
    proposal.refresh_from_db()
    assert proposal.state == "superseded"


def test_what_was_begun_or_lies_outside_is_left_alone(ana, ben, week, block, hotel):
    begun = block.sessions.get(cycle=2, position=0)
    LoggedSetFactory(client=ben, session=begun)
    part = plan(ben, Asked(*FORTNIGHT, place=hotel))
    assert begun not in part.sessions and len(part.sessions) == 3
    assert plan(ben, Asked(date(2027, 1, 1), place=hotel)) is None


def test_sessions_without_dates_count_by_their_round(ana, ben, week, hotel):
    ben.order_mode = "list"
    ben.save()
    draft, _week = draft_for(ben, ana, week)
    blocks.assign_block(draft, draft.revision, ana)
    part = plan(ben, Asked(*FORTNIGHT, place=hotel))
    assert {row.cycle for row in part.sessions} == {2, 3}


def test_what_was_not_on_screen_is_not_done(ana, ben, week, block, hotel):
    before = snapshot()
    with pytest.raises(part_of_block.Otherwise):
        part_of_block.change_part(ben, ana, Asked(*FORTNIGHT, place=hotel), "another")
    assert snapshot() == before and not LoggedSet.objects.exists()
