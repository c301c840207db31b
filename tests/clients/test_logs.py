"""A coach types a session in: cell by cell, from a message, once; and takes it back."""

import uuid
from datetime import timedelta
from decimal import Decimal
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils import timezone

from clients.entry import Boxes, Unread, cell_text, read_boxes, read_cell
from clients.models import LoggedSet, LoggedSetRevision, Original, SessionNote, SheetVersion, TrainingSession
from clients.services import logs, sheets
from coachdesk.practice.models import JournalEntry
from programs.units import load_of
from tests.factories import (
    BlockFactory,
    ExerciseFactory,
    HealthAnswersFactory,
    LoggedSetFactory,
    PrescriptionFactory,
    StationFactory,
    TargetSetFactory,
    TrainingSessionFactory,
)
from tests.pages import text_of

TODAY = timezone.localdate(timezone=ZoneInfo("Europe/Helsinki"))  # where everybody in these tests lives


def line(load="72.5", unit="kg", load_entry="total", rep_unit="reps", fraction=0.0, names=()):
    """A sheet's line as far as typing needs it."""
    target = {"number": 1, "kind": "work", "load": None if load is None else {"value": load, "unit": unit}}
    return {
        "exercise": {
            "load_entry": load_entry,
            "rep_unit": rep_unit,
            "bodyweight_fraction": fraction,
            "limbs": "two",
            "pattern": "squat",
            "implement": "barbell",
        },
        "unit": unit,
        "load_names": list(names),
        "sets": [target],
    }


BARBELL = line()
PULL_UP = line(load="0", load_entry="added", fraction=1.0)
HOLD = line(load=None, load_entry="none", rep_unit="seconds")
PIN = line(load="5", unit="setting", load_entry="numbered_setting")
BAND = line(load="1", unit="band", load_entry="band", names=("yellow", "green"))


def read(text, of=BARBELL):
    return read_cell(text, of, of["sets"][0], "en")


@pytest.mark.parametrize(
    ("text", "load", "reps", "rir"),
    [
        ("72.5x8@2", "72.5", 8, "2"),
        ("72,5x8@2", "72.5", 8, "2"),
        ("72.5 × 8", "72.5", 8, None),
        ("8", "72.5", 8, None),
        ("8@1,5", "72.5", 8, "1.5"),
        ("8 rir 2", "72.5", 8, "2"),
        ("10x6", "10", 6, None),
        ("72.5 x 8 @ rpe 8", "72.5", 8, "2.0"),
    ],
)
def test_a_cell_reads_load_reps_and_reserve(text, load, reps, rir):
    values = read(text)
    assert (values.load.value, values.load.unit, values.reps) == (Decimal(load), "kg", reps)
    assert values.rir == (None if rir is None else Decimal(rir))


@pytest.mark.parametrize("text", ["", " ", "-", "–", "x"])
def test_nothing_done_is_no_set(text):
    assert read(text) is None


@pytest.mark.parametrize(
    ("text", "of", "what"),
    [
        ("135 lb x 5", BARBELL, (Decimal(135), "lb", 5)),
        ("BW+10x6", PULL_UP, (Decimal(10), "kg", 6)),
        ("BWx8", PULL_UP, (Decimal(0), "kg", 8)),
        ("BW-15x8", PULL_UP, (Decimal(-15), "kg", 8)),
        ("6x12", PIN, (Decimal(6), "setting", 12)),
        ("12", PIN, (Decimal(5), "setting", 12)),
        ("green x 12", BAND, (Decimal(2), "band", 12)),
    ],
)
def test_loads_of_every_kind(text, of, what):
    values = read(text, of)
    assert (values.load.value, values.load.unit, values.reps) == what


@pytest.mark.parametrize(("text", "seconds"), [("45", 45), ("0:45", 45), ("45 s", 45), ("1:10", 70)])
def test_holds_are_counted_in_seconds(text, seconds):
    values = read(text, HOLD)
    assert (values.seconds, values.reps, values.load) == (seconds, None, None)


@pytest.mark.parametrize(
    ("text", "of", "words"),
    [
        ("abc", BARBELL, "Type it as 72.5x8@2."),
        ("60x8,8,7", BARBELL, "These are 3 sets: one cell holds one."),
        ("8@9", BARBELL, "Reps in reserve are 0 to 5."),
        ("0", BARBELL, "Reps are whole numbers, 1 to 100."),
        ("as planned", BARBELL, "type the reps that were done"),
        ("8", line(load=None), "No load is planned here"),
        ("9999x8@2", BARBELL, "That is more than anybody lifts."),
        ("70x8 > 9000x6", BARBELL, "That is more than anybody lifts."),
        ("101x12", PIN, "That is more than anybody lifts."),
        ("9999", HOLD, "up to 7200"),
        ("pink x 12", BAND, "No band of that name is at this place."),
    ],
)
def test_what_cannot_be_read_says_why(text, of, words):
    with pytest.raises(Unread) as unread:
        read(text, of)
    assert words in unread.value.sentence


@pytest.mark.parametrize(
    ("text", "of"),
    [
        ("72.5x8@2", BARBELL),
        ("72.5xL8/R7", BARBELL),
        ("60x8+3", BARBELL),
        ("70x8 > 50x6", BARBELL),
        ("135 lbx5@1", BARBELL),
        ("BW+10x6", PULL_UP),
        ("BWx8@3", PULL_UP),
        ("45 s", HOLD),
        ("6x12@2", PIN),
        ("green x 12", BAND),
    ],
)
def test_what_is_shown_reads_back_to_the_same_set(text, of):
    values = read(text, of)
    again = read(cell_text(values, of), of)
    assert again.amounts() == values.amounts()


@pytest.mark.parametrize("boxes", [Boxes("100000", "8", ""), Boxes("1" * 40, "8", ""), Boxes("60", "9" * 30, "")])
def test_boxes_take_no_number_that_cannot_be(boxes):
    with pytest.raises(Unread):
        read_boxes(boxes, BARBELL, BARBELL["sets"][0])


def test_three_boxes_do_for_a_cell():
    target = BARBELL["sets"][0]
    assert read_boxes(Boxes("", "8", "2"), BARBELL, target).load.value == Decimal("72.5")
    assert read_boxes(Boxes("60", "8", ""), BARBELL, target).rir is None
    assert read_boxes(Boxes("", "", ""), BARBELL, target) is None
    with pytest.raises(Unread):
        read_boxes(Boxes("60", "", "2"), BARBELL, target)


@pytest.fixture
def session(ana, ben):
    """Yesterday's session, its sheet out: bench press 3 × 6–8 with 60 kg, row 3 × 6–8 with 40."""
    HealthAnswersFactory(client=ben, answered_on=TODAY - timedelta(days=10))
    block = BlockFactory(client=ben, starts_on=TODAY - timedelta(days=8))
    StationFactory(place=block.place)
    session = TrainingSessionFactory(block=block, name="Upper A", planned_on=TODAY - timedelta(days=1), position=0)
    for position, (name, load, aliases) in enumerate((("Bench press", 60, ["bench"]), ("Cable row", 40, []))):
        row = PrescriptionFactory(
            session=session,
            position=position,
            exercise=ExerciseFactory(practice=ana.practice, name=name, aliases=aliases, load_entry="total"),
            target_sets=None,
        )
        for number in (1, 2, 3):
            TargetSetFactory(prescription=row, number=number, load=load_of(load, "kg"))
    sheets.issue_sheet(session, ana)
    return session


def page_of(session):
    return reverse("session-log", args=[session.public_id])


def form(session, go="save", **cells):
    """What the page would send: ``c_1_2="60x8"`` is line 1, set 2. What is logged is sent along as it stood."""
    data = {"form_key": uuid.uuid4().hex, "extra": "0", "day": (TODAY - timedelta(days=1)).isoformat(), "go": go}
    for name, value in cells.items():
        data[name.replace("_", "-")] = value
    return data


def stood(session, number=1, of=1):
    """The hidden fields that say what a cell showed."""
    row = LoggedSet.objects.exclude(state="back").filter(session=session, line=of, number=number).first()
    return {f"s_{of}_{number}": f"{row.public_id}.{row.revision}", f"o_{of}_{number}": "60x8@2"}


def test_the_page_shows_what_was_asked_and_done_last_time(as_ana, ana, ben, session):
    row = session.prescriptions.get(position=0)
    LoggedSetFactory(
        client=ben,
        exercise=row.exercise,
        slot_key=row.slot_key,
        occurrence=0,
        load=load_of("57.5", "kg"),
        performed_on=TODAY - timedelta(days=8),
    )
    row.target_sets.update(rir=1)  # another content, so another version
    sheets.issue_sheet(session, ana)
    text = text_of(as_ana.get(page_of(session))).replace("\u00a0", " ")
    assert "57.5 × 8" in text
    assert "60 kg" in text


def test_cells_become_sets_of_the_sheet_that_is_out(as_ana, ana, session):
    as_ana.post(page_of(session), form(session, c_1_1="60x8@2", c_1_2="8", c_2_1="42,5x7@1"))
    rows = list(LoggedSet.objects.order_by("line", "number").values_list("line", "number", "load_value", "reps", "rir"))
    assert rows == [(1, 1, 60, 8, 2), (1, 2, 60, 8, None), (2, 1, Decimal("42.5"), 7, 1)]
    logged = LoggedSet.objects.first()
    assert (logged.way, logged.recorded_by, logged.performed_on) == ("paper", ana, TODAY - timedelta(days=1))
    assert logged.version == SheetVersion.objects.get()
    assert logged.original.fields == {"1-1": "60x8@2", "1-2": "8", "2-1": "42,5x7@1"}
    session.refresh_from_db()
    assert (session.state, session.trained_on) == (TrainingSession.State.TRAINED, TODAY - timedelta(days=1))


def test_the_same_form_twice_is_one_session(as_ana, session):
    data = form(session, c_1_1="60x8@2")
    as_ana.post(page_of(session), data)
    as_ana.post(page_of(session), data)
    assert LoggedSet.objects.count() == 1
    assert Original.objects.count() == 1


def test_one_undo_takes_all_of_it_back(as_ana, session):
    as_ana.post(page_of(session), form(session, c_1_1="60x8@2", c_2_1="40x8"))
    as_ana.post(reverse("undo", args=[JournalEntry.objects.get(act="log.enter").public_id]))
    assert not LoggedSet.objects.exists()
    session.refresh_from_db()
    assert session.state == TrainingSession.State.PLANNED


def test_proposals_are_reckoned_again_once_it_is_in(as_ana, session, monkeypatch, django_capture_on_commit_callbacks):
    asked = []
    monkeypatch.setattr("clients.services.logs.review_logs", SimpleNamespace(enqueue=asked.append))
    with django_capture_on_commit_callbacks(execute=True):
        as_ana.post(page_of(session), form(session, c_1_1="60x8@2"))
    assert asked == [session.block.client_id]


def test_what_cannot_be_read_keeps_everything_typed(as_ana, session):
    response = as_ana.post(page_of(session), form(session, c_1_1="60x8@2", c_1_2="sixty"))
    assert response.status_code == 422
    assert not LoggedSet.objects.exists()
    html = response.content.decode()
    assert 'value="60x8@2"' in html
    assert 'value="sixty"' in html
    assert "Type it as 60x8@2." in text_of(response)


@pytest.mark.parametrize(
    ("day", "words"),
    [
        ("tomorrow", "Give the day as"),
        ((TODAY + timedelta(days=2)).isoformat(), "still to come"),
        ((TODAY - timedelta(days=365)).isoformat(), "is it the right year?"),
    ],
)
def test_a_wrong_day_is_asked_again(as_ana, session, day, words):
    response = as_ana.post(page_of(session), {**form(session, c_1_1="60x8"), "day": day})
    assert response.status_code == 422
    assert words in text_of(response)


@pytest.fixture
def logged(as_ana, session):
    as_ana.post(page_of(session), form(session, c_1_1="60x8@2"))
    return LoggedSet.objects.get()


def test_an_untouched_cell_changes_nothing(as_ana, session, logged):
    as_ana.post(page_of(session), form(session, c_1_1="60x8@2", **stood(session)))
    logged.refresh_from_db()
    assert (LoggedSet.objects.count(), logged.revision) == (1, 1)


def test_a_corrected_cell_keeps_what_it_was(as_ana, session, logged):
    as_ana.post(page_of(session), form(session, c_1_1="60x7@2", **stood(session)))
    logged.refresh_from_db()
    assert (logged.reps, logged.revision) == (7, 2)
    assert LoggedSetRevision.objects.get().values["reps"] == 8


def test_an_emptied_cell_is_taken_back(as_ana, session, logged):
    as_ana.post(page_of(session), form(session, c_1_1="", **stood(session)))
    logged.refresh_from_db()
    assert logged.state == LoggedSet.State.TAKEN_BACK


def test_a_cell_that_came_in_meanwhile_is_not_taken_back(as_ana, session, logged):
    as_ana.post(page_of(session), form(session, c_1_1="", o_1_1=""))
    logged.refresh_from_db()
    assert logged.state == LoggedSet.State.COUNTS


def test_a_set_changed_elsewhere_is_not_overwritten(as_ana, session, logged):
    shown = stood(session)
    as_ana.post(page_of(session), form(session, c_1_1="60x7@2", **shown))
    response = as_ana.post(page_of(session), form(session, c_1_1="60x6@2", **shown))
    assert response.status_code == 422
    assert "Changed since this page was opened: it is 60x7@2 now." in text_of(response)


def test_a_corrected_day_moves_the_session(as_ana, session, logged):
    other = (TODAY - timedelta(days=2)).isoformat()
    as_ana.post(page_of(session), {**form(session, c_1_1="60x8@2", **stood(session)), "day": other})
    logged.refresh_from_db()
    session.refresh_from_db()
    assert logged.performed_on == session.trained_on == TODAY - timedelta(days=2)


def test_separate_boxes_write_the_same(as_ana, session):
    cells = {"c-1-1-load": "62,5", "c-1-1-amount": "8", "c-1-1-rir": "2", "boxes": "1"}
    as_ana.post(page_of(session), {**form(session), **cells})
    row = LoggedSet.objects.get()
    assert (row.load_value, row.load_text, row.reps, row.rir) == (Decimal("62.5"), "62,5", 8, 2)


def test_one_more_set_gives_another_column(as_ana, session):
    before = len(as_ana.get(page_of(session)).context["columns"])
    response = as_ana.post(page_of(session), form(session, go="more", c_1_1="60x8"))
    assert len(response.context["columns"]) == before + 1
    assert 'value="60x8"' in response.content.decode()
    as_ana.post(page_of(session), {**form(session, c_1_4="60x5"), "extra": "1"})
    assert LoggedSet.objects.get().number == 4


def test_a_session_without_a_sheet_is_typed_in_as_it_stands(as_ana, ana, session):
    SheetVersion.objects.all().delete()
    as_ana.post(page_of(session), form(session, c_1_1="60x8@2"))
    row = LoggedSet.objects.get()
    assert (row.session, row.line, row.version) == (session, 1, None)


MESSAGE = "bench 60x8,8,7\nCable row: 40 x 8 8\nslept 7 h"


def test_a_message_is_shown_before_anything_is_written(as_ana, session):
    response = as_ana.post(page_of(session), {**form(session, go="read"), "message": MESSAGE})
    assert response.status_code == 200
    assert not LoggedSet.objects.exists()
    html = response.content.decode()
    for text in ("60x8", "60x7", "40x8"):
        assert f'value="{text}"' in html
    assert "kept as a note: slept 7 h" in text_of(response)


def read_message(as_ana, session, message=MESSAGE):
    """The cells as the preview fills them, ready to be saved."""
    response = as_ana.post(page_of(session), {**form(session, go="read"), "message": message})
    cells = {
        cell["id"]: cell["text"] for row in response.context["lines"] for cell in row.get("cells", []) if cell["text"]
    }
    return {**form(session), **cells, "message": message}


def test_a_message_is_kept_with_what_was_read_from_it(as_ana, ana, session):
    as_ana.post(page_of(session), read_message(as_ana, session))
    assert sorted(LoggedSet.objects.values_list("line", "number", "reps")) == [
        (1, 1, 8),
        (1, 2, 8),
        (1, 3, 7),
        (2, 1, 8),
        (2, 2, 8),
    ]
    original = Original.objects.get()
    assert (original.way, original.text, original.sets.count()) == ("message", MESSAGE, 5)
    assert SessionNote.objects.get().text == "slept 7 h"


def test_the_same_message_a_second_time_adds_nothing(as_ana, session):
    data = read_message(as_ana, session)
    as_ana.post(page_of(session), data)
    response = as_ana.post(page_of(session), {**data, "form_key": uuid.uuid4().hex})
    assert "Nothing was added." in text_of(response)
    assert LoggedSet.objects.count() == 5
    again = as_ana.post(page_of(session), {**form(session, go="read"), "message": MESSAGE + "\n"})
    assert "Nothing was added." in text_of(again)


def test_what_is_logged_otherwise_is_kept_beside_it_and_asked(as_ana, session, logged):
    response = as_ana.post(page_of(session), {**form(session, go="read", **stood(session)), "message": "bench 60x6"})
    assert "Set 1 is logged otherwise: keep 60x6 beside it and ask" in text_of(response)
    as_ana.post(page_of(session), {**form(session, **stood(session)), "message": "bench 60x6", "r-1-1": "1"})
    assert sorted(LoggedSet.objects.values_list("reps", "state")) == [(6, "asked"), (8, "asked")]


def test_a_name_that_is_not_known_is_asked_about(as_ana, session):
    response = as_ana.post(page_of(session), {**form(session, go="read"), "message": "Squat 100x5"})
    assert "Which exercise is this?" in text_of(response)
    told = as_ana.post(page_of(session), {**form(session, go="read"), "message": "Squat 100x5", "which-0": "2"})
    assert 'value="100x5"' in told.content.decode()


def test_words_in_a_message_that_must_be_seen_are_flagged(as_ana, session):
    as_ana.post(page_of(session), read_message(as_ana, session, "bench 60x8\nhad chest pain after"))
    assert [flag["code"] for flag in SessionNote.objects.get().flags] == ["chest"]


def test_an_odd_load_waits_for_an_answer(as_ana, ben, session):
    row = session.prescriptions.get(position=0)
    for days in range(2, 9):
        LoggedSetFactory(
            client=ben,
            exercise=row.exercise,
            place=session.block.place,
            load=load_of(60, "kg"),
            performed_on=TODAY - timedelta(days=days),
        )
    as_ana.post(page_of(session), form(session, c_1_1="600x8"))
    asked = LoggedSet.objects.get(state=LoggedSet.State.ASKED)
    page = text_of(as_ana.get(page_of(session))).replace("\u00a0", " ")
    assert "600 kg is ten times the usual 60 kg." in page
    assert "It was 60 kg × 8" in page
    as_ana.post(reverse("settle-set", args=[asked.public_id]), {"answer": "counts"})
    asked.refresh_from_db()
    assert (asked.load_value, asked.state) == (600, LoggedSet.State.COUNTS)


def test_a_settled_doubt_is_not_settled_twice(as_ana, ben):
    logged = LoggedSetFactory(client=ben)
    response = as_ana.post(reverse("settle-set", args=[logged.public_id]), {"answer": "back"}, follow=True)
    assert "That set was settled already." in text_of(response)
    assert as_ana.post(reverse("settle-set", args=[logged.public_id]), {"answer": "maybe"}).status_code == 404


def test_the_list_says_session_by_session_what_came_back(as_ana, ben, session, logged):
    TrainingSessionFactory(block=session.block, name="Lower A", planned_on=TODAY - timedelta(days=3), position=5)
    text = text_of(as_ana.get(reverse("client-logs", args=[ben.public_id]))).replace("\u00a0", " ")
    assert "Bench press 60 × 8 RIR 2" in text
    assert "nothing came back" in text
    waiting = as_ana.get(reverse("client-logs", args=[ben.public_id]) + "?show=open")
    assert [row["session"].name for row in waiting.context["rows"]] == ["Lower A"]
    assert as_ana.get(reverse("client-logs", args=[ben.public_id]) + "?show=other").status_code == 404


@pytest.mark.parametrize("count", [1, 30])
def test_the_list_costs_the_same_however_much_came_back(as_ana, ana, ben, count, django_assert_num_queries):
    HealthAnswersFactory(client=ben)
    block = BlockFactory(client=ben, starts_on=TODAY - timedelta(days=90))
    for number in range(count):
        day = TODAY - timedelta(days=number)
        session = TrainingSessionFactory(block=block, planned_on=day, state="trained", trained_on=day)
        for exercise in range(3):
            LoggedSetFactory(
                client=ben,
                session=session,
                exercise=ExerciseFactory(practice=ana.practice, name=f"Lift {number} {exercise}"),
                performed_on=day,
            )
        LoggedSetFactory(client=ben, session=None, performed_on=day)
    with django_assert_num_queries(18):
        response = as_ana.get(reverse("client-logs", args=[ben.public_id]))
    assert response.status_code == 200


@pytest.mark.parametrize("lines", [1, 30])
def test_the_grid_costs_the_same_however_many_lines(as_ana, ana, ben, lines, django_assert_num_queries):
    HealthAnswersFactory(client=ben, answered_on=TODAY)
    session = TrainingSessionFactory(block__client=ben, planned_on=TODAY)
    for number in range(lines):
        exercise = ExerciseFactory(practice=ana.practice, name=f"Lift {number}")
        PrescriptionFactory(session=session, exercise=exercise, position=number)
        LoggedSetFactory(client=ben, session=session, exercise=exercise, line=number + 1, number=1, performed_on=TODAY)
    SheetVersion.objects.all().delete()
    with django_assert_num_queries(29):
        response = as_ana.get(page_of(session))
    assert len(response.context["lines"]) == lines


@pytest.mark.parametrize(("state", "status"), [("missed", 302), ("dropped", 302), ("trained", 404), ("", 404)])
def test_a_session_that_was_not_trained_is_marked(as_ana, session, state, status):
    assert as_ana.post(reverse("session-state", args=[session.public_id]), {"state": state}).status_code == status
    session.refresh_from_db()
    assert session.state == (state if status == 302 else "planned")


def test_a_trained_session_is_not_marked_as_missed(as_ana, session, logged):
    assert as_ana.post(reverse("session-state", args=[session.public_id]), {"state": "missed"}).status_code == 404


def test_what_came_in_meanwhile_is_not_marked_as_missed(ana, session):
    seen = TrainingSession.objects.select_related("block__client__practice").get(pk=session.pk)
    TrainingSession.objects.filter(pk=session.pk).update(
        state=TrainingSession.State.TRAINED, trained_on=timezone.localdate()
    )
    with pytest.raises(ValueError, match="trained"):
        logs.set_state(seen, TrainingSession.State.MISSED, ana)
    session.refresh_from_db()
    assert session.state == TrainingSession.State.TRAINED


def test_another_practice_gets_404(as_cleo, ben, session, logged):
    assert as_cleo.get(page_of(session)).status_code == 404
    assert as_cleo.post(page_of(session), form(session, c_1_1="60x8")).status_code == 404
    assert as_cleo.get(reverse("client-logs", args=[ben.public_id])).status_code == 404
    assert as_cleo.post(reverse("settle-set", args=[logged.public_id]), {"answer": "back"}).status_code == 404
    assert as_cleo.post(reverse("session-state", args=[session.public_id]), {"state": "missed"}).status_code == 404


def test_wrong_methods_are_refused(as_ana, session, logged):
    assert as_ana.put(page_of(session)).status_code == 405
    assert as_ana.get(reverse("settle-set", args=[logged.public_id])).status_code == 405
    assert as_ana.get(reverse("session-state", args=[session.public_id])).status_code == 405
