"""Blocks whose cycle is not a week: composed, assigned and shown by cycle, their dose told for seven days."""

import html
import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.urls import reverse

from clients import cycles
from clients.board.state import state_of
from clients.clock import today_for
from clients.models import Client, Proposal
from clients.reads.composing import draft_inputs, picks_of
from clients.reads.desk import desk_of
from clients.services import blocks, drafts
from clients.services.calendar import gaps_of
from clients.services.proposing import refresh
from clients.services.sheets import issue_week
from clients.sheets import printed, wording
from programs.engine.compose.measures import judged, range_quarters
from programs.models import Outline, OutlineSlot
from programs.services.outlines import copy_outline
from tests.clients.weeks import draft_for, small_week
from tests.factories import MONDAY, HealthAnswersFactory, LoggedSetFactory, OutlineFactory

pytestmark = pytest.mark.django_db


def rolling_week(client, cycle_days=8, order=("full", "full", "full", "full"), offsets=(0, 2, 4, 6)):
    week = small_week(client)
    week.outline.order, week.outline.cycle_days = list(order), cycle_days
    week.outline.offsets = list(offsets)
    week.outline.save()
    return week


@pytest.fixture
def week(ana, ben):
    return rolling_week(ben)


@pytest.fixture
def draft(ana, ben, week):
    return draft_for(ben, ana, week, deload_weeks=[2])[0]


def text(response):
    body = response.content.decode()
    body = re.sub(r"<(script|style).*?</\1>", " ", body, flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", body)).replace("\u00a0", " "))


def dates(block):
    return [session.planned_on for session in block.sessions.order_by("cycle", "position")]


# Composing


def test_the_sessions_stand_on_the_templates_own_days_not_on_the_clients(draft):
    assert draft.document["cycle_days"] == 8
    assert [(row["weekday"], row["offset"]) for row in draft.document["days"]] == [
        (None, 0),
        (None, 2),
        (None, 4),
        (None, 6),
    ]


def test_offsets_that_do_not_fit_give_way_to_an_even_spread(ana, ben):
    draft, _week = draft_for(ben, ana, rolling_week(ben, 9, offsets=(0, 0, 11)))
    assert [row["offset"] for row in draft.document["days"]] == [0, 2, 4, 6]


def test_more_sessions_than_days_leave_the_days_open(ana, ben):
    draft, _week = draft_for(ben, ana, rolling_week(ben, 3, offsets=()))
    assert [row["offset"] for row in draft.document["days"]] == [None] * 4
    block = blocks.assign_block(draft, 1, ana)
    assert set(dates(block)) == {None}
    assert block.sessions.count() == 4 * cycles.rounds_in(4, 3)


def test_the_dose_is_that_of_seven_days(draft):
    state = state_of(draft)
    sets = sum(pick.sets for (slot, _n), pick in state.picks.items() if slot == "row")
    assert state.audit.dose["upper_back"].dose.direct == pytest.approx(sets * 7 / 8)
    assert state.audit.working_sets == sum(pick.sets for pick in state.picks.values())


def test_sixteen_sets_in_eight_days_are_fourteen_a_week(ana, draft):
    for occurrence in range(4):
        drafts.set_sets(draft, draft.revision, ana, "row", occurrence, 4)
    assert state_of(draft).audit.dose["upper_back"].dose.direct == pytest.approx(14)


@pytest.mark.parametrize("cycle_days", [5, 6, 8, 9, 10, 11])
def test_what_composing_aims_for_is_in_range_when_told_for_seven_days(draft, cycle_days):
    request = replace(draft_inputs(draft).request, cycle_days=float(cycle_days))
    for group, (low, high) in range_quarters(request).items():
        for quarters in (low, high):
            assert judged(request, group, quarters / 4 * 7 / cycle_days).verdict == "in_range", group


def test_minutes_of_a_session_do_not_depend_on_the_cycle(ana, ben, draft, week):
    minutes = [entry.minutes for entry in state_of(draft).audit.minutes]
    sets = {(pick.slot, pick.occurrence): pick.sets for pick in picks_of(draft.document)}
    week.outline.cycle_days = 9
    week.outline.save()
    longer, _week = draft_for(ben, ana, week)
    for place, count in sets.items():
        drafts.set_sets(longer, longer.revision, ana, *place, count)
    assert [entry.minutes for entry in state_of(longer).audit.minutes] == pytest.approx(minutes, abs=3)


def test_recovery_runs_over_the_end_of_the_cycle(draft):
    inputs = draft_inputs(draft)
    gaps = gaps_of(inputs, picks_of(draft.document), draft.document["days"])
    last = next(gap for gap in gaps if gap.earlier == "full:3")
    assert last.later == "full:0" and last.wraps
    assert 46 <= last.hours < 48


def test_a_session_moves_within_the_cycle_and_changes_places(ana, draft):
    drafts.set_day(draft, 1, ana, "full", 0, 7)
    assert [(row["occurrence"], row["offset"]) for row in draft.document["days"]] == [(1, 2), (2, 4), (3, 6), (0, 7)]
    drafts.set_day(draft, 2, ana, "full", 1, 4)
    assert {row["occurrence"]: row["offset"] for row in draft.document["days"]} == {0: 7, 1: 4, 2: 2, 3: 6}
    with pytest.raises(ValueError, match="no such day"):
        drafts.set_day(draft, 3, ana, "full", 1, 8)


def test_composing_again_keeps_the_cycle_that_the_draft_was_started_with(ana, draft, week):
    week.outline.cycle_days = 7
    week.outline.save()
    drafts.recompose(draft, 1, ana)
    draft.refresh_from_db()
    assert state_of(draft).cycle_days == 8


def test_the_board_names_days_of_the_cycle_and_says_what_the_dose_is_for(as_ana, draft):
    page = as_ana.get(reverse("draft", args=[draft.public_id]))
    shown = text(page)
    for words in ("The cycle, 8 days", "Day 1", "Day 7", "per 7 days; the cycle has 8", "4 in 8 days"):
        assert words in shown, words
    assert "Ben Quay (Monday, Thursday) are not kept" in shown
    assert "It asks for 3.5 sessions a week where Ben Quay has 2 days." in shown
    assert "In the cycle at least once" in shown


def test_a_day_is_chosen_on_the_board(as_ana, draft):
    url = reverse("draft-day", args=[draft.public_id])
    answer = as_ana.post(url, {"revision": 1, "day": "full", "occurrence": 0, "on": 7}, follow=True)
    assert "Full body A moves to day 8 of the cycle." in text(answer)
    assert as_ana.post(url, {"revision": 2, "day": "full", "occurrence": 0, "on": 8}).status_code == 422


def test_the_form_says_what_a_rolling_template_makes_of_the_clients_days(as_ana, ben, week):
    weekly = OutlineFactory(practice=ben.practice)
    url = reverse("compose-start", args=[ben.public_id])
    shown = text(as_ana.get(url, {"outline": week.outline.pk, "weeks": "6"}))
    assert "(4 in 8 days)" in shown
    assert "This cycle of 8 days runs on its own days; those of Ben Quay (Monday, Thursday) are not kept." in shown
    assert "6 weeks hold 5 cycles of 8 days and 2 days of one more." in shown
    assert "Easier weeks are cycles here; usual is 5." in shown
    assert "are not kept" not in text(as_ana.get(url, {"outline": weekly.pk}))


def test_easier_cycles_lie_within_the_block(as_ana, ben, week):
    data = {"outline": week.outline.pk, "place": week.place.pk, "starts_on": "2026-03-02", "weeks": 6}
    url = reverse("compose-start", args=[ben.public_id])
    refused = as_ana.post(url, {**data, "deload_weeks": "7"})
    assert refused.status_code == 422 and "Easier cycles lie between 1 and 6." in text(refused)
    assert as_ana.post(url, {**data, "deload_weeks": "6"}).status_code == 302


@pytest.mark.parametrize(
    ("cycle_days", "usual"), [(7, [6]), (8, [5]), (14, [3]), (10, [4]), (5, [8]), (3, [13, 14]), (2, [19, 20, 21])]
)
def test_an_easier_time_comes_about_every_six_weeks(cycle_days, usual):
    assert blocks.usual_deloads("intermediate", 6, cycle_days) == usual
    assert blocks.usual_deloads("novice", 6, cycle_days) == []


# Assigning


def test_a_block_runs_past_the_end_of_the_week(ana, ben):
    week = rolling_week(ben, 4, order=("full", "full"), offsets=(0, 2))
    draft, _week = draft_for(ben, ana, week, starts_on=date(2026, 11, 2), weeks=2, deload_weeks=[])
    block = blocks.assign_block(draft, 1, ana)
    assert [(day.day, day.strftime("%a")) for day in dates(block)] == [
        (2, "Mon"),
        (4, "Wed"),
        (6, "Fri"),
        (8, "Sun"),
        (10, "Tue"),
        (12, "Thu"),
        (14, "Sat"),
    ]
    assert [session.name[-1] for session in block.sessions.order_by("cycle", "position")] == list("ABABABA")


def test_sessions_are_numbered_by_cycle_and_a_whole_cycle_is_easier(ana, draft):
    block = blocks.assign_block(draft, 1, ana)
    assert (block.cycle_days, block.weeks, block.rounds) == (8, 4, 4)
    assert block.last_day == MONDAY + timedelta(days=27)
    by_cycle = {number: list(block.sessions.filter(cycle=number)) for number in range(1, 5)}
    assert [len(rows) for rows in by_cycle.values()] == [4, 4, 4, 2]
    assert all(session.deload == (session.cycle == 2) for rows in by_cycle.values() for session in rows)
    assert [session.planned_on for session in by_cycle[2]] == [
        MONDAY + timedelta(days=8 + offset) for offset in (0, 2, 4, 6)
    ]
    first, easier = by_cycle[1][1], by_cycle[2][1]
    sets = [line.target_sets.count() for line in first.prescriptions.all()]
    assert sum(line.target_sets.count() for line in easier.prescriptions.all()) < sum(sets)
    assert all(day <= block.last_day for day in dates(block))


@pytest.mark.parametrize("cycle_days", [2, 3, 5, 10, 14])
def test_cycles_of_any_length_keep_their_distance_from_start_to_end(ana, ben, cycle_days):
    week = rolling_week(ben, cycle_days, order=("full", "full"), offsets=())
    draft, _week = draft_for(ben, ana, week, weeks=6, deload_weeks=[1])
    block = blocks.assign_block(draft, 1, ana)
    found = [(day - MONDAY).days for day in dates(block)]
    assert found == [day for day in range(42) if day % cycle_days in (0, cycle_days // 2)]
    assert len(set(block.sessions.values_list("cycle", "position"))) == len(found)
    assert max(block.sessions.values_list("cycle", flat=True)) == block.rounds


@pytest.mark.parametrize("zone", ["Europe/Helsinki", "America/New_York", "Australia/Lord_Howe", "Pacific/Apia"])
def test_no_clock_change_moves_a_date(ana, ben, week, zone):
    ben.time_zone = zone
    ben.save()
    draft, _week = draft_for(ben, ana, week, starts_on=date(2026, 10, 19), weeks=4, deload_weeks=[])
    block = blocks.assign_block(draft, 1, ana)
    found = dates(block)
    assert [(day - found[0]).days for day in found] == [
        8 * cycle + offset for cycle in range(4) for offset in (0, 2, 4, 6) if 8 * cycle + offset < 28
    ]


def test_a_list_without_days_has_as_many_sessions(ana, ben, week):
    ben.order_mode = Client.OrderMode.LIST
    ben.save()
    draft, _week = draft_for(ben, ana, week)
    assert [row["offset"] for row in draft.document["days"]] == [None] * 4
    block = blocks.assign_block(draft, 1, ana)
    assert set(dates(block)) == {None}
    assert [block.sessions.filter(cycle=number).count() for number in range(1, 5)] == [4, 4, 4, 2]


def test_days_that_the_client_changes_leave_the_cycle_as_it_is(ana, ben, draft, week):
    before = draft.document["days"]
    ben.days = [5]
    ben.save()
    newer, _week = draft_for(ben, ana, week)
    assert newer.document["days"] == before


# Every page


def test_every_page_counts_cycles(as_ana, as_ben, ana, ben, week):
    today = today_for(ben)
    HealthAnswersFactory(client=ben, answered_on=today)
    # Today is the fifth day of the second cycle.
    draft, _week = draft_for(ben, ana, week, starts_on=today - timedelta(days=12), deload_weeks=[1])
    block = blocks.assign_block(draft, 1, ana)
    (issued, *_others) = issue_week(block, 1, ana)
    session = block.sessions.get(cycle=2, position=2)
    own = [ben.public_id]
    said = {
        reverse("clients"): "cycle 2 of 4",
        reverse("client", args=own): "cycle 2 of 4",
        reverse("client-block", args=own): "cycle of 8 days",
        reverse("client-calendar", args=own): "cycle 2",
        reverse("client-sheets", args=own): "Hand out cycle",
        reverse("client-logs", args=own): "cycle 1",
        reverse("client-progress", args=own): "Progress",
        reverse("session", args=[session.public_id]): "cycle 2 of 4",
        reverse("session-log", args=[session.public_id]): "cycle 2",
        reverse("compose"): "Compose",
        reverse("desk"): "Desk",
    }
    for url, words in said.items():
        page = as_ana.get(url, follow=True)
        shown = text(page)
        assert page.status_code == 200 and words in shown, (url, words)
        assert not re.search(r"\b[Ww]eek \d+ of\b|easier week", shown), url
    assert "This cycle" in text(as_ben.get(reverse("today")))
    sheet = as_ben.get(reverse("sheet", args=[issued.version.public_id]))
    assert "Cycle 1 of 4" in text(sheet) and "A lighter cycle" in text(sheet)
    document = issued.version.document
    assert wording.week_words(document["session"]) == "cycle 1 of 4"


def test_a_sheet_of_a_week_says_nothing_of_cycles(ana, ben):
    HealthAnswersFactory(client=ben, answered_on=MONDAY)
    draft, _week = draft_for(ben, ana)
    (issued, *_others) = issue_week(blocks.assign_block(draft, 1, ana), 1, ana)
    document = issued.version.document
    assert "cycle_days" not in document["session"]
    assert wording.week_words(document["session"]) == "week 1 of 4"


# Technique notes


@pytest.fixture
def with_note(ana, ben):
    HealthAnswersFactory(client=ben, answered_on=MONDAY)
    week = small_week(ben)
    OutlineSlot.objects.filter(day__outline=week.outline, key="press").update(technique="Pause on the chest.")
    draft, _week = draft_for(ben, ana, week)
    block = blocks.assign_block(draft, 1, ana)
    return block, issue_week(block, 1, ana)[0].version


def test_a_technique_note_goes_from_the_slot_to_the_sheet(with_note):
    block, version = with_note
    noted = block.sessions.first().prescriptions.get(slot_key="press")
    assert noted.technique == "Pause on the chest."
    by_slot = {line["slot"]: line for line in version.document["lines"]}
    assert by_slot["press"]["technique"] == "Pause on the chest."
    assert "technique" not in by_slot["row"]


@pytest.mark.parametrize("layout", ["phone", "paper"])
def test_a_technique_note_is_printed(with_note, layout):
    _block, version = with_note
    lines = printed.context(version.document, 1, layout)["lines"]
    assert [line["technique"] for line in lines] == ["Pause on the chest.", "", ""]


def test_a_technique_note_is_read_on_the_phone_and_by_the_coach(as_ana, as_ben, with_note):
    block, version = with_note
    page = text(as_ben.get(reverse("sheet-line", args=[version.public_id, 1])))
    assert "Technique Pause on the chest." in page
    assert "Technique" not in text(as_ben.get(reverse("sheet-line", args=[version.public_id, 2])))
    coach = text(as_ana.get(reverse("session", args=[block.sessions.first().public_id])))
    assert "Pause on the chest." in coach


def test_a_copied_template_keeps_its_cycle_and_its_notes(ana, week):
    OutlineSlot.objects.filter(day__outline=week.outline, key="press").update(technique="Pause on the chest.")
    copied, _entry = copy_outline(Outline.objects.with_week().get(pk=week.outline.pk), ana)
    assert (copied.cycle_days, copied.offsets) == (8, [0, 2, 4, 6])
    assert OutlineSlot.objects.get(day__outline=copied, key="press").technique == "Pause on the chest."


# Progress


def test_a_fortnight_that_the_cycle_plans_takes_nothing_off_the_load(ana, ben):
    ben.experience = "intermediate"
    ben.save()
    week = rolling_week(ben, 14, order=("full",), offsets=(0,))
    draft, _week = draft_for(ben, ana, week, weeks=6, deload_weeks=[])
    block = blocks.assign_block(draft, 1, ana)
    first, second, _third = block.sessions.order_by("cycle")
    line = first.prescriptions.get(slot_key="press")
    for number in (1, 2, 3):
        LoggedSetFactory(
            client=ben,
            exercise=line.exercise,
            slot_key="press",
            occurrence=0,
            place=block.place,
            order=number,
            performed_on=first.planned_on,
        )
    first.state, first.trained_on = first.State.TRAINED, first.planned_on
    first.save()
    refresh(ben)
    proposal = Proposal.objects.waiting().get(session=second, slot_key="press")
    codes = [reason["code"] for reason in proposal.reasons]
    assert "sets_used" in codes and "absence" not in codes, codes
    assert proposal.kind != "return"


def test_who_waits_as_planned_is_not_away(ana, ben):
    today = today_for(ben)
    week = rolling_week(ben, 14, order=("full",), offsets=(0,))
    draft, _week = draft_for(ben, ana, week, starts_on=today - timedelta(days=13), deload_weeks=[])
    block = blocks.assign_block(draft, 1, ana)
    first = block.sessions.get(cycle=1)
    first.state, first.trained_on = first.State.TRAINED, first.planned_on
    first.save()

    def told():
        return [matter.because.code for matter in desk_of(ana).matters]

    assert "away_for_long" not in told()
    block.cycle_days = 7
    block.save()
    assert "away_for_long" in told()
