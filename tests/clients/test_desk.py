"""The Desk: what needs the coach, most pressing first, at the same cost for one client and for thirty."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clients.models import LoggedSet, Proposal, SessionNote, SheetVersion
from clients.sheets import wording
from clients.views.desk import ROWS_SHOWN
from coachdesk.practice.models import JournalEntry
from programs.units import load_of
from tests.clients.desk_work import TODAY, ahead, hurt, proposed, settled
from tests.factories import (
    BlockFactory,
    ClientFactory,
    CoachFactory,
    ExerciseFactory,
    LoggedSetFactory,
    PrescriptionFactory,
    StationFactory,
    TrainingSessionFactory,
)
from tests.pages import text_of


def test_without_clients_it_says_what_to_do(as_ana):
    text = text_of(as_ana.get(reverse("desk")))
    assert "No clients yet. Add the first one, or try the demo practice." in text


def test_with_nothing_to_decide_it_says_so_and_who_is_in_order(as_ana, ben):
    settled(ben)
    response = as_ana.get(reverse("desk"))
    assert "Nothing needs a decision today." in text_of(response)
    assert [person.client for person in response.context["in_order"]] == [ben]


@pytest.mark.parametrize("count", [1, 30])
def test_the_desk_costs_the_same_however_many_clients(as_ana, ana, count, django_assert_num_queries):
    for number in range(count):
        client = ClientFactory(practice=ana.practice, coach=ana)
        block = settled(client, weeks=2 + number % 2)
        proposed(ahead(block), name=f"Squat {number}", plain=number % 2 == 0)
        hurt(client)
        LoggedSetFactory(
            client=client,
            state=LoggedSet.State.ASKED,
            exercise=ExerciseFactory(practice=ana.practice, name=f"Row {number}"),
            doubts=[{"code": "ten_times", "params": {"usual": 20, "load": 200, "unit": "kg"}}],
        )
        TrainingSessionFactory(block=block, planned_on=TODAY - timedelta(days=3))
    with django_assert_num_queries(18):  # session, coach, and what clients.reads.desk gathers
        response = as_ana.get(reverse("desk"))
    assert response.status_code == 200


def test_most_pressing_first(as_ana, ana, ben):
    block = settled(ben)
    proposed(ahead(block))
    other = ClientFactory(practice=ana.practice, coach=ana, name="Maren Tide")
    hurt(other)
    settled(other)
    groups = as_ana.get(reverse("desk")).context["groups"]
    assert [group["code"] for group in groups] == ["pain", "decide", "waiting"]
    assert [row.who for row in groups[0]["rows"]] == ["Maren T."]


def test_a_proposal_says_what_why_and_from_where_to_where(as_ana, ben):
    proposed(ahead(settled(ben)))
    (row,) = next(group for group in as_ana.get(reverse("desk")).context["groups"] if group["code"] == "decide")["rows"]
    assert row.what.replace("\u00a0", " ") == "Back squat, 4 × 6–8: one step up."
    assert "8/8/8/8 with 2 in reserve" in row.because
    assert (row.figure.old, row.figure.new, row.figure.unit) == ("72.5", "75", "kg")
    assert [act.label for act in row.acts] == ["Accept", "Edit", "Decline"]


def test_plain_proposals_are_one_row_and_one_button(as_ana, ana, ben):
    session = ahead(settled(ben))
    for name in ("Squat", "Row"):
        proposed(session, name=name, plain=True)
    response = as_ana.get(reverse("desk"))
    assert "Accept 2 plain proposals" in text_of(response)
    rows = next(group for group in response.context["groups"] if group["code"] == "decide")["rows"]
    assert [row.flag_text for row in rows] == ["plain × 2"]
    assert len(as_ana.get(reverse("desk") + "?plain=1").context["groups"][0]["rows"]) == 3
    toast = as_ana.post(reverse("accept-plain"), follow=True)
    assert "Accepted 2 plain proposals." in text_of(toast)
    assert not Proposal.objects.waiting().exists()
    entry = JournalEntry.objects.get(act="proposal.accept")
    as_ana.post(reverse("undo", args=[entry.public_id]))
    assert Proposal.objects.waiting().count() == 2


def test_plain_ones_of_one_client_alone(as_ana, ana, ben):
    proposed(ahead(settled(ben)), plain=True)
    other = ClientFactory(practice=ana.practice, coach=ana)
    kept = proposed(ahead(settled(other)), name="Row", plain=True)
    as_ana.post(reverse("accept-plain"), {"client": str(ben.public_id)})
    assert list(Proposal.objects.waiting()) == [kept]


def test_clients_with_the_same_short_name_are_counted_each(as_ana, ana, ben):
    proposed(ahead(settled(ben)), plain=True)
    like = ClientFactory(practice=ana.practice, coach=ana, name="Ben Quill")
    assert like.initials == ben.initials
    session = ahead(settled(like))
    for name in ("Row", "Press"):
        proposed(session, name=name, plain=True)
    response = as_ana.get(reverse("desk"))
    (row,) = next(group for group in response.context["groups"] if group["code"] == "decide")["rows"]
    assert (row.flag_text, row.who, row.what) == ("plain × 3", "2 clients", f"{ben.initials}, {ben.initials} 2")


def test_plain_ones_of_another_practice_stay(as_cleo, cleo, ben):
    proposed(ahead(settled(ben)), plain=True)
    as_cleo.post(reverse("accept-plain"))
    assert Proposal.objects.waiting().exists()


def test_accepting_in_place_answers_with_the_row_and_a_toast(as_ana, ben):
    proposal = proposed(ahead(settled(ben)))
    url = reverse("proposal", args=[proposal.public_id])
    response = as_ana.post(url, {"do": "accept"}, headers={"HX-Request": "true"})
    assert response.status_code == 200
    assert "Accepted: Back squat, 75 kg, 4 × 6–8." in text_of(response).replace("\u00a0", " ")
    assert 'hx-swap-oob="innerHTML:#toasts"' in response.content.decode()


def test_without_script_the_same_form_goes_back_to_where_it_was(as_ana, ben):
    proposal = proposed(ahead(settled(ben)))
    url = reverse("proposal", args=[proposal.public_id])
    response = as_ana.post(url, {"do": "decline", "next": "/?one=1"})
    assert (response.status_code, response["Location"]) == (302, "/?one=1")
    proposal.refresh_from_db()
    assert proposal.state == Proposal.State.DECLINED


def test_a_coachs_own_numbers(as_ana, ben):
    proposal = proposed(ahead(settled(ben)))
    url = reverse("proposal", args=[proposal.public_id])
    assert as_ana.get(url).status_code == 200
    response = as_ana.post(url, {"do": "edit", "load": "77,5", "sets": "3", "reps_low": "5", "reps_high": "5"})
    assert response.status_code == 302
    line = proposal.session.prescriptions.get(slot_key=proposal.slot_key)
    assert {(row.load_value, row.load_text, row.reps_low) for row in line.target_sets.all()} == {
        (load_of("77.5", "kg").value, "77,5", 5)
    }


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("load", "heavy", "Loads are numbers such as 62.5 or 62,5."),
        ("sets", "0", "Sets are whole numbers, 1 to 12."),
        ("reps_high", "4", "The upper number is the same or more."),
        ("reps_low", "", "Say how many reps."),
    ],
)
def test_wrong_numbers_keep_what_was_typed(as_ana, ben, field, value, words):
    proposal = proposed(ahead(settled(ben)))
    data = {"do": "edit", "load": "77.5", "sets": "3", "reps_low": "6", "reps_high": "8", field: value}
    response = as_ana.post(reverse("proposal", args=[proposal.public_id]), data)
    assert response.status_code == 422
    assert words in text_of(response)
    if value:
        assert f'value="{value}"' in response.content.decode()
    assert Proposal.objects.waiting().exists()


def test_a_proposal_decided_elsewhere_is_said_to_be(as_ana, ben):
    proposal = proposed(ahead(settled(ben)))
    url = reverse("proposal", args=[proposal.public_id])
    as_ana.post(url, {"do": "accept"})
    assert "was decided already" in text_of(as_ana.post(url, {"do": "accept"}, follow=True))


@pytest.mark.parametrize(("method", "data", "status"), [("post", {"do": "nonsense"}, 404), ("delete", {}, 405)])
def test_nonsense_is_refused(as_ana, ben, method, data, status):
    proposal = proposed(ahead(settled(ben)))
    assert getattr(as_ana, method)(reverse("proposal", args=[proposal.public_id]), data).status_code == status


def test_pain_is_told_to_those_who_may_read_it(as_ana, ana, ben):
    settled(ben)
    hurt(ben, score=5, note="sharp when squatting")
    assert "pain 5 of 10" in text_of(as_ana.get(reverse("desk")))
    blind = CoachFactory(practice=ana.practice, sees_health=False)
    browser = Browser()
    browser.force_login(blind)
    response = browser.get(reverse("desk"))
    assert "pain reported" in text_of(response)
    for secret in ("5 of 10", "knee", "Right knee", "sharp when squatting"):
        assert secret not in text_of(response)
    assert reverse("client-health", args=[ben.public_id]) not in response.content.decode()


def test_pain_is_never_folded_away(as_ana, ana):
    hurting = ClientFactory.create_batch(ROWS_SHOWN + 3, practice=ana.practice, coach=ana)
    for client in hurting:
        settled(client)
        hurt(client, score=4)
    shown = as_ana.get(reverse("desk")).content.decode()
    assert all(reverse("client-health", args=[client.public_id]) in shown for client in hurting)


def test_words_that_must_be_seen_stand_first_until_marked(as_ana, ben):
    session = settled(ben).sessions.get()
    flags = [{"code": "chest", "urgency": "emergency", "words": "chest pain", "denied": False}]
    note = SessionNote.objects.create(session=session, text="chest pain on the bike", flags=flags)
    groups = as_ana.get(reverse("desk")).context["groups"]
    assert (groups[0]["code"], groups[0]["rows"][0].flag_text) == ("pain", "read this now")
    as_ana.post(reverse("note-seen", args=[note.public_id]))
    assert "read this now" not in text_of(as_ana.get(reverse("desk")))


def test_a_doubt_offers_the_likelier_load(as_ana, ben):
    logged = LoggedSetFactory(
        client=ben,
        session=settled(ben).sessions.get(),
        state=LoggedSet.State.ASKED,
        load=load_of(200, "kg"),
        doubts=[
            {
                "code": "ten_times",
                "params": {
                    "usual": 20,
                    "load": 200,
                    "unit": "kg",
                    "offer_load": 20,
                    "offer_unit": "kg",
                    "offer_reps": 8,
                },
            }
        ],
    )
    (row,) = next(group for group in as_ana.get(reverse("desk")).context["groups"] if group["code"] == "read")["rows"]
    assert [act.label for act in row.acts] == ["20 kg", "As typed", "Open"]
    as_ana.post(reverse("settle-set", args=[logged.public_id]), {"answer": "offered"})
    logged.refresh_from_db()
    assert (logged.load_value, logged.state) == (20, LoggedSet.State.COUNTS)


def test_sessions_without_a_log_are_marked_together_and_back(as_ana, ben):
    block = settled(ben)
    for days in (3, 5):
        TrainingSessionFactory(block=block, planned_on=TODAY - timedelta(days=days))
    assert "2 sessions have no log" in text_of(as_ana.get(reverse("desk")))
    as_ana.post(reverse("client-overdue", args=[ben.public_id]), {"state": "missed"})
    assert block.sessions.filter(state="missed").count() == 2
    as_ana.post(reverse("undo", args=[JournalEntry.objects.get(act="sessions.missed").public_id]))
    assert block.sessions.filter(state="planned").count() == 2


def test_a_block_that_ends_asks_for_the_next(as_ana, ben):
    settled(ben, weeks=3)
    (row,) = next(g for g in as_ana.get(reverse("desk")).context["groups"] if g["code"] == "waiting")["rows"]
    assert [act.url for act in row.acts] == [
        reverse(name, args=[ben.public_id]) for name in ("client-next", "compose-start")
    ]


def test_who_is_not_cleared_is_on_the_desk(as_ana, ben):
    BlockFactory(client=ben, starts_on=TODAY, weeks=12)
    assert "No sheet goes out until this is settled." in text_of(as_ana.get(reverse("desk")))


@pytest.fixture
def week(ben):
    """A session tomorrow that is decided, and one the day after that is not."""
    block = settled(ben)
    StationFactory(place=block.place)
    practice = ben.practice
    PrescriptionFactory(session=ahead(block), exercise=ExerciseFactory(practice=practice, name="Row"))
    PrescriptionFactory(
        session=ahead(block, days=2), exercise=ExerciseFactory(practice=practice, name="Press"), target_sets__load=None
    )
    return block


def test_sheets_of_the_week_go_out_and_what_is_not_ready_is_named(as_ana, week):
    text = text_of(as_ana.post(reverse("send-sheets"), follow=True))
    assert "Sent 1 sheet." in text
    assert "Ben Quay, Lower A waits: decide Press first." in text
    assert SheetVersion.objects.standing().count() == 1
    as_ana.post(reverse("undo", args=[JournalEntry.objects.get(act="sheet.issue").public_id]))
    assert not SheetVersion.objects.standing().exists()


def test_todays_session_a_week_on_waits_for_what_today_brings(as_ana, ben):
    block = settled(ben)
    StationFactory(place=block.place)
    row = ExerciseFactory(practice=ben.practice, name="Row")
    for days, more in ((0, {}), (7, {"target_sets__load": None})):
        PrescriptionFactory(session=ahead(block, days=days), exercise=row, **more)
    text = text_of(as_ana.post(reverse("send-sheets"), follow=True))
    assert "Sent 1 sheet." in text and "decide Row first" not in text


def test_the_same_from_the_clients_page(as_ana, ben, week):
    as_ana.post(reverse("client-send", args=[ben.public_id]))
    assert SheetVersion.objects.standing().count() == 1


def test_who_is_not_cleared_gets_no_sheet(as_ana, ben, week):
    ben.health_answers.all().delete()
    text = text_of(as_ana.post(reverse("send-sheets"), follow=True))
    assert "Ben Quay is not cleared: no sheet went out." in text
    assert not SheetVersion.objects.exists()


def test_one_client_at_a_time(as_ana, ana, ben):
    proposed(ahead(settled(ben)))
    other = ClientFactory(practice=ana.practice, coach=ana, name="Maren Tide")
    hurt(other)
    settled(other)
    first, second = (as_ana.get(reverse("desk") + f"?one={number}").context["one"] for number in (1, 2))
    assert (first["name"], second["name"]) == ("Maren Tide", "Ben Quay")


def test_the_last_acts_can_be_taken_back_from_here(as_ana, ben):
    proposal = proposed(ahead(settled(ben)))
    as_ana.post(reverse("proposal", args=[proposal.public_id]), {"do": "accept"})
    acts = as_ana.get(reverse("desk")).context["acts"]
    assert [act["words"] for act in acts] == ["Accepted Back squat, Ben Q."]


def test_another_practice_sees_nothing_of_it(as_cleo, ben):
    proposal = proposed(ahead(settled(ben)))
    assert "Ben" not in text_of(as_cleo.get(reverse("desk")))
    for name, args in (
        ("proposal", [proposal.public_id]),
        ("client-overdue", [ben.public_id]),
        ("client-send", [ben.public_id]),
    ):
        assert as_cleo.post(reverse(name, args=args), {"do": "accept", "state": "missed"}).status_code == 404


def test_the_row_of_sheets_stays_however_many_clients_wait_for_theirs(as_ana, ana):
    for number in range(ROWS_SHOWN + 1):
        client = ClientFactory(practice=ana.practice, coach=ana)
        ahead(settled(client), days=1 + number % 5)
    (group,) = as_ana.get(reverse("desk")).context["groups"]
    assert [row.flag_text for row in group["rows"]] == ["not sent"]
    assert group["more"] == 0


def test_who_should_be_back_from_a_pause_is_one_row(as_ana, ana, ben, cleo, django_assert_num_queries):
    about = {"practice": ana.practice, "coach": ana, "status": "paused"}
    ClientFactory(**about, name="Later Paul", paused_until=TODAY + timedelta(days=1))
    ClientFactory(**about, name="Open Olga", paused_until=None)
    theirs = {**about, "practice": cleo.practice, "coach": cleo}
    ClientFactory(**theirs, name="Other Otto", paused_until=TODAY)
    with CaptureQueriesContext(connection) as none_due:
        assert "Meant to be back" not in as_ana.get(reverse("desk")).content.decode()
    pia = ClientFactory(**about, name="Pia Late", paused_until=TODAY)
    with django_assert_num_queries(len(none_due)):
        page = as_ana.get(reverse("desk")).content.decode()
    waiting = page.split('id="group-waiting"')[1].split("</section>")[0]
    assert f"Meant to be back: Pia L. on {wording.day(TODAY, 'j M')}." in waiting
    assert reverse("client-return", args=[pia.public_id]) in waiting
    ClientFactory(**about, name="Tom Away", paused_until=TODAY - timedelta(days=30))
    with django_assert_num_queries(len(none_due)):
        page = as_ana.get(reverse("desk")).content.decode()
    assert page.count("Meant to be back") == 1 and "Pia L. on" in page and "Tom A. on" in page
    assert reverse("clients") + "?status=paused" in page
    assert "Later P." not in page and "Open O." not in page and "Other O." not in page
