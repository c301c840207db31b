"""The pages of export and import: preview before anything is written, one undo, and nobody else's files."""

import json
import re
from datetime import timedelta
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from programs.exchange import library
from programs.exchange.bounds import MOST_BYTES
from programs.models import Exercise, Outline, Upload
from tests.factories import CoachFactory, ExerciseFactory, OutlineDayFactory, OutlineFactory, OutlineSlotFactory

HEAD = "name,pattern,role,implement,load_entry,rep_unit,rep_low,rep_high,rest_s,regions"
LINE = "{name},horizontal_push,main,dumbbell,per_hand,reps,6,12,{rest},pec_stern 1"
MIXED = "\r\n".join(
    [HEAD, LINE.format(name="Net pull", rest=60), LINE.format(name="Quay press", rest=77), "Half a row,sideways"]
)


@pytest.fixture
def press(ana):
    return ExerciseFactory(practice=ana.practice, name="Quay press", rest_s=90, regions={"pec_stern": 4})


@pytest.fixture
def week(ana):
    outline = OutlineFactory(practice=ana.practice, name="Quay week", order=["full"])
    OutlineSlotFactory(day=OutlineDayFactory(outline=outline), key="chest")
    return outline


def sent(browser, data, page="library-files", name="library.csv"):
    content = data.encode() if isinstance(data, str) else data
    return browser.post(reverse(page), {"file": SimpleUploadedFile(name, content)}, follow=True)


def seen_of(response):
    return re.search(r'name="seen" value="([0-9a-f]+)"', response.text)[1]


def undo_address(response):
    return unescape(re.search(r'action="(/journal/[^"]+/undo/[^"]*)"', response.text)[1])


def preview():
    return reverse("import-preview", args=[Upload.objects.get().public_id])


def test_a_file_is_previewed_then_imported_then_taken_back(as_ana, ana, press):
    response = sent(as_ana, MIXED)
    assert response.redirect_chain == [(preview(), 302)]
    assert Exercise.objects.get() == press and press.rest_s == 90
    text = response.text
    assert "Import 1 new, 1 changed" in text and "<del>90</del>" in text and "<ins>77</ins>" in text
    assert "Pattern: “sideways” is not known here" in text and "Half a row" in text
    response = as_ana.post(preview(), {"seen": seen_of(response), "take": "all"}, follow=True)
    assert response.redirect_chain == [(reverse("library"), 302)] and "Imported: 1 added, 1 changed." in response.text
    assert dict(Exercise.objects.values_list("name", "rest_s")) == {"Net pull": 60, "Quay press": 77}
    assert not Upload.objects.exists()
    as_ana.post(undo_address(response))
    assert dict(Exercise.objects.values_list("name", "rest_s")) == {"Quay press": 90}


def test_only_the_new_ones_or_nothing_at_all(as_ana, press):
    response = sent(as_ana, MIXED)
    as_ana.post(preview(), {"seen": seen_of(response), "take": "new"})
    assert dict(Exercise.objects.values_list("name", "rest_s")) == {"Net pull": 60, "Quay press": 90}
    sent(as_ana, MIXED)
    response = as_ana.post(preview(), {"take": "none"})
    assert response.url == reverse("library-files") and not Upload.objects.exists()
    assert Exercise.objects.count() == 2


def test_what_changed_meanwhile_is_said_and_marked_and_can_then_be_taken(as_ana, press):
    response = sent(as_ana, MIXED)
    Exercise.objects.update(rest_s=150)
    stale = as_ana.post(preview(), {"seen": seen_of(response), "take": "all"})
    assert stale.status_code == 422 and "1 entry comes out otherwise now" in stale.text
    assert stale.text.count("otherwise than before") == 1 and "<del>150</del>" in stale.text
    assert Exercise.objects.get().rest_s == 150
    as_ana.post(preview(), {"seen": seen_of(stale), "take": "all"})
    assert dict(Exercise.objects.values_list("name", "rest_s")) == {"Net pull": 60, "Quay press": 77}


def test_a_name_taken_in_the_very_moment_is_no_failure(as_ana, press, monkeypatch):
    response = sent(as_ana, MIXED)
    seen, planned = seen_of(response), library.plan

    def plan(sheet, practice, coach, *, lock=False):
        found = planned(sheet, practice, coach, lock=lock)
        if lock:
            ExerciseFactory(practice=practice, name="Net pull")
        return found

    monkeypatch.setattr(library, "plan", plan)
    stale = as_ana.post(preview(), {"seen": seen, "take": "all"})
    assert stale.status_code == 422 and "Nothing was imported" in stale.text
    assert Exercise.objects.get().rest_s == 90


def test_each_kind_has_a_page_of_its_own(as_ana, press):
    lines = [HEAD, *(LINE.format(name=f"Press {number:03}", rest=60) for number in range(130))]
    response = sent(as_ana, "\r\n".join(lines))
    assert "See all 130" in response.text and "Press 019" in response.text and "Press 020" not in response.text
    whole = as_ana.get(preview(), {"show": "new", "page": "2"})
    assert "Press 129" in whole.text and "Press 099" not in whole.text and "101–130 of 130" in whole.text
    assert as_ana.get(preview(), {"show": "nonsense"}).status_code == 200


def test_an_export_of_what_is_there_has_nothing_to_import(as_ana, press):
    data = as_ana.get(reverse("library-csv")).content
    response = sent(as_ana, data)
    assert "There is nothing to import" in response.text and 'value="all"' not in response.text
    assert "As they are" in as_ana.get(preview(), {"show": "unchanged"}).text


@pytest.mark.parametrize(
    "data, sentence",
    [
        (b"PK\x03\x04", "This is a workbook"),
        (b"\x00\x01\x02", "This is not a text file"),
        (b"fruit,colour\nplum,blue", "None of the first rows names the columns"),
        (b'{"format": "coachdesk-templates", "version": 1, "templates": [{}]}', "This file holds something else"),
        (b"[" * 50_000, "nests more than"),
    ],
)
def test_a_hostile_file_is_refused_beside_the_field(as_ana, data, sentence):
    response = sent(as_ana, data)
    assert response.status_code == 422 and sentence in unescape(response.text)
    assert 'id="id_file_error"' in response.text and not Upload.objects.exists()


def test_a_file_that_is_too_large_is_not_even_read(as_ana):
    response = sent(as_ana, b"a" * (MOST_BYTES + 1))
    assert response.status_code == 422 and "larger than 32 MB" in response.text


def test_no_file_is_asked_for(as_ana):
    response = as_ana.post(reverse("library-files"))
    assert response.status_code == 422 and 'id="id_file_error"' in response.text


def test_names_of_files_and_cells_are_never_markup(as_ana, press):
    response = sent(as_ana, MIXED.replace("Net pull", "<b>Net</b> pull"), name="<i>x</i>.csv")
    assert "<b>Net</b>" not in response.text and "&lt;b&gt;Net&lt;/b&gt; pull" in response.text
    assert "<i>x</i>" not in response.text


def test_a_colleague_and_a_stranger_see_nothing_of_it(as_ana, ana, as_cleo, press):
    sent(as_ana, MIXED)
    colleague = Browser()
    colleague.force_login(CoachFactory(practice=ana.practice))
    for browser in (as_cleo, colleague):
        assert browser.get(preview()).status_code == 404
        assert browser.post(preview(), {"take": "all"}).status_code == 404
    assert Upload.objects.count() == 1 and Exercise.objects.count() == 1


def test_one_file_a_coach_and_none_for_long(as_ana, ana, as_cleo, cleo):
    colleague = CoachFactory(practice=ana.practice)
    for coach, age in ((colleague, 2), (cleo, 2), (CoachFactory(practice=ana.practice), 0)):
        row = Upload.objects.create(practice=coach.practice, coach=coach, kind="library", name="a", content=b"a")
        Upload.objects.filter(pk=row.pk).update(created_at=timezone.now() - timedelta(days=age))
    sent(as_ana, MIXED)
    sent(as_ana, MIXED)
    assert Upload.objects.filter(coach=ana).count() == 1
    assert not Upload.objects.filter(coach=colleague).exists() and Upload.objects.filter(coach=cleo).exists()
    assert Upload.objects.count() == 3


def test_what_is_exported_is_the_practices_alone(as_cleo, press):
    ExerciseFactory(practice=press.practice, name="Net pull")
    for page in ("library-csv", "library-json", "templates-json"):
        answer = as_cleo.get(reverse(page))
        assert answer.status_code == 200 and "attachment" in answer["Content-Disposition"]
        assert b"Quay press" not in answer.content and b"Net pull" not in answer.content


def test_a_library_with_many_photos_comes_in_parts(as_ana, ana, press, monkeypatch):
    from tests.programs.exchange.test_exchange_library import photograph

    other = ExerciseFactory(practice=ana.practice, name="Net pull")
    for row in (press, other):
        photograph(row, b"x" * 3000)
    monkeypatch.setattr("programs.exchange.library.FILE_BYTES", 14_000)
    page = as_ana.get(reverse("library-files"))
    assert "part 1 of 2" in page.text and "part 2 of 2" in page.text
    names = []
    for part in ("1", "2"):
        entries = json.loads(as_ana.get(reverse("library-json"), {"part": part}).content)["exercises"]
        names += [(entry["name"], entry["photo"]["width"]) for entry in entries]
    assert names == [("Net pull", 640), ("Quay press", 640)]


@pytest.mark.parametrize("language, head, step", [("en", '"id","name"', '"2.5"'), ("de", '"id";"name"', '"2,5"')])
def test_numbers_are_written_as_the_coachs_spreadsheet_reads_them(as_ana, ana, press, language, head, step):
    ana.practice.language = language
    ana.practice.save()
    text = as_ana.get(reverse("library-csv")).content.decode("utf-8-sig")
    assert text.startswith(head) and step in text


def test_templates_go_out_and_come_in(as_ana, ana, week):
    data = as_ana.get(reverse("templates-json")).content
    one = as_ana.get(reverse("template-json", args=[week.public_id]))
    assert one.content == data and "quay-week-" in one["Content-Disposition"]
    document = json.loads(data)
    document["templates"][0]["days"][0]["slots"][0]["rest_s"] = 200
    document["templates"].append({**document["templates"][0], "id": "", "name": "Harbour week"})
    document["templates"].append({"name": "Nothing in it"})
    response = sent(as_ana, json.dumps(document), "templates-files", "templates.json")
    text = response.text
    assert "becomes version 2; blocks keep theirs" in text and "Full body, Chest, press: rest, seconds" in text
    assert "1 session · 1 day type · 1 slot" in text and "Day types: has to be filled in." in text
    response = as_ana.post(preview(), {"seen": seen_of(response), "take": "all"}, follow=True)
    assert response.redirect_chain == [(reverse("templates"), 302)]
    assert Outline.objects.filter(name="Quay week").count() == 2 and Outline.objects.get(name="Harbour week")
    as_ana.post(undo_address(response))
    assert Outline.objects.get() == week


def test_a_table_is_no_file_of_templates(as_ana):
    response = sent(as_ana, MIXED, "templates-files")
    assert response.status_code == 422 and "This JSON is broken" in response.text


def test_a_form_without_its_token_is_refused(ana, press):
    browser = Browser(enforce_csrf_checks=True)
    browser.force_login(ana)
    assert sent(browser, MIXED).status_code == 403
    page = browser.get(reverse("library-files"))
    token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page.text)[1]
    content = {"file": SimpleUploadedFile("a.csv", MIXED.encode()), "csrfmiddlewaretoken": token}
    assert browser.post(reverse("library-files"), content).status_code == 302
    response = browser.post(preview(), {"seen": "0", "take": "all"})
    assert response.status_code == 403 and Exercise.objects.count() == 1


@pytest.mark.parametrize("count", [1, 30])
def test_a_preview_costs_the_same_however_full(as_ana, ana, count, django_assert_num_queries):
    ExerciseFactory.create_batch(count, practice=ana.practice)
    data = as_ana.get(reverse("library-csv")).content.decode("utf-8-sig").replace('"120"', '"125"')
    sent(as_ana, data)
    # session, coach, practice, upload; exercises, regions, joints, texts, favourites
    with django_assert_num_queries(9):
        response = as_ana.get(preview())
    assert response.text.count("<del>120</del>") == min(count, 20)
