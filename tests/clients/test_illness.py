"""Illness: what comes next waits for it or goes easy, and the first sessions after it are eased; who may see it."""

import re
from datetime import timedelta

import pytest
from django.test import Client as Browser
from django.urls import reverse

from clients.models import HealthRead, Illness, LoggedSet, Proposal, SheetVersion
from clients.services import health, proposals, sheets
from programs.engine.progress import illness_stage
from tests.clients.trained import TODAY, codes, line_in, log, proposed, session_of, weeks_of
from tests.factories import MONDAY, BlockFactory, CoachFactory, ExerciseFactory, HealthAnswersFactory, StationFactory
from tests.pages import text_of


@pytest.fixture(autouse=True)
def _today(monkeypatch):
    for module in ("services.proposing", "services.sheets", "services.health", "views.health"):
        monkeypatch.setattr(f"clients.{module}.today_for", lambda client: TODAY)


@pytest.fixture
def press(ana):
    return ExerciseFactory(practice=ana.practice, name="Dumbbell press", role="secondary")


@pytest.fixture
def block(ben, press):
    """Five weeks at 20 kg, the last session eight days ago; the sixth week's is planned for today."""
    block = BlockFactory(client=ben, weeks=8)
    StationFactory(place=block.place, loads={"list": [str(load) for load in range(2, 41)]})
    HealthAnswersFactory(client=ben, answered_on=MONDAY)
    weeks_of(block, press, 5)
    LoggedSet.objects.filter(session__cycle=5).update(performed_on=TODAY - timedelta(days=8))
    line_in(session_of(block, 6), press)
    block.sessions.filter(cycle=6).update(planned_on=TODAY)
    return block


def ill(ben, kind, since, well=None, cleared=None):
    """An illness since so many days ago, well and cleared so many days ago."""
    day = {name: None if ago is None else TODAY - timedelta(days=ago) for name, ago in (("w", well), ("c", cleared))}
    values = {"kind": kind, "since": TODAY - timedelta(days=since), "well_on": day["w"], "cleared_on": day["c"]}
    row, _withdrawn = health.record_illness(ben, None, {**values, "details": ""})
    return row


def test_a_cold_above_the_neck_leaves_half_the_sets(ben, block):
    ill(ben, "above_neck", 2)
    found = proposed(ben)
    assert found.kind == "ill"
    assert "ill_easy" in codes(found)
    assert (found.new["sets"], found.new["rir"]) == (2, 4)
    assert not found.plain


@pytest.mark.parametrize(
    ("kind", "since", "well", "code"),
    [("whole_body", 3, None, "ill_rest"), ("whole_body", 3, 0, "ill_rest"), ("alarm", 1, None, "ill_professional")],
    ids=["fever", "well only today", "chest pain"],
)
def test_nothing_is_trained_with_a_fever_or_signs_of_alarm(ben, block, kind, since, well, code):
    ill(ben, kind, since, well)
    found = proposed(ben)
    assert (found.kind, found.new["sets"], found.new["work"]) == ("ill", 0, [])
    assert code in codes(found)


def test_more_than_seven_days_ill_ask_for_a_professional_and_their_word_frees(ben, block):
    row = ill(ben, "whole_body", 12, 2)
    assert "ill_professional" in codes(proposed(ben))
    health.change_illness(row, {"cleared_on": TODAY})
    found = proposed(ben)
    assert found.kind == "return"
    assert "after_illness" in codes(found)


def test_a_session_planned_for_later_makes_nobody_ill_for_longer(ben, block):
    ill(ben, "whole_body", 2)
    block.sessions.filter(cycle=6).update(planned_on=TODAY + timedelta(days=9))
    assert "ill_rest" in codes(proposed(ben))


def test_two_eased_sessions_follow_and_then_the_way_back(ana, ben, block, press):
    """After the flu the first session is eased, nothing rises, and the load comes back in steps."""
    ill(ben, "whole_body", 5, 2)
    first = proposed(ben)
    assert (first.kind, first.new["sets"], first.new["load"]) == ("return", 2, 17)
    proposals.accept(first, ana)
    log(session_of(block, 6), press, [(17, 7, 3)] * 2)
    line_in(session_of(block, 7), press)
    block.sessions.filter(cycle=7).update(planned_on=TODAY + timedelta(days=3))
    second = proposed(ben)
    assert (second.kind, second.new["sets"]) == ("return", 2)
    assert [reason["params"]["session"] for reason in second.reasons if reason["code"] == "after_illness"] == [2]
    proposals.accept(second, ana)
    log(session_of(block, 7), press, [(17, 7, 3)] * 2)
    line_in(session_of(block, 8), press)
    block.sessions.filter(cycle=8).update(planned_on=TODAY + timedelta(days=6))
    third = proposed(ben)
    assert third.kind == "returning"
    assert [reason["params"]["goal"] for reason in third.reasons if reason["code"] == "returning"] == [20]
    assert third.new["load"] == 18


def test_a_long_illness_is_an_absence_too(ben, block):
    """What is lighter counts: after three weeks away the table of absences goes below the eased load."""
    block.sessions.filter(cycle=6).update(planned_on=TODAY + timedelta(days=30))
    Illness.objects.create(
        client=ben, kind="whole_body", since=TODAY, well_on=TODAY + timedelta(days=6), cleared_on=TODAY
    )
    found = proposed(ben)
    assert {"after_illness", "absence"} <= codes(found)
    assert found.new["load"] <= 17


def test_once_it_is_over_nothing_follows(ben, block):
    ill(ben, "above_neck", 6, 1)
    assert proposed(ben).kind == "reps_up"
    Illness.objects.all().delete()
    ill(ben, "whole_body", 60, 55)
    assert proposed(ben).kind == "reps_up"


def test_the_one_that_is_not_over_counts(ben, block):
    ill(ben, "whole_body", 20, 15)
    ill(ben, "above_neck", 1)
    assert "ill_easy" in codes(proposed(ben))


def test_noting_it_overtakes_what_waits_and_removing_brings_it_back(
    ben, block, as_ana, django_capture_on_commit_callbacks
):
    before = proposed(ben)
    with django_capture_on_commit_callbacks(execute=True):
        row = ill(ben, "whole_body", 1)
    before.refresh_from_db()
    assert before.state == Proposal.State.SUPERSEDED
    with django_capture_on_commit_callbacks(execute=True):
        as_ana.post(reverse("illness-remove", args=[ben.public_id, row.public_id]))
    assert Proposal.objects.waiting().get(client=ben).kind == "reps_up"


# The page


def day(ago):
    return (TODAY - timedelta(days=ago)).isoformat()


def test_an_illness_is_noted_closed_and_cleared_on_the_health_page(as_ana, ana, ben):
    new = reverse("illness-new", args=[ben.public_id])
    as_ana.post(new, {"kind": "whole_body", "since": day(9), "details": "came home with it"})
    row = Illness.objects.get()
    assert (row.client, row.recorded_by, row.since, row.well_on) == (ben, ana, TODAY - timedelta(days=9), None)
    page = reverse("client-health", args=[ben.public_id])
    assert "A professional first" in text_of(as_ana.get(page))
    change = reverse("illness", args=[ben.public_id, row.public_id])
    as_ana.post(change, {"kind": "whole_body", "since": day(9), "well_on": day(2), "cleared_on": day(1)})
    row.refresh_from_db()
    assert (row.well_on, row.cleared_on) == (TODAY - timedelta(days=2), TODAY - timedelta(days=1))
    assert "The first 2 sessions after it have 50 % of the sets and about 85 % of the load" in text_of(as_ana.get(page))


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"kind": "flu"}, "kind", "flu"),
        ({"since": day(-1)}, "since", "still to come"),
        ({"since": "2999-01-01"}, "since", "Look at the year again"),
        ({"well_on": day(30)}, "well_on", "It ends before it starts."),
        ({"cleared_on": day(30)}, "cleared_on", "This is before the illness."),
    ],
)
def test_what_is_wrong_stands_beside_its_box(as_ana, ben, typed, field, sentence):
    data = {"kind": "whole_body", "since": day(9), "details": "kept as typed"}
    response = as_ana.post(reverse("illness-new", args=[ben.public_id]), {**data, **typed})
    page = response.content.decode()
    assert response.status_code == 422
    assert sentence in page[page.index(f'id="id_{field}_error"') :][:400]
    assert "kept as typed" in page
    assert not Illness.objects.exists()


def test_every_look_leaves_a_row_in_the_trail(as_ana, ana, ben):
    row = Illness.objects.create(client=ben, kind="above_neck", since=TODAY)
    for name, args in (("illness-new", []), ("illness", [row.public_id]), ("illness-remove", [row.public_id])):
        as_ana.get(reverse(name, args=[ben.public_id, *args]))
    assert list(HealthRead.objects.values_list("coach", "what")) == [(ana.pk, "illness")] * 3


def test_without_the_permission_none_of_it_is_seen_or_changed(ben):
    coach = CoachFactory(practice=ben.practice, sees_health=False)
    browser = Browser()
    browser.force_login(coach)
    row = Illness.objects.create(client=ben, kind="above_neck", since=TODAY)
    for name, args in (("illness-new", []), ("illness", [row.public_id]), ("illness-remove", [row.public_id])):
        address = reverse(name, args=[ben.public_id, *args])
        assert browser.get(address).status_code == 404
        assert browser.post(address, {"kind": "alarm", "since": day(0)}).status_code == 404
    assert Illness.objects.get().kind == "above_neck"


@pytest.mark.parametrize(
    ("kind", "well"), [("above_neck", None), ("whole_body", None), ("alarm", None), ("whole_body", 2)]
)
def test_what_is_proposed_tells_what_follows_and_not_what_the_client_has(as_ana, ana, ben, block, kind, well):
    """Coaches without the permission read proposals, progress and the Desk too."""
    ill(ben, kind, 5, well)
    proposed(ben)
    ana.sees_health = False
    ana.save()
    addresses = [reverse("client-proposals", args=[ben.public_id]), reverse("desk")]
    pages = [text_of(as_ana.get(address)) for address in addresses]
    assert "The client is not to train as usual for now." in pages[0]
    for said in pages:
        assert not re.search(r"\b(ill|illness|fever|signs|sick|neck)\b", said, re.IGNORECASE)


def test_every_stage_has_its_words():
    from clients.reads.illness import illness_term, illness_words

    rows = [
        Illness(kind="alarm", since=TODAY),
        Illness(kind="above_neck", since=TODAY),
        Illness(kind="whole_body", since=TODAY),
        Illness(kind="whole_body", since=TODAY - timedelta(days=5), well_on=TODAY - timedelta(days=2)),
        Illness(kind="above_neck", since=TODAY - timedelta(days=5), well_on=TODAY - timedelta(days=2)),
    ]
    assert [illness_stage(illness_term(row, TODAY), TODAY) for row in rows] == [
        "professional",
        "easy",
        "rest",
        "after",
        "over",
    ]
    assert len({illness_words(row, TODAY) for row in rows}) == len(rows)


def test_of_several_illnesses_the_strictest_counts(ben, block):
    row = ill(ben, "alarm", 6)
    ill(ben, "above_neck", 1)
    assert "ill_professional" in codes(proposed(ben))
    health.change_illness(row, {"well_on": TODAY - timedelta(days=4)})
    assert "ill_professional" in codes(proposed(ben))
    health.change_illness(row, {"cleared_on": TODAY - timedelta(days=3)})
    found = proposed(ben)
    assert {"ill_easy", "after_illness"} <= set(codes(found))
    assert float(found.new["load"]) <= 0.85 * 20


def test_signs_of_alarm_are_not_forgotten_when_weeks_have_passed(ben, block):
    ill(ben, "alarm", 50, 45)
    assert "ill_professional" in codes(proposed(ben))


def test_a_form_that_is_sent_twice_notes_one_illness(ben, block):
    for _ in range(2):
        ill(ben, "above_neck", 2)
    ill(ben, "above_neck", 1)
    assert Illness.objects.filter(client=ben).count() == 2


def test_what_is_out_is_taken_back_where_nothing_is_to_be_trained(ana, ben, block):
    proposed(ben)
    proposals.decide(list(Proposal.objects.waiting()), ana)
    session = block.sessions.get(cycle=6)
    version = sheets.issue_sheet(session, ana).version
    row = ill(ben, "whole_body", 1)
    version.refresh_from_db()
    assert version.state == SheetVersion.State.WITHDRAWN
    with pytest.raises(sheets.NotCleared) as refused:
        sheets.issue_sheet(session, ana)
    assert [hold.code for hold in refused.value.holds] == ["health.training_waits"]
    assert health.change_illness(row, {"well_on": TODAY - timedelta(days=1)}) == 0
    assert sheets.issue_sheet(session, ana).fresh


def test_a_cold_takes_no_sheet_back(ana, ben, block):
    proposed(ben)
    proposals.decide(list(Proposal.objects.waiting()), ana)
    version = sheets.issue_sheet(block.sessions.get(cycle=6), ana).version
    ill(ben, "above_neck", 1)
    version.refresh_from_db()
    assert version.state == SheetVersion.State.ISSUED


def test_the_page_says_how_many_sheets_were_taken_back(as_ana, ana, ben, block):
    proposed(ben)
    proposals.decide(list(Proposal.objects.waiting()), ana)
    sheets.issue_sheet(block.sessions.get(cycle=6), ana)
    data = {"kind": "alarm", "since": TODAY.isoformat(), "well_on": "", "cleared_on": "", "details": ""}
    said = as_ana.post(reverse("illness-new", args=[ben.public_id]), data, follow=True).text
    assert "1 sheet that was out is taken back." in said
