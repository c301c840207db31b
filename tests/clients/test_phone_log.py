"""Log mode without script: what the page shows, what it takes, and that a set is received once."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from clients.clock import today_for
from clients.models import LoggedSet, SheetVersion
from clients.phone.rows import TRIES_FROM
from clients.services import sheets
from programs.models import Exercise
from programs.units import load_of
from tests.clients.sheets import SQUAT, add_line, handed_out, session_for, six_exercises
from tests.factories import ExerciseFactory, LoggedSetFactory, PhotoFactory

JSON = {"accept": "application/json"}


@pytest.fixture
def sheet(ben):
    session = session_for(ben)
    add_line(session, sets=4)
    return handed_out(session)


def log(browser, sheet, number=1, line=1, headers=None, **values):
    fields = {"key": f"key-for-set-{line}-{number}", "load": "75", "amount": "7", "rir": "2", **values}
    return browser.post(reverse("log-set", args=[sheet.public_id, line, number]), fields, headers=headers or {})


def page(browser, sheet, line=1, **query):
    return browser.get(reverse("sheet-line", args=[sheet.public_id, line]), query).content.decode()


def test_log_mode_shows_the_set_in_hand_with_last_time_and_the_way_there(as_ben, ben, sheet):
    html = page(as_ben, sheet)
    assert "<h1>Barbell back squat</h1>" in html
    assert "4\u00a0×\u00a06–8 · RIR\u00a02 · rest\u00a02:30 · tempo\u00a03-1-1" in html
    assert "Set 1 of 4" in html
    assert "Set 1 done" in html
    assert html.count('class="rung"') == len(sheet.line(1)["warm_up"]) + 4
    assert "bar 20\u00a0kg" in html
    assert "Set the bar at breastbone height" in html


def test_each_field_is_named_in_full_for_screen_readers(as_ben, sheet):
    html = page(as_ben, sheet)
    assert "Barbell back squat, set 1 of 4, load, kilograms" in html
    assert "Barbell back squat, set 2 of 4, " in html


def test_a_set_is_logged_and_the_page_goes_on_to_the_next(as_ben, ben, sheet):
    response = log(as_ben, sheet, load="77,5", rir="1")
    assert response.status_code == 302
    assert response["Location"] == reverse("sheet-line", args=[sheet.public_id, 1]) + "#log"
    logged = LoggedSet.objects.get()
    assert (logged.load_value, logged.load_unit, logged.reps, logged.rir) == (Decimal("77.5"), "kg", 7, Decimal(1))
    assert logged.load_text == "77,5"
    assert (logged.version_id, logged.line, logged.number, logged.way) == (sheet.pk, 1, 1, "phone")
    assert logged.performed_on == today_for(ben)
    sheet.session.refresh_from_db()
    assert sheet.session.state == "trained"
    html = page(as_ben, sheet)
    assert "Set 2 of 4" in html
    assert "77.5\u00a0×\u00a07" in html
    # The next set starts from what was lifted, not from what was planned.
    assert re.search(r'id="load-2"[^>]*\svalue="77.5"', html)


def test_the_same_form_sent_twice_is_one_set(as_ben, sheet):
    for _ in range(2):
        assert log(as_ben, sheet).status_code == 302
    assert LoggedSet.objects.count() == 1


def test_the_same_set_from_another_device_with_other_values_is_kept_and_asked_about(as_ben, sheet):
    log(as_ben, sheet)
    answer = log(as_ben, sheet, key="typed-on-the-tablet", amount="8", headers=JSON).json()
    assert answer["outcome"] == "new"
    assert answer["asked"] is True
    assert [row.state for row in LoggedSet.objects.order_by("pk")] == ["asked", "asked"]
    assert "your coach will look at it" in page(as_ben, sheet)


def test_the_same_values_from_another_device_are_the_same_set(as_ben, sheet):
    log(as_ben, sheet)
    assert log(as_ben, sheet, key="typed-on-the-tablet", headers=JSON).json()["outcome"] == "known"
    assert LoggedSet.objects.count() == 1


def test_a_set_can_be_changed_under_its_own_key(as_ben, sheet):
    log(as_ben, sheet)
    assert 'value="key-for-set-1-1"' in page(as_ben, sheet, set=1)
    assert log(as_ben, sheet, amount="6", headers=JSON).json()["outcome"] == "edited"
    logged = LoggedSet.objects.get()
    assert (logged.reps, logged.revision) == (6, 2)


def test_undo_takes_back_the_last_set_and_a_late_retry_adds_nothing(as_ben, sheet):
    log(as_ben, sheet)
    log(as_ben, sheet, number=2)
    response = as_ben.post(reverse("undo-set", args=[sheet.public_id, 1]), {"key": ""})
    assert response.status_code == 302
    assert list(LoggedSet.objects.order_by("number").values_list("state", flat=True)) == ["counts", "back"]
    log(as_ben, sheet, number=2)
    assert LoggedSet.objects.filter(state="counts").count() == 1
    assert "Set 2 of 4" in page(as_ben, sheet)


def test_undo_of_the_only_set_makes_the_session_untrained(as_ben, sheet):
    log(as_ben, sheet)
    as_ben.post(reverse("undo-set", args=[sheet.public_id, 1]), {"key": "key-for-set-1-1"})
    sheet.session.refresh_from_db()
    assert sheet.session.state == "planned"


def test_unknown_effort_stays_unknown(as_ben, sheet):
    log(as_ben, sheet, rir="")
    assert LoggedSet.objects.get().rir is None


def test_values_left_as_offered_count_as_confirmed_not_typed(as_ben, sheet):
    log(as_ben, sheet, shown="75|7|2")
    log(as_ben, sheet, number=2, amount="8", shown="75|7|2")
    assert list(LoggedSet.objects.order_by("number").values_list("as_planned", flat=True)) == [True, False]


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("load", "abc", "Loads are numbers such as 62.5 or 62,5."),
        ("load", "", "Type the load that was lifted, 0 for none."),
        ("load", "1.250", "can be read in two ways. Type 1.25 or 1250."),
        ("load", "7500", "more than anybody lifts"),
        ("load", "-5", "Loads are numbers"),
        ("amount", "", "Reps are whole numbers, 0 to 100."),
        ("amount", "8.5", "Reps are whole numbers, 0 to 100."),
        ("amount", "101", "Reps are whole numbers, 0 to 100."),
        ("rir", "9", "Reps in reserve are 0, 1, 2, 3 or 4+."),
    ],
)
def test_what_cannot_be_read_is_said_beside_the_form_and_nothing_typed_is_lost(as_ben, sheet, field, typed, said):
    values = {"load": "62,5", "amount": "9", "rir": "1", field: typed}
    response = log(as_ben, sheet, **values)
    assert response.status_code == 422
    html = response.content.decode()
    assert said in html
    assert f'id="error-1-{field}"' in html
    for name in ("load", "amount"):
        assert f'value="{values[name]}"' in html
    assert not LoggedSet.objects.exists()
    answer = log(as_ben, sheet, headers=JSON, **values)
    assert answer.status_code == 422
    assert said in " ".join(answer.json()["errors"][field])


def test_a_form_without_a_key_is_refused(as_ben, sheet):
    assert log(as_ben, sheet, key="").status_code == 422
    assert log(as_ben, sheet, key="<script>").status_code == 422
    assert not LoggedSet.objects.exists()


def test_sides_that_differ_are_one_set_judged_by_the_weaker(as_ben, ben):
    sheet = six_exercises(ben)
    assert log(as_ben, sheet, line=3, load="14", amount="10", left="10", right="8").status_code == 302
    logged = LoggedSet.objects.get()
    assert logged.reps == 8
    assert [(part.sort, part.reps) for part in logged.parts.all()] == [("left", 10), ("right", 8)]
    assert log(as_ben, sheet, line=3, number=2, load="14", amount="10", left="10").status_code == 422


def test_a_hold_is_logged_in_seconds_or_minutes(as_ben, ben):
    sheet = six_exercises(ben)
    log(as_ben, sheet, line=6, load="", amount="1:05", rir="")
    logged = LoggedSet.objects.get()
    assert (logged.seconds, logged.reps, logged.load_value, logged.rir) == (65, None, None, None)


def test_extra_sets_go_on_counting(as_ben, sheet):
    for number in range(1, 5):
        log(as_ben, sheet, number=number)
    html = page(as_ben, sheet)
    assert "All sets done." in html
    assert "Extra set" in html
    log(as_ben, sheet, number=5)
    assert LoggedSet.objects.get(number=5).kind == "work"
    assert "Extra set 5" in page(as_ben, sheet, set=5)


def test_sets_may_come_in_any_order(as_ben, sheet):
    log(as_ben, sheet, number=3)
    log(as_ben, sheet, number=1)
    assert "Set 2 of 4" in page(as_ben, sheet)
    assert list(LoggedSet.objects.order_by("order").values_list("number", flat=True)) == [3, 1]


def test_the_time_on_the_phone_decides_the_day(as_ben, ben, sheet):
    yesterday = timezone.now() - timedelta(days=1)
    log(as_ben, sheet, at=yesterday.isoformat())
    logged = LoggedSet.objects.get()
    assert logged.performed_on == today_for(ben) - timedelta(days=1)
    assert logged.performed_at == yesterday.replace(microsecond=yesterday.microsecond)


@pytest.mark.parametrize("stamp", ["", "not a time", "2031-01-01T10:00:00+00:00", "2001-01-01T10:00:00+00:00"])
def test_a_wrong_clock_gives_way_to_the_time_of_arrival(as_ben, ben, sheet, stamp):
    log(as_ben, sheet, at=stamp)
    assert LoggedSet.objects.get().performed_on == today_for(ben)


def test_a_late_log_is_kept_for_the_day_it_says(as_ben, ben, sheet):
    day = today_for(ben) - timedelta(days=3)
    response = log(as_ben, sheet, day=day.isoformat())
    assert f"day={day.isoformat()}" in response["Location"]
    logged = LoggedSet.objects.get()
    assert (logged.performed_on, logged.performed_at) == (day, None)


def test_a_swap_logs_the_exercise_that_was_really_done(as_ben, ben, monkeypatch):
    stand_in = ExerciseFactory(practice=ben.practice, name="Goblet squat", pattern="squat")
    monkeypatch.setattr(sheets, "swaps_for", lambda session, client, library=None: {"slot-0": [stand_in]})
    session = session_for(ben)
    add_line(session)
    sheet = handed_out(session)
    html = page(as_ben, sheet, swap=stand_in.key)
    assert "<h1>Goblet squat</h1>" in html
    assert "Instead of Barbell back squat" in html
    log(as_ben, sheet, exercise=stand_in.key, load="24")
    logged = LoggedSet.objects.get()
    assert logged.exercise == stand_in
    assert (logged.line, logged.slot_key) == (1, "slot-0")
    assert "Goblet squat" in page(as_ben, sheet)


def test_an_exercise_that_is_no_swap_of_the_line_is_refused(as_ben, ben, sheet):
    other = ExerciseFactory(practice=ben.practice)
    assert log(as_ben, sheet, exercise=other.key).status_code == 422


def test_a_load_is_found_by_tries_on_loadable_steps(as_ben, ben):
    sheet = six_exercises(ben)
    line = sheet.line(5)
    steps = [step["value"] for step in line["finding"]["loads"]]
    html = page(as_ben, sheet, line=5)
    assert "Try 1: find your load" in html
    assert log(as_ben, sheet, line=5, load=steps[0], amount="10", rir="").status_code == 422  # effort must be said
    assert log(as_ben, sheet, line=5, load=steps[0], amount="10", rir="4", headers=JSON).json()["try"] is True
    tried = LoggedSet.objects.get()
    assert (tried.kind, tried.number) == ("warm_up", TRIES_FROM + 1)
    html = page(as_ben, sheet, line=5)
    assert "Try 2: find your load" in html
    assert f'value="{steps[1]}"' in html
    answer = log(as_ben, sheet, line=5, key="second-try-key", load=steps[1], amount="10", rir="3", headers=JSON)
    assert answer.json()["try"] is False
    found = LoggedSet.objects.get(kind="work")
    assert (found.number, str(found.load_value.normalize())) == (1, steps[1])
    html = page(as_ben, sheet, line=5)
    assert "Set 2 of 3" in html
    assert "No load yet" not in html


def test_the_last_try_is_the_first_set_however_easy_it_was(as_ben, ben):
    sheet = six_exercises(ben)
    steps = [step["value"] for step in sheet.line(5)["finding"]["loads"]]
    for place, step in enumerate(steps):
        log(as_ben, sheet, line=5, key=f"try-number-{place}", load=step, amount="10", rir="4")
    assert LoggedSet.objects.filter(kind="warm_up").count() == len(steps) - 1
    assert LoggedSet.objects.get(kind="work").number == 1


def test_a_try_sent_twice_is_one_try(as_ben, ben):
    sheet = six_exercises(ben)
    step = sheet.line(5)["finding"]["loads"][0]["value"]
    for _ in range(2):
        log(as_ben, sheet, line=5, load=step, amount="10", rir="4")
    assert LoggedSet.objects.count() == 1


def test_an_older_version_says_so_and_is_still_received(as_ben, ben, sheet):
    add_line(sheet.session, ExerciseFactory(practice=ben.practice, **{**SQUAT, "name": "Front squat"}))
    newer = sheets.issue_sheet(sheet.session, ben.coach).version
    sheet.refresh_from_db()
    assert sheet.state == SheetVersion.State.SUPERSEDED
    html = page(as_ben, sheet)
    assert "Your coach has changed the session since." in html
    assert reverse("sheet", args=[newer.public_id]) in html
    assert log(as_ben, sheet).status_code == 302
    assert LoggedSet.objects.get().version == sheet
    assert "1 of 4 done" in as_ben.get(reverse("sheet", args=[newer.public_id])).content.decode()
    assert str(newer.public_id) in as_ben.get(reverse("today")).content.decode()


def test_a_withdrawn_sheet_says_so_and_is_still_received(as_ben, ben, sheet):
    sheets.withdraw(sheet, ben.coach)
    assert "has taken this sheet back" in page(as_ben, sheet)
    assert log(as_ben, sheet).status_code == 302
    assert LoggedSet.objects.count() == 1
    assert str(sheet.public_id) not in as_ben.get(reverse("today")).content.decode()


def test_last_time_is_that_of_the_same_day_type(as_ben, ben):
    session = session_for(ben)
    line = add_line(session)
    for number in range(3):
        LoggedSetFactory(
            client=ben,
            exercise=line.exercise,
            slot_key=line.slot_key,
            occurrence=session.occurrence,
            load=load_of("72.5", "kg"),
            reps=8 - number,
            order=number,
            performed_on=today_for(ben) - timedelta(days=7),
        )
    html = page(as_ben, handed_out(session))
    assert "72.5\u00a0×\u00a08" in html
    assert "72.5\u00a0×\u00a06" in html


def test_supersets_name_their_partner(as_ben, ben):
    sheet = six_exercises(ben)
    html = page(as_ben, sheet, line=4)
    assert "Superset: after each set go to" in html
    assert "Incline dumbbell curl</a>" in html


def test_numbers_are_said_in_the_clients_language(as_ben, ben):
    ben.language = "de"
    ben.save()
    session = session_for(ben)
    add_line(session, load=("77.5", "kg"))
    sheet = handed_out(session)
    assert 'value="77,5"' in page(as_ben, sheet)
    log(as_ben, sheet, load="77,5")
    assert LoggedSet.objects.get().load_value == Decimal("77.5")


@pytest.mark.parametrize("logged", [0, 4])
def test_a_page_of_the_sheet_costs_the_same_however_much_is_logged(
    as_ben, sheet, logged, django_assert_max_num_queries
):
    for number in range(1, logged + 1):
        log(as_ben, sheet, number=number)
    # link with client, version, logged sets (with parts), holds, what was said, the coach's own photo; the theme and
    # the person cost nothing
    with django_assert_max_num_queries(7):
        page(as_ben, sheet)


@pytest.mark.parametrize("sessions", [1, 12])
def test_the_list_costs_the_same_however_many_sessions(as_ben, ben, sessions, django_assert_num_queries):
    for number in range(sessions):
        session = session_for(ben, cycle=1, position=100 + number)
        add_line(session)
        handed_out(session)
    with django_assert_num_queries(4):  # link with client, block, sessions, sheets
        as_ben.get(reverse("today"))


def test_the_coachs_own_photo_and_clip_stand_by_the_words(as_ben, ben, sheet):
    shown, taken_down = PhotoFactory(practice=ben.practice), PhotoFactory(practice=ben.practice)
    elsewhere = PhotoFactory(practice=ben.practice)
    ExerciseFactory(practice=ben.practice, photo=elsewhere)
    exercise = Exercise.objects.get(public_id=sheet.line(1)["exercise"]["id"])
    exercise.photo, exercise.clip_url = shown, "https://clips.example/squat"
    exercise.save()
    html = page(as_ben, sheet)
    address = reverse("sheet-photo", args=[sheet.public_id, 1, shown.public_id])
    assert f'src="{address}"' in html
    assert 'alt="Start: elbows under the bar"' in html
    assert 'href="https://clips.example/squat"' in html
    assert "clips.example</span>" in html
    assert as_ben.get(address).content == bytes(shown.image)
    for other in (taken_down, elsewhere):
        assert as_ben.get(reverse("sheet-photo", args=[sheet.public_id, 1, other.public_id])).status_code == 404


def test_the_start_and_end_of_the_exercise_in_hand_are_drawn_also_of_a_stand_in(as_ben, sheet):
    html = page(as_ben, sheet)
    assert html.count("exercise-figure") == 1

    document = sheet.document
    own = document["lines"][0]["exercise"]
    other = str(ExerciseFactory(practice=sheet.session.block.client.practice).public_id)
    document["lines"][0]["swaps"] = [{"exercise": {**own, "id": other, "figure": "push-up"}}]
    SheetVersion.objects.filter(pk=sheet.pk).update(document=document)
    swapped = as_ben.get(reverse("sheet-line", args=[sheet.public_id, 1]), {"swap": other}).content.decode()
    assert swapped.count("exercise-figure") == 1
    assert swapped[swapped.index("exercise-figure") :][:200] != html[html.index("exercise-figure") :][:200]

    del document["lines"][0]["exercise"]["figure"]
    SheetVersion.objects.filter(pk=sheet.pk).update(document=document)
    assert "exercise-figure" not in page(as_ben, sheet)
