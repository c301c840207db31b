"""Taking a client in, step by step, and changing the profile later."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse

from clients.models import Client, HealthAnswers, HealthRead
from coachdesk.practice.models import JournalEntry
from programs.engine import cautions, vocabulary
from tests.factories import CoachFactory, ExerciseFactory, LimitFactory, PlaceFactory, RecentSetFactory

NEW = "/clients/new/"


def who(**changes):
    return {
        "name": "Maren T.",
        "date_of_birth": "1988-04-02",
        "language": "en",
        "unit": "kg",
        "time_zone": "Europe/Helsinki",
    } | changes


def training(**changes):
    return {
        "experience": "intermediate",
        "training_since": "2019",
        "sessions_per_week": "2",
        "minutes": "75",
        "days": ["0", "3"],
        "order_mode": "fixed",
        "goal": "row 2 km",
    } | changes


def table(prefix, rows):
    """A posted table of rows."""
    data = {f"{prefix}-TOTAL_FORMS": len(rows) + 1, f"{prefix}-INITIAL_FORMS": 0}
    for number, row in enumerate(rows):
        data |= {f"{prefix}-{number}-{name}": value for name, value in row.items()}
    return data


def spare(limits=(), tastes=(), **priorities):
    usual = dict.fromkeys(vocabulary.AUDITED_GROUPS, "usual")
    return table("limits", limits) | table("tastes", tastes) | usual | priorities


def lifts(*rows):
    return table("sets", rows)


def health(**answers):
    return (
        dict.fromkeys(cautions.SCREENING, "no")
        | {"active": "yes", "answered_on": "2026-03-02", "details": ""}
        | answers
    )


def step(client, key):
    return reverse("client-intake", args=[client.public_id, key])


def change(client, part):
    return reverse("client-change", args=[client.public_id, part])


@pytest.fixture
def press(ana):
    return ExerciseFactory(practice=ana.practice, name="Bench press", load_entry="total", aliases=["flat press"])


def test_the_whole_way_with_csrf_checked(ana, press):
    browser = Browser(enforce_csrf_checks=True)
    browser.force_login(ana)
    place = PlaceFactory(practice=ana.practice)

    def send(address, data):
        assert browser.get(address).status_code == 200
        token = browser.cookies["csrftoken"].value
        return browser.post(address, data | {"csrfmiddlewaretoken": token})

    assert Browser(enforce_csrf_checks=True).post(NEW, who()).status_code == 403
    answer = send(NEW, who(coach=ana.pk))
    client = Client.objects.get(name="Maren T.")
    assert answer.headers["Location"] == step(client, "training")
    assert client.intake_step == 2
    answer = send(step(client, "training"), training(place=place.pk))
    assert answer.headers["Location"] == step(client, "spare")
    limits = [
        {"joint": "shoulder_overhead", "side": "left", "strict": "0", "since": "2026-03-02", "until": "2026-06-01"}
    ]
    answer = send(step(client, "spare"), spare(limits, [{"exercise": "flat press", "likes": "1"}], glutes="more"))
    assert answer.headers["Location"] == step(client, "lifts")
    row = {"exercise": "bench PRESS", "load": "60", "reps": "8", "rir": "2", "done_on": "2026-02-27"}
    answer = send(step(client, "lifts"), lifts(row))
    assert answer.headers["Location"] == step(client, "health")
    answer = send(step(client, "health"), health())
    assert answer.headers["Location"] == step(client, "done")
    assert b"Everything a first week needs is there" in browser.get(step(client, "done")).content
    answer = send(step(client, "done"), {"go": "profile"})
    assert answer.headers["Location"] == reverse("client", args=[client.public_id])

    client.refresh_from_db()
    assert client.intake_step == 0
    assert (client.days, client.minutes, client.training_since, client.place) == ([0, 3], 75, date(2019, 1, 1), place)
    limit = client.limits.get()
    assert (limit.joint, limit.side, limit.strict, limit.until) == (
        "shoulder_overhead",
        "left",
        False,
        date(2026, 6, 1),
    )
    assert client.priorities.get().priority == "more"
    assert client.tastes.get().exercise == press
    recent = client.recent_sets.get()
    assert (recent.load_value, recent.load_unit, recent.load_text, recent.reps, recent.rir) == (60, "kg", "60", 8, 2)
    assert HealthAnswers.objects.get(client=client).result == "cleared"
    assert b"Maren T." in browser.get(reverse("client", args=[client.public_id])).content


def test_a_client_is_there_after_the_first_step_and_can_be_taken_up_again(as_ana, ana):
    as_ana.post(NEW, who(coach=ana.pk, go="leave"))
    client = Client.objects.get()
    page = as_ana.get(reverse("client", args=[client.public_id])).content.decode()
    assert step(client, "training") in page and "Training comes next" in page
    assert "not taken in yet" in as_ana.get("/clients/").content.decode()


def test_going_back_saves_what_holds(as_ana, ben):
    ben.intake_step = 3
    ben.save()
    answer = as_ana.post(step(ben, "training"), training(minutes="45", go="who"))
    assert answer.headers["Location"] == step(ben, "who")
    ben.refresh_from_db()
    assert ben.minutes == 45 and ben.intake_step == 3


def test_what_does_not_hold_waits_until_the_step_is_opened_again(as_ana, ben):
    ben.intake_step = 2
    ben.save()
    answer = as_ana.post(step(ben, "training"), training(minutes="ninety", goal="kept", go="who"))
    assert answer.headers["Location"] == step(ben, "who")
    again = as_ana.get(step(ben, "training")).content.decode()
    assert 'value="ninety"' in again and 'value="kept"' in again
    as_ana.post(step(ben, "training"), training(minutes="90"))
    assert 'value="90"' in as_ana.get(step(ben, "training")).content.decode()


def test_a_later_step_is_not_skipped_to(as_ana, ben):
    ben.intake_step = 2
    ben.save()
    answer = as_ana.post(step(ben, "training"), training(go="health"))
    assert answer.headers["Location"] == step(ben, "spare")


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"name": ""}, "Fill this in"),
        ({"date_of_birth": "2190-01-01"}, "still to come"),
        ({"date_of_birth": "1850-01-01"}, "more than 120 years"),
        ({"date_of_birth": "2015-01-01"}, "under 18 needs a guardian"),
        ({"time_zone": "Harrowmouth"}, "Choose a time zone"),
        ({"email": "maren at home"}, "valid email"),
    ],
)
def test_wrong_input_is_said_beside_its_box_and_nothing_typed_is_lost(as_ana, ana, changes, said):
    data = who(coach=ana.pk, phone="040 1234") | changes
    answer = as_ana.post(NEW, data)
    html = answer.content.decode()
    assert answer.status_code == 422
    assert said in html and "Please look at this again" in html
    assert 'value="040 1234"' in html
    assert all(f'value="{value}"' in html for value in changes.values() if value)
    assert not Client.objects.exists()


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"days": []}, "Choose the days"),
        ({"sessions_per_week": "4"}, "4 sessions don’t fit on 2 days"),
        ({"minutes": "5"}, "Write 15 or more."),
        ({"training_since": "long ago"}, "Write a year, a month or a day"),
        ({"training_since": "2019-13"}, "Write a year, a month or a day"),
    ],
)
def test_training_that_does_not_fit_is_said(as_ana, ben, changes, said):
    answer = as_ana.post(change(ben, "training"), training() | changes)
    assert answer.status_code == 422 and said in answer.content.decode()


def test_without_fixed_days_no_days_are_needed(as_ana, ben):
    assert as_ana.post(change(ben, "training"), training(order_mode="list", days=[])).status_code == 302
    ben.refresh_from_db()
    assert ben.days == []


def test_at_most_three_groups_get_more(as_ana, ben):
    four = dict.fromkeys(("chest", "lats", "glutes", "quads"), "more")
    answer = as_ana.post(change(ben, "spare"), spare(**four))
    assert answer.status_code == 422
    assert "At most 3 groups can get more; now it is Chest, Lats, Glutes, Quads." in answer.content.decode()
    assert not ben.priorities.exists()


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"until": "2026-06-01"}, "Say which joint"),
        ({"joint": "elbow", "exercise": "Bench press"}, "One or the other"),
        ({"joint": "elbow", "since": "2026-06-01", "until": "2026-05-01"}, "It ends before it starts"),
        ({"joint": "elbow", "until": "2020-01-01"}, "without a day it starts today"),
        ({"exercise": "Bench pres"}, "Is it one of these: Bench press?"),
        ({"exercise": "Zzz"}, "Choose a name from the list"),
    ],
)
def test_a_limit_that_can_not_be_is_said_in_its_row(as_ana, ben, press, row, said):
    answer = as_ana.post(change(ben, "spare"), spare([row]))
    assert answer.status_code == 422 and said in answer.content.decode()
    assert not ben.limits.exists()


def test_more_rows_keep_what_was_typed_and_judge_nothing(as_ana, ben):
    answer = as_ana.post(change(ben, "spare"), spare([{"exercise": "half a na"}]) | {"go": "rows"})
    html = answer.content.decode()
    assert answer.status_code == 200
    assert 'value="half a na"' in html and 'class="error"' not in html
    assert 'name="limits-5-exercise"' in html


def test_rows_that_stay_the_same_are_left_alone_and_an_emptied_one_goes(as_ana, ben):
    kept = LimitFactory(client=ben, joint="elbow", since=date(2025, 1, 1))
    LimitFactory(client=ben, joint="grip", since=date(2025, 1, 1))
    rows = [{"joint": "elbow", "side": "both", "strict": "1", "since": "2025-01-01"}, {"joint": "", "side": "both"}]
    as_ana.post(change(ben, "spare"), spare(rows))
    assert list(ben.limits.all()) == [kept]
    entry = JournalEntry.objects.get(act="client.spare")
    as_ana.post(reverse("undo", args=[entry.public_id]))
    assert {row.joint for row in ben.limits.all()} == {"elbow", "grip"}


@pytest.mark.parametrize(
    ("row", "stored"),
    [
        ({"load": "135 lb", "reps": "5", "rir": "?"}, [(Decimal(135), "lb", 5, None)]),
        ({"load": "62,5", "reps": "5", "rir": "1,5"}, [(Decimal("62.5"), "kg", 5, Decimal("1.5"))]),
        ({"load": "60 x 8, 8, 7"}, [(Decimal(60), "kg", 8, None)] * 2 + [(Decimal(60), "kg", 7, None)]),
        ({"load": "60x8 rir 2"}, [(Decimal(60), "kg", 8, Decimal(2))]),
        ({"load": "135 lb x 5", "rir": "1"}, [(Decimal(135), "lb", 5, Decimal(1))]),
    ],
)
def test_recent_sets_are_read_as_they_are_said(as_ana, ben, press, row, stored):
    full = {"exercise": "Bench press", "done_on": "2026-02-27"} | row
    assert as_ana.post(change(ben, "lifts"), lifts(full)).status_code == 302
    rows = ben.recent_sets.order_by("pk").values_list("load_value", "load_unit", "reps", "rir")
    assert sorted(rows, key=str) == sorted(stored, key=str)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"load": "60", "reps": ""}, "Reps are whole numbers"),
        ({"load": "60", "reps": "8.5"}, "Reps are whole numbers"),
        ({"load": "heavy", "reps": "8"}, "Write a number and"),
        ({"load": "", "reps": "8"}, "Write what was lifted"),
        ({"load": "60", "reps": "8", "rir": "lots"}, "0 to 5, or ?"),
        ({"load": "12 x 12"}, "more than one way"),
        ({"load": "60", "reps": "8", "done_on": ""}, "Fill this in, or empty the row"),
        ({"load": "60", "reps": "8", "done_on": "2190-01-01"}, "still to come"),
        ({"load": "60", "reps": "8", "exercise": ""}, "Fill this in, or empty the row"),
    ],
)
def test_a_set_that_can_not_be_read_is_said_in_its_row(as_ana, ben, press, row, said):
    full = {"exercise": "Bench press", "done_on": "2026-02-27"} | row
    answer = as_ana.post(change(ben, "lifts"), lifts(full))
    html = answer.content.decode()
    assert answer.status_code == 422 and said in html
    assert all(f'value="{value}"' in html for name, value in full.items() if value)
    assert not ben.recent_sets.exists()


def test_a_numbered_stack_has_settings_and_no_weight(as_ana, ben, ana):
    ExerciseFactory(practice=ana.practice, name="Cable row", load_entry="numbered_setting", implement="cable")
    row = {"exercise": "Cable row", "load": "7", "reps": "10", "done_on": "2026-02-27"}
    as_ana.post(change(ben, "lifts"), lifts(row))
    stored = ben.recent_sets.get()
    assert (stored.load_value, stored.load_unit, stored.load_grams) == (7, "setting", None)


def test_saving_recent_sets_unchanged_writes_nothing(as_ana, ben, press):
    RecentSetFactory(client=ben, exercise=press)
    page = as_ana.get(change(ben, "lifts")).content.decode()
    assert 'value="20 kg"' in page
    row = {"exercise": "Bench press", "load": "20 kg", "reps": "8", "rir": "2", "done_on": "2026-03-02"}
    as_ana.post(change(ben, "lifts"), lifts(row))
    assert not JournalEntry.objects.filter(act="client.recent").exists()


def test_the_health_step_leaves_a_trail_and_open_answers_record_nothing(as_ana, ben, ana):
    ben.intake_step = 5
    ben.save()
    as_ana.get(step(ben, "health"))
    assert HealthRead.objects.get(client=ben).coach == ana
    nothing = health(active="") | dict.fromkeys(cautions.SCREENING, "")
    assert as_ana.post(step(ben, "health"), nothing).headers["Location"] == step(ben, "done")
    assert not HealthAnswers.objects.exists()


def test_a_coach_who_may_not_see_health_goes_on_without_the_questions(client, ben):
    ben.intake_step = 5
    ben.save()
    client.force_login(CoachFactory(practice=ben.practice, sees_health=False))
    page = client.get(step(ben, "health")).content.decode()
    assert "blood thinners" not in page and "who may read health answers" in page
    answer = client.post(step(ben, "health"), health())
    assert answer.headers["Location"] == step(ben, "done")
    assert not HealthAnswers.objects.exists() and not HealthRead.objects.exists()


def test_adding_a_client_can_be_taken_back_as_long_as_nothing_hangs_on_it(as_ana, ana):
    as_ana.post(NEW, who(coach=ana.pk))
    entry = JournalEntry.objects.get(act="client.add")
    assert as_ana.post(reverse("undo", args=[entry.public_id])).headers["Location"] == "/clients/"
    assert not Client.objects.exists()


def test_changes_name_the_part_and_offer_to_be_taken_back(as_ana, ben):
    answer = as_ana.post(change(ben, "training"), training(goal="swim"), follow=True)
    entry = JournalEntry.objects.get(act="client.change")
    html = answer.content.decode()
    assert "Saved: Training." in html and reverse("undo", args=[entry.public_id]) in html


def test_strangers_and_unknown_steps_find_nothing(as_cleo, as_ana, ben):
    for address in (step(ben, "who"), change(ben, "who"), reverse("client", args=[ben.public_id])):
        assert as_cleo.get(address).status_code == 404
    assert as_ana.get(step(ben, "money")).status_code == 404
    assert as_ana.get(change(ben, "health")).status_code == 404
    assert as_ana.put(step(ben, "who")).status_code == 405


def test_another_practices_coach_and_place_can_not_be_chosen(as_ana, ana, cleo, ben):
    assert as_ana.post(NEW, who(coach=cleo.pk)).status_code == 422
    elsewhere = PlaceFactory(practice=cleo.practice)
    assert as_ana.post(change(ben, "training"), training(place=elsewhere.pk)).status_code == 422


@pytest.mark.parametrize("rows", [1, 30])
def test_the_profile_costs_the_same_however_much_is_known(as_ana, ben, press, rows, django_assert_num_queries):
    for number in range(rows):
        RecentSetFactory(client=ben, exercise=press, done_on=date(2026, 2, 1) + timedelta(days=number % 20))
        LimitFactory(client=ben)
    with django_assert_num_queries(20):
        answer = as_ana.get(reverse("client", args=[ben.public_id]))
    assert answer.status_code == 200


def test_the_profile_says_what_keeps_sheets_back_and_where_it_is_settled(as_ana, ben, client):
    page = reverse("client", args=[ben.public_id])
    html = as_ana.get(page).content.decode()
    assert "have not been answered yet" in html and reverse("health-questions", args=[ben.public_id]) in html
    client.force_login(CoachFactory(practice=ben.practice, sees_health=False))
    assert "have not been answered yet" not in client.get(page).content.decode()
