"""The library's pages: adding, editing, copying and hiding exercises, taking each back, and who may."""

import re
from html import unescape
from html.parser import HTMLParser

import pytest
from django.test import Client as Browser
from django.urls import reverse

from coachdesk.practice.models import JournalEntry
from programs.models import Exercise, ExerciseText
from programs.seeding import seed_practice
from tests.factories import ExerciseFactory, LimitFactory


@pytest.fixture
def hinge(ana):
    return ExerciseFactory(
        practice=ana.practice,
        name="Romanian deadlift",
        pattern="hinge",
        implement="barbell",
        skill="intermediate",
        load_entry="total",
        regions={"glute_max": 4, "hams": 2},
        joints={"lumbar_shear": 3, "grip": 1},
    )


def form_of(**changes):
    """What the editor posts for a plain exercise with one region."""
    data = {
        "name": "Split squat",
        "aliases": "lunge in place, static lunge",
        "pattern": "lunge",
        "limbs": "one",
        "role": "secondary",
        "skill": "basic",
        "implement": "dumbbell",
        "load_entry": "per_hand",
        "rep_unit": "reps",
        "bodyweight_fraction": "85",
        "load_step": "2,5",
        "rep_low": "8",
        "rep_high": "12",
        "rest_s": "90",
        "tempo": "20x0",
        "needs-TOTAL_FORMS": "2",
        "needs-INITIAL_FORMS": "0",
        "needs-0-first": "flat_bench",
        "needs-0-second": "box",
        "needs-1-first": "space_to_walk",
        "regions-TOTAL_FORMS": "2",
        "regions-INITIAL_FORMS": "0",
        "regions-0-region": "vasti",
        "regions-0-quarters": "4",
        "regions-1-region": "glute_max",
        "regions-1-quarters": "2",
        "regions-1-stretched": "on",
        "joints-TOTAL_FORMS": "1",
        "joints-INITIAL_FORMS": "0",
        "joints-0-joint": "knee_deep_flexion",
        "joints-0-severity": "2",
        "faults-TOTAL_FORMS": "1",
        "faults-INITIAL_FORMS": "0",
        "faults-0-fault": "Knee falls in",
        "faults-0-correction": "Push it out over the toes.",
        "words-set_up": "One foot in front.\n\n Weight in both hands. ",
        "words-execution": "Down, then up.",
        "words-reason": "One leg at a time.",
    }
    return {**data, **changes}


class Fields(HTMLParser):
    """What a browser would send of the page."""

    def __init__(self, html):
        super().__init__()
        self.data, self._select, self._area = {}, None, None
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        name = given.get("name")
        if tag == "input" and name and (given.get("type") != "checkbox" or "checked" in given):
            self.data[name] = given.get("value") or ("on" if given.get("type") == "checkbox" else "")
        elif tag == "select":
            self._select = name
            self.data[name] = ""
        elif tag == "option" and self._select and "selected" in given:
            self.data[self._select] = given["value"]
        elif tag == "textarea":
            self._area = name
            self.data[name] = ""

    def handle_endtag(self, tag):
        if tag in ("select", "textarea"):
            self._select = self._area = None

    def handle_data(self, data):
        if self._area:
            self.data[self._area] += data


def posted_of(response):
    """The values the editor's page would send as it stands."""
    fields = Fields(response.text).data
    texts = {name: value.removeprefix("\n") for name, value in fields.items()}
    return {name: value for name, value in texts.items() if name not in ("csrfmiddlewaretoken", "next", "q")}


def undo_address(response):
    return unescape(re.search(r'action="(/journal/[^"]+/undo/[^"]*)"', response.text)[1])


def test_adding_writes_everything_and_undo_takes_it_away(as_ana, ana):
    response = as_ana.post(reverse("exercise-new"), form_of(), follow=True)
    made = Exercise.objects.get(practice=ana.practice)
    assert response.redirect_chain[0][0] == reverse("exercise", args=[made.public_id])
    assert made.aliases == ["lunge in place", "static lunge"] and made.tempo == "20X0"
    assert str(made.bodyweight_fraction) == "0.85" and str(made.load_step) == "2.50"
    assert made.needs_one == [["flat_bench", "box"]] and made.needs_all == ["space_to_walk"]
    assert list(made.regions.values_list("region", "quarters", "stretched")) == [
        ("vasti", 4, False),
        ("glute_max", 2, True),
    ]
    assert made.texts.get().set_up == ["One foot in front.", "Weight in both hands."]
    assert made.texts.get().faults == [["Knee falls in", "Push it out over the toes."]]
    undone = as_ana.post(undo_address(response), follow=True)
    assert not Exercise.objects.exists()
    assert undone.redirect_chain[0][0] == reverse("library") and "Taken back." in undone.text
    as_ana.post(undo_address(undone))
    assert Exercise.objects.get().regions.count() == 2


def test_adding_can_not_be_undone_once_a_client_has_to_do_with_it(as_ana, ben):
    response = as_ana.post(reverse("exercise-new"), form_of(), follow=True)
    LimitFactory(client=ben, joint="", exercise=Exercise.objects.get())
    undone = as_ana.post(undo_address(response), follow=True)
    assert Exercise.objects.exists() and "can’t be taken back" in undone.text


@pytest.mark.parametrize(
    "changes, field, sentence",
    [
        ({"name": ""}, "id_name", "Fill this in."),
        ({"rep_high": "5"}, "id_rep_high", "The upper end is below the lower one."),
        ({"tempo": "fast"}, "id_tempo", "Four figures in seconds"),
        ({"load_entry": "band"}, "id_load_entry", "Bands are named"),
        ({"implement": "bodyweight", "load_entry": "stack"}, "id_load_entry", "With bodyweight alone"),
        ({"load_step": "two"}, "id_load_step", "Enter a number."),
        ({"regions-0-quarters": "2"}, "regions-rows", "Name at least one region for which a set counts whole."),
        ({"regions-1-region": "vasti"}, "regions-rows", "stands in two rows"),
        ({"faults-0-fault": ""}, "id_faults-0-fault", "Name the fault"),
        ({"joints-0-joint": "nose"}, "id_joints-0-joint", "Select a valid choice"),
    ],
)
def test_bad_input_is_told_beside_its_field_and_nothing_typed_is_lost(as_ana, changes, field, sentence):
    response = as_ana.post(reverse("exercise-new"), form_of(**changes))
    assert response.status_code == 422 and not Exercise.objects.exists()
    text = unescape(response.text)
    assert f'href="#{field}"' in text and f'id="{field}"' in text and text.count(sentence) >= 2
    sent = posted_of(response)
    kept = {name: value for name, value in form_of(**changes).items() if name != "joints-0-joint"}
    assert {name: sent.get(name, "") for name in kept} == kept


def test_a_name_is_given_once(as_ana, hinge, cleo):
    ExerciseFactory(practice=cleo.practice, name="Split squat")
    assert as_ana.post(reverse("exercise-new"), form_of()).status_code == 302
    assert as_ana.post(reverse("exercise-new"), form_of()).status_code == 422


def test_more_rows_keep_what_was_typed_and_judge_nothing(as_ana):
    response = as_ana.post(reverse("exercise-new"), form_of(name="", more="regions"))
    sent = posted_of(response)
    assert response.status_code == 200 and "error-summary" not in response.text
    assert sent["regions-TOTAL_FORMS"] == "5" and sent["regions-4-region"] == "" and sent["tempo"] == "20x0"
    assert not Exercise.objects.exists()


def test_saving_the_page_as_it_stands_changes_nothing(as_ana, ana):
    seed_practice(ana.practice)
    for key in ("machine-chest-press", "push-up", "barbell-romanian-deadlift", "dead-hang"):
        row = Exercise.objects.get(seed_key=key)
        address = reverse("exercise-edit", args=[row.public_id])
        response = as_ana.post(address, posted_of(as_ana.get(address)), follow=True)
        row.refresh_from_db()
        assert "is as it was" in response.text and row.edited_fields == []
    assert not JournalEntry.objects.exists()


def test_editing_remembers_the_fields_and_undo_puts_all_back(as_ana, ana):
    seed_practice(ana.practice)
    row = Exercise.objects.get(seed_key="machine-chest-press")
    before = list(row.regions.values_list("region", "quarters"))
    address = reverse("exercise-edit", args=[row.public_id])
    typed = posted_of(as_ana.get(address)) | {
        "rest_s": "75",
        "regions-1-region": "",
        "regions-2-quarters": "1",
        "joints-0-severity": "3",
        "words-reason": "Ours.",
    }
    response = as_ana.post(address, typed, follow=True)
    row.refresh_from_db()
    assert row.rest_s == 75 and row.edited_fields == ["joints", "regions", "rest_s", "texts"]
    assert row.regions.count() == len(before) - 1 and row.texts.get().reason == "Ours."
    as_ana.post(undo_address(response))
    row.refresh_from_db()
    assert row.rest_s == 120 and row.edited_fields == []
    assert sorted(row.regions.values_list("region", "quarters")) == sorted(before)
    assert row.texts.get().reason != "Ours."


def test_words_in_another_language_leave_the_first_alone(as_ana, hinge):
    ExerciseText.objects.create(exercise=hinge, language="en", reason="Loads the hip.")
    address = reverse("exercise-edit", args=[hinge.public_id]) + "?language=de"
    typed = posted_of(as_ana.get(address)) | {"words-name": "Kreuzheben", "words-reason": "Lädt die Hüfte."}
    assert typed["words-reason"] == "Lädt die Hüfte."
    as_ana.post(address, typed)
    assert dict(hinge.texts.values_list("language", "reason")) == {"en": "Loads the hip.", "de": "Lädt die Hüfte."}


def test_a_copy_is_the_practices_own_and_can_be_taken_back(as_ana, ana):
    seed_practice(ana.practice)
    row = Exercise.objects.get(seed_key="push-up")
    response = as_ana.post(reverse("exercise-copy", args=[row.public_id]), follow=True)
    copied = Exercise.objects.get(name="Push-up (copy)")
    assert response.redirect_chain[0][0] == reverse("exercise-edit", args=[copied.public_id])
    assert copied.seed_key == "" and copied.public_id != row.public_id
    assert list(copied.regions.values_list("region", "quarters")) == list(row.regions.values_list("region", "quarters"))
    assert copied.texts.get().set_up == row.texts.get().set_up
    assert row.aliases and copied.aliases == []
    as_ana.post(reverse("exercise-copy", args=[row.public_id]))
    assert Exercise.objects.filter(name="Push-up (copy 2)").exists()
    as_ana.post(undo_address(response))
    assert not Exercise.objects.filter(pk=copied.pk).exists()


def test_hiding_and_showing_can_be_undone(as_ana, hinge):
    address = reverse("exercise-hidden", args=[hinge.public_id])
    response = as_ana.post(address, {"hidden": "1"}, follow=True)
    assert "Hidden: not offered" in response.text
    as_ana.post(undo_address(response))
    hinge.refresh_from_db()
    assert hinge.hidden_at is None
    as_ana.post(address, {"hidden": "1"})
    as_ana.post(address, {"hidden": "1"})  # a second press of the same button is no second act
    assert list(JournalEntry.objects.filter(undoes=None).values_list("act", flat=True)) == ["exercise.hide"] * 2
    as_ana.post(address, {"hidden": "0"})
    hinge.refresh_from_db()
    assert hinge.hidden_at is None


# Who may


PAGES = ("exercise", "exercise-edit", "exercise-copy", "exercise-hidden")


@pytest.mark.parametrize("page", PAGES)
def test_a_stranger_finds_nothing(as_cleo, hinge, page):
    address = reverse(page, args=[hinge.public_id])
    method = as_cleo.post if page in ("exercise-copy", "exercise-hidden") else as_cleo.get
    assert method(address, {"hidden": "1"}).status_code == 404
    hinge.refresh_from_db()
    assert hinge.hidden_at is None and Exercise.objects.count() == 1


def test_a_stranger_can_not_save(as_cleo, hinge):
    assert as_cleo.post(reverse("exercise-edit", args=[hinge.public_id]), form_of()).status_code == 404
    hinge.refresh_from_db()
    assert hinge.name == "Romanian deadlift"


def test_a_stranger_can_not_undo(as_ana, as_cleo, hinge):
    response = as_ana.post(reverse("exercise-hidden", args=[hinge.public_id]), {"hidden": "1"}, follow=True)
    assert as_cleo.post(undo_address(response)).status_code == 404
    hinge.refresh_from_db()
    assert hinge.hidden_at is not None


@pytest.mark.parametrize("page", ["library", "exercise-new", *PAGES])
def test_nobody_reads_without_signing_in(client, hinge, page):
    args = [hinge.public_id] if page in PAGES else []
    response = client.get(reverse(page, args=args))
    assert response.status_code == 302 and response.url.startswith(reverse("sign-in"))


@pytest.mark.parametrize("page", ["exercise-copy", "exercise-hidden"])
def test_reading_changes_nothing(as_ana, hinge, page):
    assert as_ana.get(reverse(page, args=[hinge.public_id])).status_code == 405


def test_writing_to_a_page_that_is_only_read(as_ana, hinge):
    assert as_ana.post(reverse("library")).status_code == 405
    assert as_ana.post(reverse("exercise", args=[hinge.public_id])).status_code == 405


def test_a_form_without_its_token_is_refused(ana, hinge):
    browser = Browser(enforce_csrf_checks=True)
    browser.force_login(ana)
    assert browser.post(reverse("exercise-copy", args=[hinge.public_id])).status_code == 403
    page = browser.get(reverse("exercise", args=[hinge.public_id]))
    token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page.text)[1]
    sent = browser.post(reverse("exercise-copy", args=[hinge.public_id]), {"csrfmiddlewaretoken": token})
    assert sent.status_code == 302


def test_undo_goes_nowhere_else(as_ana, hinge):
    response = as_ana.post(reverse("exercise-hidden", args=[hinge.public_id]), {"hidden": "1"}, follow=True)
    address = undo_address(response).split("?")[0] + "?next=https://elsewhere.example/"
    assert as_ana.post(address).url.startswith("/")
