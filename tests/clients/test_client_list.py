"""The list of clients and the head of a client's pages."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clients.models import Client, PainReport
from clients.reads import client_head
from clients.reads.people import attendance_of, week_words
from tests.factories import (
    MONDAY,
    BlockFactory,
    ClientFactory,
    CoachFactory,
    HealthAnswersFactory,
    LimitFactory,
    ProposalFactory,
    TrainingSessionFactory,
)

LIST = "/clients/"


def session(block, days_from, state="planned", **kwargs):
    day = None if days_from is None else MONDAY + timedelta(days=days_from)
    trained = kwargs.pop("trained_on", day if state == "trained" else None)
    return TrainingSessionFactory(block=block, planned_on=day, state=state, trained_on=trained, **kwargs)


def pain(client, score=5):
    return PainReport.objects.create(client=client, key=f"k{score}", body_part="knee", score=score, felt_on=MONDAY)


def test_a_session_left_out_is_not_due_and_a_passed_one_not_trained_is(ben):
    block = BlockFactory(client=ben, starts_on=MONDAY - timedelta(weeks=3))
    session(block, -20, "trained")
    session(block, -15, "dropped")
    session(block, -10, "missed")
    session(block, -1, "planned")
    session(block, 0, "planned")
    session(block, 3, "planned")
    seen = attendance_of([ben.pk], MONDAY)[ben.pk]
    assert (seen.done, seen.due) == (1, 3)
    assert seen.last == MONDAY - timedelta(days=20)
    assert seen.next == MONDAY


def test_sessions_older_than_four_weeks_count_only_as_the_last_one(ben):
    block = BlockFactory(client=ben, starts_on=MONDAY - timedelta(weeks=30))
    session(block, -28, "trained")
    session(block, -27, "trained")
    assert attendance_of([ben.pk], MONDAY)[ben.pk].done == 1
    later = MONDAY + timedelta(days=100)
    seen = attendance_of([ben.pk], later)[ben.pk]
    assert (seen.done, seen.due, seen.last) == (0, 0, MONDAY - timedelta(days=27))


def test_sessions_without_a_day_are_due_when_their_week_is_over(ben):
    block = BlockFactory(client=ben, starts_on=MONDAY - timedelta(weeks=1))
    session(block, None, "trained", cycle=1, trained_on=MONDAY - timedelta(days=3))
    session(block, None, "planned", cycle=1)
    session(block, None, "planned", cycle=2)
    seen = attendance_of([ben.pk], MONDAY)[ben.pk]
    assert (seen.done, seen.due) == (1, 2)
    assert seen.next is None and seen.next_undated


@pytest.mark.parametrize(
    ("days", "words"), [(-1, "2, from 2 Mar"), (0, "2, week 1 of 6"), (7, "2, week 2 of 6"), (90, "2, week 6 of 6")]
)
def test_the_weeks_of_a_block_are_counted_from_its_start(days, words):
    assert week_words(2, MONDAY, 6, MONDAY + timedelta(days=days)) == words


def test_the_list_says_who_needs_something(as_ana, ben):
    pain(ben)
    ProposalFactory(client=ben)
    html = as_ana.get(LIST).content.decode()
    assert "Ben Quay" in html
    assert "pain 5 of 10" in html and "not cleared" in html and "1 proposal" in html


def test_a_cleared_client_without_anything_open_has_no_flags(as_ana, ben):
    HealthAnswersFactory(client=ben, answered_on=timezone.localdate())
    html = as_ana.get(LIST).content.decode()
    assert "not cleared" not in html and 'class="flag ' not in html


def test_a_coach_who_may_not_see_health_reads_no_score(client, ben):
    pain(ben)
    client.force_login(CoachFactory(practice=ben.practice, sees_health=False))
    html = client.get(LIST).content.decode()
    assert "of 10" not in html and "to be answered" in html


def test_a_filter_shows_one_status_and_a_name_is_sought_in_all(as_ana, ana):
    ClientFactory(practice=ana.practice, coach=ana, name="Active Aino")
    ClientFactory(practice=ana.practice, coach=ana, name="Paused Petra", status="paused")
    assert "Petra" not in as_ana.get(LIST).content.decode()
    assert "Aino" not in as_ana.get(LIST, {"status": "paused"}).content.decode()
    assert "Petra" in as_ana.get(LIST, {"q": "petra"}).content.decode()
    assert as_ana.get(LIST, {"status": "nonsense"}).status_code == 404


def test_columns_sort_and_say_so(as_ana, ana):
    for name, days in (("Anouk", -3), ("Bram", -1)):
        client = ClientFactory(practice=ana.practice, coach=ana, name=name)
        today = timezone.localdate()
        day = today + timedelta(days=days)
        TrainingSessionFactory(
            block__client=client,
            block__starts_on=today - timedelta(weeks=1),
            planned_on=day,
            state="trained",
            trained_on=day,
        )
    rising = as_ana.get(LIST, {"sort": "last"}).content.decode()
    falling = as_ana.get(LIST, {"sort": "-last"}).content.decode()
    assert rising.index("Anouk") < rising.index("Bram") and 'aria-sort="ascending"' in rising
    assert falling.index("Anouk") > falling.index("Bram") and 'aria-sort="descending"' in falling


def test_another_practice_sees_none_of_it(as_cleo, ben):
    assert "Ben Quay" not in as_cleo.get(LIST).content.decode()
    assert as_cleo.get(reverse("client", args=[ben.public_id])).status_code == 404


def test_an_empty_list_says_what_to_do(as_ana):
    assert "Add the first one" in as_ana.get(LIST).content.decode()


def fill_clients(practice, coach, count):
    for _number in range(count):
        client = ClientFactory(practice=practice, coach=coach)
        HealthAnswersFactory(client=client)
        block = BlockFactory(client=client)
        TrainingSessionFactory(block=block, state="trained", trained_on=MONDAY)
        pain(client)


@pytest.mark.parametrize("count", [1, 30])
def test_the_list_costs_the_same_however_long(as_ana, ana, count, django_assert_num_queries):
    fill_clients(ana.practice, ana, count)
    # http session, coach, clients, answers, conditions, clearances, sessions with and without a day, the last
    # before those, pain, proposals, blocks, counts by status
    with django_assert_num_queries(14):
        html = as_ana.get(LIST).content.decode()
    assert html.count('<th scope="row">') == count


@pytest.mark.parametrize("count", [1, 30])
def test_the_head_of_a_client_costs_the_same_however_much_was_trained(ben, ana, count, django_assert_num_queries):
    block = BlockFactory(client=ben)
    for number in range(count):
        session(block, -number, "trained")
        LimitFactory(client=ben)
    person = Client.objects.select_related("practice").get(pk=ben.pk)
    with django_assert_num_queries(9):
        head = client_head(person, "client-progress", ana)
    assert head["words_name"] == "Parts of Ben Quay’s pages"


def test_the_head_always_says_what_to_spare_and_whether_cleared(ben, ana):
    LimitFactory(client=ben, joint="shoulder_overhead", side="left", strict=False)
    cells = {cell["label"]: cell["value"] for cell in client_head(ben, "client", ana)["cells"]}
    assert cells["Spare"] == "left shoulder, overhead (go easy)"
    assert cells["Clearance"] == "not cleared"
    assert cells["Pain"] == "none reported"
    without = {cell["label"] for cell in client_head(ben, "client", None)["cells"]}
    assert "Pain" not in without and {"Spare", "Clearance"} <= without


def test_only_parts_that_exist_are_offered_and_the_open_one_is_marked(ben, ana):
    words = client_head(ben, "client-notes", ana)["words"]
    assert [str(word["label"]) for word in words if word["current"]] == ["Notes"]
    assert "Health" in [str(word["label"]) for word in words]
    assert "Health" not in [str(word["label"]) for word in client_head(ben, "client")["words"]]


def test_a_status_is_changed_and_taken_back(as_ana, ben):
    page = reverse("client-status", args=[ben.public_id])
    Client.objects.update(status="enquiry")
    as_ana.post(page, {"status": "active", "status_since": "2026-03-02"})
    ben.refresh_from_db()
    assert ben.status == "active" and ben.status_since == MONDAY
    entry = ben.practice.journal.get(act="client.status")
    as_ana.post(reverse("undo", args=[entry.public_id]))
    ben.refresh_from_db()
    assert ben.status == "enquiry"


def test_a_wrong_status_is_said_and_nothing_changes(as_ana, ben):
    page = reverse("client-status", args=[ben.public_id])
    answer = as_ana.post(page, {"status": "enquiry", "status_since": "next week"})
    assert answer.status_code == 422 and b"next week" in answer.content
    # To pause and to leave there are pages that say what follows.
    answer = as_ana.post(page, {"status": "left", "status_since": "2026-03-02"})
    assert answer.status_code == 422
    ben.refresh_from_db()
    assert ben.status == "active"
    assert as_ana.get(page).status_code == 405
