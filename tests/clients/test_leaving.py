"""Pausing, leaving, coming back, another coach: shown, done as shown, undone whole, and no closed link opens again."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clients.clock import today_for
from clients.models import (
    CalendarFeed,
    Client,
    ClientLink,
    HealthNote,
    Prescription,
    Proposal,
    SheetLink,
    SheetVersion,
    TargetSet,
    TrainingSession,
)
from clients.reads import leaving as reads
from clients.reads.health import standing_of
from clients.reads.people import attendance_of
from clients.reads.review import Review
from clients.services import blocks, leaving, links, sheets
from clients.services.proposing import refresh
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.engine import cautions
from programs.units import load_of
from tests.clients.sheets import add_line, handed_out, session_for
from tests.clients.weeks import SmallWeek, draft_for, small_week
from tests.factories import (
    BlockFactory,
    ClientFactory,
    ClientLinkFactory,
    CoachFactory,
    DraftFactory,
    HealthAnswersFactory,
    LoggedSetFactory,
    ProposalFactory,
)

pytestmark = pytest.mark.django_db
State = TrainingSession.State


@pytest.fixture
def today(ben):
    return today_for(ben)


def page_of(name, client):
    return reverse(f"client-{name}", args=[client.public_id])


def fresh(row):
    return type(row).objects.get(pk=row.pk)


def state_of(*rows):
    return [fresh(row).state for row in rows]


def act(name, client, coach, day, **more):
    """The act as its page would do it: what stands before it is agreed to."""
    found = reads.before_return(client, day) if name == "come_back" else reads.before(client, day)
    return getattr(leaving, name)(client, coach, day, found.digest, **more)


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
    links.client_link(ben), links.sheet_link(now)
    feed = CalendarFeed(client=ben, expires_at=timezone.now() + timedelta(days=30))
    feed.seal()
    feed.save()
    return late, now, later


# Pausing


def test_a_pause_holds_what_is_to_come_and_leaves_the_past(ana, ben, today, training):
    late, now, later = training
    act("pause", ben, ana, today, until=today + timedelta(days=40))
    assert state_of(late, now, later) == [State.PLANNED, State.HELD, State.HELD]
    assert not SheetVersion.objects.for_client(ben).standing().exists()
    assert not Proposal.objects.waiting().exists()
    assert ben.blocks.active().exists()
    ben.refresh_from_db()
    assert (ben.status, ben.status_since, ben.paused_until) == ("paused", today, today + timedelta(days=40))
    assert ben.drafts.filter(state="open").exists()


def test_what_is_on_hold_is_neither_due_nor_missed_nor_sent(ana, ben, today):
    days_ago = [session_for(ben, planned_on=today - timedelta(days=n), position=n) for n in (12, 8, 4)]
    add_line(days_ago[0])
    assert attendance_of([ben.pk], today)[ben.pk].due == 3
    act("pause", ben, ana, today - timedelta(days=9))
    assert attendance_of([ben.pk], today)[ben.pk].due == 1
    held = [state for week in Review(ben).attendance for state in week]
    assert held.count("missed") == 1 and held.count("excused") == 2
    ben.refresh_from_db()
    with pytest.raises(sheets.NotCleared) as refused:
        sheets.issue_sheet(fresh(days_ago[0]), ana)
    assert [hold.code for hold in refused.value.holds] == ["health.client_paused"]


def test_links_stay_open_in_a_pause_unless_they_are_to_close(ana, ben, today, training):
    act("pause", ben, ana, today)
    assert ClientLink.objects.get(client=ben).alive
    journal.undo(JournalEntry.objects.get(act="client.pause"), ana)
    act("pause", fresh(ben), ana, today, close=True)
    assert not ClientLink.objects.get(client=ben).alive


def test_one_undo_takes_a_pause_back(ana, ben, today, training):
    late, now, later = training
    entry = act("pause", ben, ana, today)
    journal.undo(entry, ana)
    assert state_of(late, now, later) == [State.PLANNED] * 3
    assert SheetVersion.objects.for_client(ben).standing().count() == 2
    assert Proposal.objects.waiting().count() == 1
    assert fresh(ben).status == "active"


def test_sheets_of_sessions_before_a_pause_stay_out_as_its_page_says(as_ana, ana, ben, today, training):
    late = training[0]
    handed_out(late)
    text = as_ana.get(page_of("pause", ben)).content.decode()
    happens, stays = text.split('id="stays"')
    assert happens.split("<dt>Sheets</dt>")[1].split("</dd>")[0].count("<li>") == 2
    assert stays.split("<dt>Sheets</dt>")[1].split("</dd>")[0].count("<li>") == 1
    act("pause", ben, ana, today)
    assert [version.session for version in SheetVersion.objects.for_client(ben).standing()] == [late]


@pytest.mark.parametrize("name", ["come_back", "leave", "change_coach"])
def test_what_follows_a_pause_is_undone_while_an_earlier_sheet_is_out(ana, ben, today, training, name):
    handed_out(training[0])
    act("pause", ben, ana, today)
    paused = fresh(ben)
    if name == "come_back":
        entry = act("come_back", paused, ana, today, way="on")
    elif name == "leave":
        entry = act("leave", paused, ana, today, keep_until=today)
    else:
        mira = CoachFactory(practice=ana.practice, name="Mira")
        found = reads.before(paused, today, str(mira.pk))
        entry = leaving.change_coach(paused, ana, mira, found.digest, day=today, note="")
    journal.undo(entry, ana)
    assert (fresh(ben).status, fresh(ben).coach) == ("paused", ana)
    assert [version.session for version in SheetVersion.objects.for_client(ben).standing()] == [training[0]]


def test_a_pause_may_go_on_longer_and_the_day_is_put_back(as_ana, ana, ben, today, training):
    page = page_of("wait", ben)
    assert as_ana.get(page).status_code == 302  # nobody pauses
    act("pause", ben, ana, today - timedelta(days=9), until=today)
    shown = as_ana.get(page)
    assert today.isoformat() in shown.content.decode() and "Upper A" in shown.content.decode()
    typed = {"go": "do", "digest": shown.context["digest"]}
    for wrong in ((today - timedelta(days=1)).isoformat(), "soon", "9999-12-31"):
        assert as_ana.post(page, {**typed, "until": wrong}).status_code == 422
    later = today + timedelta(days=30)
    answer = as_ana.post(page, {**typed, "until": later.isoformat()})
    assert answer.status_code == 302 and fresh(ben).paused_until == later
    assert "Meant to be back" not in as_ana.get(reverse("desk")).content.decode()
    journal.undo(JournalEntry.objects.get(act="client.wait"), ana)
    assert (fresh(ben).status, fresh(ben).paused_until) == ("paused", today)
    assert as_ana.post(page, {**typed, "until": ""}).status_code == 302 and fresh(ben).paused_until is None
    act("leave", fresh(ben), ana, today, keep_until=today)
    assert as_ana.post(page, {**typed, "until": later.isoformat()}).status_code == 302
    assert fresh(ben).paused_until is None


# Leaving


def test_leaving_closes_everything_and_says_until_when_it_is_kept(ana, ben, today, training):
    late, now, later = training
    HealthNote.objects.create(client=ben, text="sleeps badly")
    kept = today + timedelta(days=900)
    act("leave", ben, ana, today, keep_until=kept)
    ben.refresh_from_db()
    assert (ben.status, ben.keep_until) == ("left", kept)
    for link in (ClientLink.objects.get(), SheetLink.objects.get(), CalendarFeed.objects.get()):
        assert not link.alive
    assert not SheetVersion.objects.for_client(ben).standing().exists()
    assert state_of(late, now, later) == [State.PLANNED, State.DROPPED, State.DROPPED]
    assert not ben.blocks.active().exists()
    assert not Proposal.objects.waiting().exists()
    assert ben.drafts.filter(state="open").exists() and ben.health_notes.exists()


def test_a_link_that_was_closed_stays_closed_after_the_undo(ana, ben, as_ben, today, training):
    code = SheetLink.objects.get()
    old, phone = code.token(), reverse("today")
    assert as_ben.get(phone).status_code == 200
    entry = act("leave", ben, ana, today, keep_until=today)
    assert as_ben.get(phone).status_code == 403
    journal.undo(entry, ana)
    assert state_of(*training) == [State.PLANNED] * 3 and ben.blocks.active().exists()
    assert as_ben.get(phone).status_code == 403
    assert Browser().get(reverse("open-sheet-link", args=[old])).status_code == 404
    # The next ones are others: the client's is new, the sheet's code has another token.
    assert links.client_link(ben).alive
    again = links.sheet_link(code.session)
    assert again.pk == code.pk and again.alive and again.token() != old
    assert Browser().get(reverse("open-sheet-link", args=[old])).status_code == 404
    assert Browser().get(reverse("open-sheet-link", args=[again.token()])).status_code == 302


def test_who_has_left_is_given_no_new_link(ana, ben, as_ana, today, training, settings):
    version = SheetVersion.objects.first()
    act("leave", ben, ana, today, keep_until=today)
    page = reverse("client-documents", args=[ben.public_id])
    assert "Make the link" not in as_ana.get(page).content.decode()
    as_ana.post(reverse("client-link", args=[ben.public_id]), {"go": "make"})
    assert not ClientLink.objects.filter(revoked_at=None).exists()
    # Nor by printing an old sheet again.
    as_ana.get(reverse("client-sheet-pdf", args=[ben.public_id, version.public_id, "phone"])).close()
    assert not SheetLink.objects.filter(revoked_at=None).exists()
    # And one that was made all the same opens nothing.
    made = ClientLinkFactory(client=ben)
    assert Browser().get(reverse("open-client-link", args=[made.token()])).status_code == 404


def test_who_left_while_paused_has_nothing_on_hold_any_more(ana, ben, today, training):
    act("pause", ben, ana, today, until=today + timedelta(days=9))
    act("leave", ben, ana, today, keep_until=today)
    assert state_of(*training) == [State.PLANNED, State.DROPPED, State.DROPPED]
    assert fresh(ben).paused_until is None


def test_nothing_is_done_that_was_not_on_screen(ana, ben, today, training):
    digest = reads.before(ben, today).digest
    session_for(ben, planned_on=today + timedelta(days=9), position=3, cycle=2)
    with pytest.raises(leaving.Otherwise):
        leaving.leave(ben, ana, today, digest, keep_until=today)
    assert fresh(ben).status == "active" and ClientLink.objects.get().alive
    act("leave", ben, ana, today, keep_until=today)
    with pytest.raises(leaving.NotNow):
        leaving.pause(ben, ana, today, reads.before(ben, today).digest)


def test_undo_of_leaving_is_refused_once_another_block_runs(ana, ben, today, training):
    entry = act("leave", ben, ana, today, keep_until=today)
    BlockFactory(client=ben)
    with pytest.raises(journal.CannotUndo):
        journal.undo(entry, ana)
    assert fresh(ben).status == "left"


# Coming back


def answer_anew(client, day):
    return HealthAnswersFactory(client=client, answered_on=day)


def test_a_return_waits_for_new_health_questions(ana, ben, as_ana, today, training):
    act("leave", ben, ana, today, keep_until=today)
    act("come_back", ben, ana, today + timedelta(days=0))
    ben.refresh_from_db()
    assert (ben.status, ben.keep_until, ben.answers_from) == ("active", None, today)
    HealthAnswersFactory._meta.model.objects.update(answered_on=today - timedelta(days=30))
    standing = standing_of(ben, today)
    assert [hold.code for hold in standing.holds] == ["health.returned"] and not standing.cleared
    session = session_for(ben, position=9)
    add_line(session)
    with pytest.raises(sheets.NotCleared):
        sheets.issue_sheet(session, ana)
    shown = as_ana.get(reverse("client", args=[ben.public_id]))
    assert b"the health questions are asked anew" in shown.content
    answers = {code: "yes" if code == cautions.ACTIVE else "no" for code in cautions.SCREENING}
    as_ana.post(reverse("health-questions", args=[ben.public_id]), {**answers, "answered_on": today.isoformat()})
    assert standing_of(fresh(ben), today).cleared
    assert sheets.issue_sheet(session, ana).fresh


def paused_block(ben, ana, today, *, weeks_ago=5, order_mode="fixed"):
    """A block of four weeks begun so long ago; its first week was trained, then the client paused."""
    ben.order_mode = order_mode
    ben.save()
    start = today - timedelta(weeks=weeks_ago)
    week = small_week(ben)
    HealthAnswersFactory(client=ben, answered_on=start)
    draft, _week = draft_for(ben, ana, week, starts_on=start, weeks=4, deload_weeks=[4])
    block = blocks.assign_block(draft, draft.revision, ana)
    for session in block.sessions.filter(cycle=1):
        day = session.planned_on or start
        session.state, session.trained_on = State.TRAINED, day
        session.save()
        for line in session.prescriptions.all():
            for number in range(1, 4):
                LoggedSetFactory(
                    client=ben,
                    session=session,
                    exercise=line.exercise,
                    slot_key=line.slot_key,
                    occurrence=session.occurrence,
                    place=block.place,
                    line=line.position + 1,
                    number=number,
                    load=load_of(40, "kg"),
                    performed_on=day,
                )
    act("pause", ben, ana, start + timedelta(weeks=1))
    return block


def test_a_block_goes_on_where_it_stopped_on_its_own_weekdays(ana, ben, today):
    block = paused_block(ben, ana, today)
    before = {row.pk: row.planned_on for row in block.sessions.filter(state=State.HELD)}
    assert len(before) == 6
    # Everything fell into the pause, so there are no old dates to keep.
    assert [way.code for way in reads.before_return(ben, today).ways] == ["on", "end"]
    entry = act("come_back", ben, ana, today, way="on")
    after = {row.pk: row.planned_on for row in block.sessions.filter(state=State.PLANNED)}
    moved = {(after[pk] - day).days for pk, day in before.items()}
    assert moved == {28} and min(after.values()) >= today
    block.refresh_from_db()
    assert block.weeks == 8 and block.last_day >= max(after.values())
    journal.undo(entry, ana)
    assert {row.pk: row.planned_on for row in block.sessions.filter(state=State.HELD)} == before
    assert fresh(block).weeks == 4 and fresh(ben).status == "paused"


def test_a_block_may_keep_its_old_dates_or_end(ana, ben, today):
    block = paused_block(ben, ana, today, weeks_ago=2)
    found = reads.before_return(ben, today)
    assert [way.code for way in found.ways] == ["on", "dates", "end"]
    act("come_back", ben, ana, today, way="dates")
    rows = block.sessions.exclude(state=State.TRAINED)
    assert all((row.state == State.PLANNED) == (row.planned_on >= today) for row in rows)
    assert set(rows.values_list("state", flat=True)) == {State.PLANNED, State.DROPPED}
    journal.undo(JournalEntry.objects.get(act="client.come_back"), ana)
    act("come_back", fresh(ben), ana, today, way="end")
    assert fresh(block).state == "ended" and not block.sessions.filter(state=State.HELD).exists()


def test_a_list_without_dates_goes_on_in_the_week_that_runs(ana, ben, today):
    block = paused_block(ben, ana, today, weeks_ago=3, order_mode="list")
    before = {row.pk: row.cycle for row in block.sessions.filter(state=State.HELD)}
    assert set(before.values()) == {2, 3, 4}
    entry = act("come_back", ben, ana, today, way="on")
    after = {row.pk: row.cycle for row in block.sessions.filter(state=State.PLANNED)}
    assert {after[pk] - cycle for pk, cycle in before.items()} == {2}
    assert (fresh(block).weeks, fresh(block).deload_weeks) == (6, [6])
    journal.undo(entry, ana)
    assert {row.pk: row.cycle for row in block.sessions.filter(state=State.HELD)} == before
    assert fresh(block).deload_weeks == [4]


@pytest.mark.parametrize("state", ["dropped", "trained"])
def test_a_list_goes_on_around_what_was_left_out_or_trained_ahead(ana, ben, today, state):
    block = paused_block(ben, ana, today, weeks_ago=3, order_mode="list")
    fixed = block.sessions.filter(cycle=4).first()
    TrainingSession.objects.filter(pk=fixed.pk).update(state=state, trained_on=today)
    before = {row.pk: (row.cycle, row.position) for row in block.sessions.all()}
    held = set(block.sessions.filter(state=State.HELD).values_list("pk", flat=True))
    entry = act("come_back", ben, ana, today, way="on")
    after = {row.pk: (row.cycle, row.position) for row in block.sessions.all()}
    assert {after[pk][0] - before[pk][0] for pk in held} == {2}
    assert after[fixed.pk] == before[fixed.pk]
    journal.undo(entry, ana)
    assert {row.pk: (row.cycle, row.position) for row in block.sessions.all()} == before


@pytest.mark.parametrize("weeks_ago", [1, 9])
def test_the_table_for_time_away_meets_the_old_history_by_itself(ana, ben, today, weeks_ago):
    """Back after eight weeks every load is lighter and says why; back before a session was lost none is."""
    block = paused_block(ben, ana, today, weeks_ago=weeks_ago)
    decided = block.sessions.filter(state=State.HELD).first().prescriptions.first()
    decided.reasons = [{"code": "set_by_coach", "params": {}}]
    decided.save()
    TargetSet.objects.filter(prescription=decided).update(load_value=50, load_unit="kg", load_grams=50_000)
    sets = ben.logged_sets.count()
    act("come_back", ben, ana, today, way="on")
    refresh(fresh(ben))
    assert ben.logged_sets.count() == sets
    assert fresh(decided).reasons == []
    rows = list(Proposal.objects.waiting().filter(client=ben))
    assert rows
    loads = [row.new["load"] for row in rows]
    reasons = {reason["code"] for row in rows for reason in row.reasons}
    if weeks_ago == 9:
        assert all(load is not None and load < 40 for load in loads)
        assert {row.kind for row in rows} == {"return"} and any("away" in code or "absence" in code for code in reasons)
    else:
        assert all(load is not None and load >= 40 for load in loads)
        assert "return" not in {row.kind for row in rows}


def test_a_new_block_after_a_return_begins_from_the_old_baselines(ana, ben, today):
    paused_block(ben, ana, today, weeks_ago=20)
    act("leave", ben, ana, today - timedelta(weeks=19), keep_until=today)
    act("come_back", ben, ana, today)
    answer_anew(ben, today)
    week_one = draft_for(fresh(ben), ana, _week_again(ben), starts_on=today)[0]
    block = blocks.assign_block(week_one, week_one.revision, ana)
    trained = set(ben.logged_sets.values_list("exercise_id", flat=True))
    lines = Prescription.objects.filter(session__block=block, session__cycle=1, exercise__in=trained)
    loads = [target.load_value for line in lines for target in line.target_sets.all()]
    assert loads and all(load is not None and 0 < load < 40 for load in loads)


def _week_again(ben):
    block = ben.blocks.first()
    return SmallWeek(block.outline, block.place, {})


def test_a_block_composed_during_the_pause_takes_the_place_of_the_one_on_hold(ana, ben, today):
    block = paused_block(ben, ana, today)
    draft, _week = draft_for(fresh(ben), ana, _week_again(ben), starts_on=today)
    later = blocks.assign_block(draft, draft.revision, ana)
    assert block.sessions.filter(state=State.HELD).exists()
    act("come_back", fresh(ben), ana, today)
    assert not TrainingSession.objects.for_client(ben).filter(state=State.HELD).exists()
    assert ben.blocks.active().get() == later and later.sessions.filter(state=State.PLANNED).exists()


@pytest.mark.parametrize("order_mode", ["fixed", "next", "list"])
def test_every_page_of_a_paused_client_stands(ana, ben, as_ana, as_ben, today, order_mode):
    paused_block(ben, ana, today, weeks_ago=2, order_mode=order_mode)
    for name in ("client", "client-block", "client-calendar", "client-sheets", "client-logs", "client-progress"):
        assert as_ana.get(reverse(name, args=[ben.public_id])).status_code == 200, name
    assert as_ana.get(reverse("desk")).status_code == 200
    assert as_ben.get(reverse("today")).status_code == 200


def test_pinned_loads_stay_and_are_named(ana, ben, today, as_ana):
    block = paused_block(ben, ana, today)
    line = block.sessions.filter(state=State.HELD).first().prescriptions.first()
    line.pinned, line.reasons = ["load"], [{"code": "set_by_coach", "params": {}}]
    line.save()
    shown = as_ana.get(page_of("return", ben)).content.decode()
    assert "1 load is pinned and stays as it is" in shown and line.exercise.name in shown
    act("come_back", ben, ana, today, way="on")
    assert fresh(line).reasons and fresh(line).pinned == ["load"]


def test_a_return_is_not_undone_once_sheets_went_out(ana, ben, today, training):
    act("leave", ben, ana, today, keep_until=today)
    entry = act("come_back", fresh(ben), ana, today)
    answer_anew(ben, today)
    session = session_for(ben, position=9, cycle=5)
    add_line(session)
    handed_out(session)
    with pytest.raises(journal.CannotUndo):
        journal.undo(entry, ana)
    assert fresh(ben).status == "active" and SheetVersion.objects.for_client(ben).standing().exists()


def test_leaving_done_again_closes_what_was_made_in_between(ana, ben, today, training):
    undone = journal.undo(act("leave", ben, ana, today, keep_until=today), ana)
    link = links.client_link(ben)
    journal.undo(undone, ana)
    assert fresh(ben).status == "left" and not fresh(link).alive
    assert not SheetVersion.objects.for_client(ben).standing().exists()


def test_sheets_do_not_come_back_to_somebody_who_is_no_longer_cleared(ana, ben, today, training):
    entry = act("pause", ben, ana, today)
    ben.health_answers.all().delete()
    journal.undo(entry, ana)
    assert fresh(ben).status == "active"
    assert not SheetVersion.objects.for_client(ben).standing().exists()


# Another coach


def test_another_coach_takes_over_with_a_note_and_sheets_in_their_name(ana, ben, today, training):
    mira = CoachFactory(practice=ana.practice, name="Mira", sees_health=False)
    Client.objects.filter(pk=ben.pk).update(note="Likes mornings.")
    found = reads.before(ben, today, str(mira.pk))
    entry = leaving.change_coach(ben, ana, mira, found.digest, day=today, note="Ask about the knee on stairs.")
    ben.refresh_from_db()
    assert ben.coach == mira
    assert "Ana → Mira: Ask about the knee on stairs." in ben.note and ben.note.endswith("Likes mornings.")
    out = list(SheetVersion.objects.for_client(ben).standing())
    assert len(out) == 2 and {version.document["coach"]["name"] for version in out} == {"Mira"}
    assert Proposal.objects.waiting().count() == 1 and ClientLink.objects.get().alive
    journal.undo(entry, ana)
    ben.refresh_from_db()
    assert (ben.coach, ben.note) == (ana, "Likes mornings.")
    out = list(SheetVersion.objects.for_client(ben).standing())
    assert len(out) == 2 and {version.document["coach"]["name"] for version in out} == {"Ana"}


def test_while_nothing_goes_out_no_new_sheet_is_promised(as_ana, ana, ben, today, training):
    handed_out(training[0])
    mira = CoachFactory(practice=ana.practice, name="Mira")
    assert "Each is replaced by one that names Mira" in as_ana.get(page_of("coach", ben)).content.decode()
    act("pause", ben, ana, today)
    shown = as_ana.get(page_of("coach", ben))
    assert "are withdrawn; no sheet goes out to this client now" in shown.content.decode()
    as_ana.post(page_of("coach", ben), {"go": "do", "coach": mira.pk, "digest": shown.context["digest"], "note": ""})
    assert fresh(ben).coach == mira and not SheetVersion.objects.for_client(ben).standing().exists()


def test_only_coaches_of_the_practice_can_take_over(as_ana, ana, ben, cleo):
    page = page_of("coach", ben)
    assert b"Nobody else coaches in this practice" in as_ana.get(page).content
    mira = CoachFactory(practice=ana.practice, name="Mira", sees_health=False)
    CoachFactory(practice=ana.practice, name="Gone", is_active=False)
    shown = as_ana.get(page)
    assert b"Mira may not read the health pages" in shown.content
    assert b"Gone" not in shown.content and b"Cleo" not in shown.content
    answer = as_ana.post(page, {"go": "do", "coach": cleo.pk, "digest": shown.context["digest"], "note": ""})
    assert answer.status_code == 422 and fresh(ben).coach == ana
    answer = as_ana.post(page, {"go": "do", "coach": mira.pk, "digest": shown.context["digest"], "note": ""})
    assert answer.status_code == 302 and fresh(ben).coach == mira and fresh(ben).note == ""


# The pages


@pytest.mark.parametrize("name", ["pause", "leave"])
def test_the_page_names_what_will_happen_and_does_it(as_ana, ben, today, training, name):
    page = page_of(name, ben)
    shown = as_ana.get(page)
    text = shown.content.decode()
    assert "Upper A" in text and "the client’s link" in text and "1 code on a sheet" in text
    assert fresh(ben).status == "active"
    typed = {"day": today.isoformat(), "keep_until": (today + timedelta(days=30)).isoformat(), "until": ""}
    answer = as_ana.post(page, {**typed, "go": "do", "digest": shown.context["digest"]})
    assert answer.status_code == 302
    assert fresh(ben).status == {"pause": "paused", "leave": "left"}[name]
    # Not twice: the page is no longer for this client.
    assert as_ana.get(page).status_code == 302


def test_who_went_in_the_same_moment_is_not_shown_as_still_here(as_ana, ana, ben, today, training, monkeypatch):
    """The same form twice at once: the second finds the client gone only once it has the lock."""
    page, typed = page_of("leave", ben), {"day": today.isoformat(), "keep_until": today.isoformat(), "go": "do"}
    digest = as_ana.get(page).context["digest"]
    do = leaving.leave

    def twice(*args, **more):
        do(*args, **more)
        return do(*args, **more)

    monkeypatch.setattr(leaving, "leave", twice)
    answer = as_ana.post(page, {**typed, "digest": digest}, follow=True)
    assert answer.redirect_chain == [(reverse("client", args=[ben.public_id]), 302)]
    assert "left since" in answer.content.decode() and fresh(ben).status == "left"


def test_another_day_is_shown_anew_before_anything_is_done(as_ana, ben, today, training):
    page = page_of("pause", ben)
    shown = as_ana.get(page)
    earlier = (today - timedelta(days=3)).isoformat()
    answer = as_ana.post(page, {"day": earlier, "go": "do", "digest": shown.context["digest"]})
    assert answer.status_code == 409 and fresh(ben).status == "active"
    assert "Nothing is done yet" in answer.content.decode()
    answer = as_ana.post(page, {"day": earlier, "go": "do", "digest": answer.context["digest"]})
    assert answer.status_code == 302 and state_of(*training) == [State.HELD] * 3


def test_what_can_not_be_is_said(as_ana, ben, today):
    tomorrow = (today + timedelta(days=1)).isoformat()
    answer = as_ana.post(page_of("pause", ben), {"day": tomorrow, "go": "do"})
    assert answer.status_code == 422 and "still to come" in answer.content.decode()
    before = {"day": today.isoformat(), "until": today.isoformat(), "go": "do"}
    assert as_ana.post(page_of("pause", ben), before).status_code == 422
    past = {"day": today.isoformat(), "keep_until": (today - timedelta(days=1)).isoformat(), "go": "do"}
    assert as_ana.post(page_of("leave", ben), past).status_code == 422
    assert fresh(ben).status == "active"
    # Who is here can't come back.
    assert as_ana.get(page_of("return", ben)).status_code == 302


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "tomorrow", ""])
@pytest.mark.parametrize("order_mode", ["fixed", "list"])
def test_a_day_that_can_not_be_is_refused_and_nothing_is_reckoned_from_it(as_ana, ana, ben, today, day, order_mode):
    paused_block(ben, ana, today, order_mode=order_mode)
    answer = as_ana.post(page_of("return", ben), {"day": day, "way": "on", "go": "do", "digest": "\0" * 2000})
    assert answer.status_code == 422 and fresh(ben).status == "paused"


def test_a_return_is_done_as_its_page_says(as_ana, ana, ben, today):
    paused_block(ben, ana, today)
    page = page_of("return", ben)
    shown = as_ana.get(page)
    text = shown.content.decode()
    assert "Go on where it stopped" in text and "since the last session" in text and "Asked anew" in text
    typed = {"day": today.isoformat(), "go": "do", "digest": shown.context["digest"]}
    assert as_ana.post(page, {**typed, "way": "elsewhere"}).status_code == 422
    assert as_ana.post(page, {**typed, "way": "on"}).status_code == 302
    assert fresh(ben).status == "active"
    assert ben.blocks.active().get().sessions.filter(state=State.PLANNED).count() == 6


@pytest.mark.parametrize("name", ["pause", "leave", "coach"])
def test_a_page_costs_the_same_however_much_there_is(
    as_ana, ana, ben, today, training, name, django_assert_num_queries
):
    CoachFactory(practice=ana.practice)
    with CaptureQueriesContext(connection) as few:
        as_ana.get(page_of(name, ben))
    for number in range(3, 20):
        session = session_for(ben, planned_on=today + timedelta(days=number), position=number, cycle=3)
        add_line(session)
        handed_out(session)
        links.sheet_link(session)
        DraftFactory(client=ben)
    with django_assert_num_queries(len(few)):
        as_ana.get(page_of(name, ben))


def test_the_list_says_who_should_be_back_and_who_need_not_be_kept(as_ana, ana, cleo, today):
    yesterday = today - timedelta(days=1)
    about = {"practice": ana.practice, "coach": ana}
    ClientFactory(**about, name="Pia Late", status="paused", paused_until=yesterday)
    ClientFactory(**about, name="Pia Later", status="paused", paused_until=today + timedelta(days=5))
    ClientFactory(**about, name="Leo Old", status="left", keep_until=yesterday)
    ClientFactory(**about, name="Leo New", status="left", keep_until=today + timedelta(days=5))
    ClientFactory(practice=cleo.practice, coach=cleo, name="Not Ours", status="left", keep_until=yesterday)
    text = as_ana.get(reverse("clients")).content.decode()
    assert "Pia Late" in text and "Leo Old" in text and "Pia Later" not in text
    assert "Leo New" not in text and "Not Ours" not in text
    left = as_ana.get(reverse("clients") + "?status=left").content.decode()
    assert "Leo New" in left and "kept until" in left


def test_the_head_and_the_profile_say_where_somebody_stands(as_ana, ana, ben, today):
    assert b"Come back" not in as_ana.get(reverse("client", args=[ben.public_id])).content
    act("pause", ben, ana, today, until=today + timedelta(days=10))
    text = as_ana.get(reverse("client", args=[ben.public_id])).content.decode()
    assert "paused since" in text and "back on" in text and page_of("return", ben) in text


def test_a_client_page_with_a_link_is_not_closed_for_another_client(ana, ben, today, training):
    other = ClientLinkFactory(client__practice=ana.practice, client__coach=ana)
    act("leave", ben, ana, today, keep_until=today)
    assert fresh(other).alive
