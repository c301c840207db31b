"""Pausing, leaving, another coach: shown, done as shown, undone whole, and no closed link opens again."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clients.models import (
    CalendarFeed,
    Client,
    ClientLink,
    HealthNote,
    Proposal,
    SheetLink,
    SheetVersion,
    TrainingSession,
)
from clients.reads import leaving as reads
from clients.reads.people import attendance_of
from clients.reads.review import Review
from clients.services import leaving, links, sheets
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from tests.clients.absence import act, fresh, page_of, paused_block, state_of
from tests.clients.sheets import add_line, handed_out, session_for
from tests.factories import BlockFactory, ClientFactory, ClientLinkFactory, CoachFactory, DraftFactory

pytestmark = pytest.mark.django_db
State = TrainingSession.State

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


def test_sheets_do_not_come_back_to_somebody_who_is_no_longer_cleared(ana, ben, today, training):
    entry = act("pause", ben, ana, today)
    ben.health_answers.all().delete()
    journal.undo(entry, ana)
    assert fresh(ben).status == "active"
    assert not SheetVersion.objects.for_client(ben).standing().exists()


@pytest.mark.parametrize("order_mode", ["fixed", "next", "list"])
def test_every_page_of_a_paused_client_stands(ana, ben, as_ana, as_ben, today, order_mode):
    paused_block(ben, ana, today, weeks_ago=2, order_mode=order_mode)
    for name in ("client", "client-block", "client-calendar", "client-sheets", "client-logs", "client-progress"):
        assert as_ana.get(reverse(name, args=[ben.public_id])).status_code == 200, name
    assert as_ana.get(reverse("desk")).status_code == 200
    assert as_ben.get(reverse("today")).status_code == 200


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


def test_who_has_left_is_given_no_new_link(ana, ben, as_ana, today, training):
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


def test_leaving_done_again_closes_what_was_made_in_between(ana, ben, today, training):
    undone = journal.undo(act("leave", ben, ana, today, keep_until=today), ana)
    link = links.client_link(ben)
    journal.undo(undone, ana)
    assert fresh(ben).status == "left" and not fresh(link).alive
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
