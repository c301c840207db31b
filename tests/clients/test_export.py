"""The export of one client: read back, every number is what it was; health apart; nobody else's; nothing that runs."""

import csv
import io
import json
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from zipfile import ZipFile

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clients.clock import today_for
from clients.export import archive, icalendar, tables
from clients.models import (
    Bodyweight,
    Client,
    HealthNote,
    HealthRead,
    LoggedPart,
    LoggedSet,
    Proposal,
    SheetVersion,
    TargetSet,
    TrainingSession,
)
from clients.receiving import take_pain
from clients.services import proposals
from clients.services.links import sheet_link
from clients.sheets import pdf
from coachdesk.practice.models import Coach
from programs.exchange.cells import unguard
from programs.units import load_of
from tests.clients.sheets import add_line, handed_out, session_for
from tests.factories import (
    CoachFactory,
    ExerciseFactory,
    LimitFactory,
    LoggedSetFactory,
    ProposalFactory,
    RecentSetFactory,
)

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 9, 12, 30, tzinfo=UTC)
EXPECTED = {
    "README.txt",
    "client.json",
    "sessions.csv",
    "planned.csv",
    "sets.csv",
    "parts.csv",
    "bodyweight.csv",
    "decisions.csv",
    "revisions.csv",
    "originals.csv",
    "block.ics",
}


def address(client, query=""):
    return reverse("client-export", args=[client.public_id]) + query


def fetched(browser, client, query=""):
    answer = browser.get(address(client, query))
    assert answer.status_code == 200
    content = b"".join(answer.streaming_content)
    answer.close()
    return ZipFile(io.BytesIO(content))


def rows_of(zipped, name, delimiter=","):
    text = zipped.read(name).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter))


def figure(cell):
    return Decimal(cell.replace(",", ".")) if cell else None


LOADS = [
    (load_of("62.5", "kg", "62,5"), {}),
    (load_of("252.277", "lb"), {}),
    (load_of("0", "kg"), {}),
    (load_of("7", "setting"), {}),
    (None, {"reps": None, "seconds": 45, "rir": None}),
    (load_of("22.05", "kg"), {"rir": Decimal("0.5"), "reps": 13, "bodyweight_grams": 71_250}),
]


@pytest.fixture
def told(ben, ana):
    """A client with a bit of everything, and texts that a spreadsheet would run."""
    session = session_for(ben, start_time=time(18, 0))
    line = add_line(session)
    version = handed_out(session)
    for number, (load, more) in enumerate(LOADS, start=1):
        LoggedSetFactory(
            client=ben,
            session=session,
            version=version,
            exercise=line.exercise,
            line=1,
            number=number,
            load=load,
            **more,
        )
    added = ExerciseFactory(practice=ana.practice, load_entry="added", bodyweight_fraction=1)
    helped = ExerciseFactory(practice=ana.practice, load_entry="assisted", bodyweight_fraction=1)
    note = '=HYPERLINK("http://example.org";"here")'
    LoggedSetFactory(client=ben, exercise=added, load=load_of("10", "kg", "+10"), note=note)
    LoggedSetFactory(client=ben, exercise=helped, load=load_of("25", "kg", "-25"), note='@SUM(A1), "two"\nlines')
    drops = LoggedSetFactory(client=ben, exercise=line.exercise, load=load_of("40", "kg"))
    LoggedPart.objects.create(
        logged_set=drops, number=1, sort="drop", reps=6, load_value="30.25", load_unit="kg", load_grams=30_250
    )
    Bodyweight.objects.create(client=ben, measured_on=date(2026, 3, 2), value="158.4", unit="lb", grams=71_849)
    RecentSetFactory(client=ben, exercise=line.exercise)
    LimitFactory(client=ben)
    ProposalFactory(
        client=ben,
        session=session,
        slot_key="slot-0",
        exercise=line.exercise,
        old={"load": 60.0, "unit": "kg"},
        new={"load": 62.5, "unit": "kg"},
        decided={"load": 61.25, "sets": 3, "unit": "kg"},
        state="edited",
        decided_by=ana,
    )
    return ben


def test_everything_is_in_it(as_ana, told):
    zipped = fetched(as_ana, told)
    assert zipped.testzip() is None
    names = set(zipped.namelist())
    assert names >= EXPECTED and "health.json" not in names
    assert [name for name in names - EXPECTED if not name.startswith("sheets/")] == []
    read_me = zipped.read("README.txt").decode()
    assert all(name in read_me for name in EXPECTED - {"README.txt"})
    assert all(f"  {column.name}: " in read_me for table in tables.TABLES for column in table.columns)


def test_every_number_reads_back_as_it_was(as_ana, told):
    zipped = fetched(as_ana, told)
    rows = {row["set_id"]: row for row in rows_of(zipped, "sets.csv")}
    logged = list(LoggedSet.objects.for_client(told).select_related("exercise", "session"))
    assert len(rows) == len(logged) == len(LOADS) + 3
    for one in logged:
        row = rows[str(one.public_id)]
        assert figure(row["value"]) == one.load_value and row["unit"] == one.load_unit
        assert figure(row["grams"]) == one.load_grams and unguard(row["raw"]) == one.load_text
        numbers = ("reps", "seconds", "metres", "rir", "bodyweight_grams", "line", "number", "order")
        assert {name: figure(row[name]) for name in numbers} == {name: getattr(one, name) for name in numbers}
        assert date.fromisoformat(row["day"]) == one.performed_on
        assert unguard(row["note"]) == one.note and row["exercise_id"] == str(one.exercise.public_id)
        assert row["session_id"] == (str(one.session.public_id) if one.session else "")
    (part,) = rows_of(zipped, "parts.csv")
    assert (figure(part["value"]), part["sort"], part["reps"]) == (Decimal("30.25"), "drop", "6")
    (weighed,) = rows_of(zipped, "bodyweight.csv")
    assert (weighed["day"], figure(weighed["value"]), weighed["unit"]) == ("2026-03-02", Decimal("158.4"), "lb")
    assert figure(weighed["grams"]) == 71_849
    planned = rows_of(zipped, "planned.csv")
    targets = TargetSet.objects.filter(prescription__session__block__client=told).order_by("number")
    assert [(figure(row["value"]), row["reps_low"]) for row in planned] == [
        (target.load_value, str(target.reps_low)) for target in targets
    ]
    (decision,) = rows_of(zipped, "decisions.csv")
    assert [figure(decision[name]) for name in ("old_load", "new_load", "decided_load")] == [
        Decimal("60"),
        Decimal("62.5"),
        Decimal("61.25"),
    ]
    assert decision["decided_by"] == "Ana" and decision["state"] == "edited"
    states = {row["session_id"]: row["state"] for row in rows_of(zipped, "sessions.csv")}
    assert states == {str(row.public_id): row.state for row in TrainingSession.objects.for_client(told)}


def test_added_weight_and_help_are_numbers_and_no_text_runs(as_ana, told):
    """What is added stands as 10, help as 25; a note that begins with = is text."""
    zipped = fetched(as_ana, told)
    rows = rows_of(zipped, "sets.csv")
    assert [row["added"] for row in rows if row["added"]] == ["10"]
    assert [row["assistance"] for row in rows if row["assistance"]] == ["25"]
    for name in zipped.namelist():
        if name.endswith(".csv"):
            for row in rows_of(zipped, name):
                assert not [cell for cell in row.values() if cell.startswith(tuple("=+-@\t\r"))]


def test_a_language_with_a_decimal_comma_gets_one(as_ana, told):
    Client.objects.filter(pk=told.pk).update(language="de")
    zipped = fetched(as_ana, told)
    assert zipped.read("sets.csv").startswith(b"\xef\xbb\xbf")
    rows = rows_of(zipped, "sets.csv", delimiter=";")
    assert {"62,5", "252,277", "22,05"} <= {row["value"] for row in rows}
    values = {figure(row["value"]) for row in rows}
    assert values == set(LoggedSet.objects.for_client(told).values_list("load_value", flat=True))


def test_the_documents_hold_what_was_agreed(as_ana, told):
    zipped = fetched(as_ana, told)
    document = json.loads(zipped.read("client.json"))
    assert document["client"]["name"] == "Ben Quay" and document["client"]["coach"] == "Ana"
    assert [row["joint"] for row in document["limits"]] == ["shoulder_overhead"]
    assert document["recent_sets"][0]["load_value"] == "20.000"
    assert len(document["blocks"]) == told.blocks.count()
    (sheet,) = [name for name in zipped.namelist() if name.startswith("sheets/")]
    stored = json.loads(zipped.read(sheet))
    assert stored["document"] == SheetVersion.objects.get().document and stored["state"] == "issued"


def test_a_pdf_that_is_kept_comes_along_and_none_is_rendered(as_ana, told, settings):
    version = SheetVersion.objects.get()
    settings.PUBLIC_URL = "https://desk.example.org"
    link = sheet_link(version.session)
    path = pdf.path_for(version, "phone")
    path.parent.mkdir(parents=True)
    path.write_bytes(b"%PDF-1.7 kept")
    # A link that was closed since changes nothing: the PDF was made with it.
    link.revoked_at = NOW
    link.save()
    zipped = fetched(as_ana, told)
    found = {name: zipped.read(name) for name in zipped.namelist() if name.endswith(".pdf")}
    assert list(found.values()) == [b"%PDF-1.7 kept"] and all(name.endswith("-phone.pdf") for name in found)


def test_health_is_a_file_of_its_own_for_those_who_may_and_leaves_a_trail(as_ana, ana, told, client):
    take_pain(told, key="p", score=6, body_part="knee", side="left", felt_on=today_for(told))
    HealthNote.objects.create(client=told, text="sleeps badly since the operation")
    barred = {"code": "check_set_barred", "params": {}}  # that effort is bounded tells of health too
    reasons = [{"code": "pain_freeze", "params": {"rir": 3}}, barred, {"code": "gone_long_ago", "params": {}}]
    Proposal.objects.update(kind="freeze", reasons=reasons)
    LoggedSet.objects.filter(number=1).update(stopped_for_pain=True)
    without = fetched(as_ana, told)
    assert not HealthRead.objects.filter(what="export").exists()
    for name in without.namelist():
        text = without.read(name).decode(errors="replace")
        assert "operation" not in text, name
        assert not name.endswith(".csv") or "pain" not in text, name
    (row,) = rows_of(without, "decisions.csv")
    assert (row["kind"], row["reasons"]) == ("held_back", "Noted: gone_long_ago")
    zipped = fetched(as_ana, told, "?health=1")
    document = json.loads(zipped.read("health.json"))
    assert [row["score"] for row in document["pain_reports"]] == [6]
    assert document["notes"][0]["text"] == "sleeps badly since the operation"
    assert len(document["answers"]) == 1 and len(document["sets_stopped_for_pain"]) == 1
    (decision,) = document["decisions"]
    assert decision["kind"] == "freeze" and [reason["code"] for reason in decision["reasons"]] == [
        "pain_freeze",
        "check_set_barred",
    ]
    read = HealthRead.objects.get(what="export")
    assert (read.client, read.coach) == (told, ana)
    client.force_login(CoachFactory(practice=ana.practice, sees_health=False))
    assert client.get(address(told, "?health=1")).status_code == 404
    assert "health.json" not in fetched(client, told).namelist()
    assert HealthRead.objects.filter(what="export").count() == 1


def test_nobody_of_another_practice_gets_it(as_cleo, client, told):
    assert as_cleo.get(address(told)).status_code == 404
    assert client.get(address(told)).status_code == 302
    assert as_cleo.post(address(told)).status_code == 405


def test_it_holds_nothing_of_another_client(as_ana, ana, told):
    other = LoggedSetFactory(client__practice=ana.practice, client__coach=ana, client__name="Other Person")
    zipped = fetched(as_ana, told)
    for name in zipped.namelist():
        text = zipped.read(name).decode(errors="replace")
        assert "Other Person" not in text and str(other.public_id) not in text


def test_it_costs_the_same_however_long_the_history(as_ana, told, ana):
    with CaptureQueriesContext(connection) as few:
        fetched(as_ana, told)
    for number in range(2, 25):
        session = session_for(told, position=number, cycle=number, planned_on=today_for(told) + timedelta(days=number))
        line = add_line(session)
        handed_out(session)
        LoggedSetFactory.create_batch(60, client=told, session=session, exercise=line.exercise)
        ProposalFactory(client=told, session=session, slot_key="slot-0", exercise=line.exercise)
    with CaptureQueriesContext(connection) as many:
        zipped = fetched(as_ana, told)
    assert len(rows_of(zipped, "sets.csv")) > 1300
    assert len(many) == len(few)


def test_an_export_changes_nothing(as_ana, told):
    with CaptureQueriesContext(connection) as asked:
        fetched(as_ana, told)
    assert not [row["sql"] for row in asked if row["sql"].startswith(("INSERT", "UPDATE", "DELETE"))]


def test_the_calendar_says_when_and_nothing_else(as_ana, told):
    text = fetched(as_ana, told).read("block.ics").decode()
    assert text.count("BEGIN:VEVENT") == 1 and "SUMMARY:Training\r\n" in text
    assert "Lower" not in text and "squat" not in text and "Quay" not in text
    (starts,) = [line for line in text.split("\r\n") if line.startswith("DTSTART")]
    assert starts.endswith(("T150000Z", "T160000Z"))  # 18:00 in Helsinki, summer or winter


def test_a_calendar_is_by_the_book():
    """RFC 5545: lines of at most 75 octets with CRLF, days without a clock, moments in UTC over a change of clocks."""
    events = [
        icalendar.Event("a", date(2026, 3, 2)),
        icalendar.Event("b", date(2026, 3, 28), time(23, 30), 300),  # the clocks go forward at three
        icalendar.Event("c", date(2026, 12, 31), time(9, 0)),
    ]
    made = icalendar.calendar(events, title="Üben, Hof; " + "lang " * 30, zone="Europe/Helsinki", now=NOW)
    assert made.endswith(b"END:VCALENDAR\r\n") and b"\n" not in made.replace(b"\r\n", b"")
    lines = made.split(b"\r\n")
    assert max(map(len, lines)) <= icalendar.LONGEST_LINE
    whole = made.replace(b"\r\n ", b"").decode()
    assert "SUMMARY:Üben\\, Hof\\; lang" in whole
    assert "DTSTART;VALUE=DATE:20260302\r\nDTEND;VALUE=DATE:20260303" in whole
    assert "DTSTART:20260328T213000Z\r\nDTEND:20260329T023000Z" in whole
    assert "DTSTART:20261231T070000Z\r\nDTEND:20261231T080000Z" in whole
    assert "DTSTAMP:20260309T123000Z" in whole


def test_a_week_of_decisions_reads_back(as_ana, ana, ben):
    """What was accepted through the program stands in the table with its reason."""
    session = session_for(ben)
    line = add_line(session)
    day = today_for(ben) - timedelta(days=7)
    before = session_for(ben, position=1, cycle=1, planned_on=day, trained_on=day, state="trained")
    LoggedSetFactory.create_batch(
        3,
        client=ben,
        session=before,
        exercise=line.exercise,
        slot_key="slot-0",
        occurrence=0,
        performed_on=day,
    )
    proposals.refresh(ben)
    waiting = Proposal.objects.waiting().get()
    proposals.accept(waiting, ana)
    (row,) = rows_of(fetched(as_ana, ben), "decisions.csv")
    waiting.refresh_from_db()
    assert row["state"] == "accepted" and row["reasons"]
    assert figure(row["decided_load"]) == figure(str(waiting.decided["load"]))


def test_the_archive_is_closed_and_named(told):
    assert archive.file_name(told, NOW) == "ben-quay-2026-03-09.zip"
    with archive.write(told, NOW) as out, ZipFile(out) as zipped:
        assert zipped.getinfo("sets.csv").date_time[:5] == (2026, 3, 9, 12, 30)
    assert Coach.objects.count() == 1
