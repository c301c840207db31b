"""The library's pages: finding, reading, adding, editing, copying and hiding exercises, and taking each back."""

import re
import uuid
from html import unescape
from html.parser import HTMLParser

import pytest
from django.test import Client as Browser
from django.urls import reverse

from coachdesk.practice.models import JournalEntry
from programs import finding
from programs.finding import lacking
from programs.models import Exercise, ExerciseText
from programs.seeding import seed_practice
from tests.factories import BarbellFactory, ExerciseFactory, LimitFactory, PlaceFactory, StationFactory

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def curl(ana):
    return ExerciseFactory(
        practice=ana.practice,
        name="Seated leg curl",
        aliases=["hamstring machine"],
        pattern="knee_flexion",
        implement="seated_leg_curl",
        skill="basic",
        regions={"hams": 4, "gastroc": 1},
        joints={},
    )


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


def names(response):
    return [
        unescape(name) for name in re.findall(r'<a href="/library/[0-9a-f-]{36}/">\s*([^<]+?)\s*</a>', response.text)
    ]


def find(browser, **asked):
    return names(browser.get(reverse("library"), asked))


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


# Finding


def test_the_library_lists_the_practices_exercises_and_no_others(as_ana, curl, hinge, cleo):
    ExerciseFactory(practice=cleo.practice, name="Somebody else’s")
    assert find(as_ana) == ["Romanian deadlift", "Seated leg curl"]


@pytest.mark.parametrize(
    "asked, found",
    [
        ({"q": "ham mach"}, ["Seated leg curl"]),
        ({"q": "DEADLIFT"}, ["Romanian deadlift"]),
        ({"q": "leg romanian"}, []),
        ({"pattern": "hinge"}, ["Romanian deadlift"]),
        ({"implement": "seated_leg_curl"}, ["Seated leg curl"]),
        ({"skill": "basic"}, ["Seated leg curl"]),
        ({"skill": "intermediate"}, ["Romanian deadlift", "Seated leg curl"]),
        ({"spare": ["grip"]}, ["Seated leg curl"]),
        ({"spare": ["elbow", "wrist_extension"]}, ["Romanian deadlift", "Seated leg curl"]),
        ({"region": "gastroc"}, ["Seated leg curl"]),
        ({"region": "no such", "pattern": "hinge"}, ["Romanian deadlift"]),
    ],
)
def test_filters_leave_what_fits(as_ana, curl, hinge, asked, found):
    assert find(as_ana, **asked) == found


def test_a_region_shows_the_greatest_share_first(as_ana, curl, hinge):
    assert find(as_ana, region="hams") == ["Seated leg curl", "Romanian deadlift"]


def test_a_place_leaves_what_can_be_done_there(as_ana, ana, curl, hinge):
    place = PlaceFactory(practice=ana.practice)
    BarbellFactory(place=place)
    assert find(as_ana, place=str(place.public_id)) == ["Romanian deadlift"]
    assert find(as_ana, place=str(uuid.uuid4())) == ["Romanian deadlift", "Seated leg curl"]


def test_another_practices_place_is_no_filter(as_ana, curl, cleo):
    place = PlaceFactory(practice=cleo.practice)
    assert find(as_ana, place=str(place.public_id)) == ["Seated leg curl"]
    assert place.name not in as_ana.get(reverse("library")).text


def test_words_are_found_without_case_and_accents(db):
    assert finding.answers("ubung", "Übung am Kabel")
    assert finding.answers("pull ups", "Pull-ups, wide")
    assert not finding.answers("pull downs", "Pull-ups, wide")
    assert finding.answers("", "anything")


def test_a_translated_name_is_found(as_ana, curl):
    ExerciseText.objects.create(exercise=curl, language="de", name="Beinbeuger")
    assert find(as_ana, q="beinb") == ["Seated leg curl"]


@pytest.mark.parametrize(
    "there, lacks",
    [
        ({"barbell", "box", "squat_stand"}, []),
        ({"barbell", "squat_stand"}, [("flat_bench", "box")]),
        ({"flat_bench", "box"}, [("barbell",), ("squat_stand",)]),
    ],
)
def test_what_a_place_lacks(there, lacks):
    exercise = Exercise(implement="barbell", needs_all=["squat_stand"], needs_one=[["flat_bench", "box"]])
    assert lacking(exercise, there) == lacks


def test_hidden_exercises_show_only_when_asked_for(as_ana, curl, hinge):
    as_ana.post(reverse("exercise-hidden", args=[curl.public_id]), {"hidden": "1"})
    assert find(as_ana) == ["Romanian deadlift"]
    assert find(as_ana, hidden="on") == ["Romanian deadlift", "Seated leg curl"]


def test_htmx_gets_the_table_alone_and_a_clean_address(as_ana, curl, hinge):
    response = as_ana.get(reverse("library"), {"q": "curl", "region": "", "skill": ""}, **HTMX)
    assert names(response) == ["Seated leg curl"]
    assert "<html" not in response.text and 'hx-swap-oob="innerHTML:#library-state"' in response.text
    assert response["HX-Push-Url"] == "/library/?q=curl"
    assert "HX-Request" in response["Vary"]


def test_going_back_in_the_browser_gets_the_whole_page(as_ana, curl):
    response = as_ana.get(reverse("library"), **HTMX, HTTP_HX_HISTORY_RESTORE_REQUEST="true")
    assert "<html" in response.text


def test_nothing_that_fits_says_what_to_do(as_ana, curl):
    assert "Take a filter away" in as_ana.get(reverse("library"), {"q": "swimming"}).text


def test_an_empty_library_offers_the_first_exercise(as_ana):
    response = as_ana.get(reverse("library"))
    assert "No exercises yet" in response.text and reverse("exercise-new") in response.text


def test_long_lists_have_pages_that_keep_the_filters(as_ana, ana):
    ExerciseFactory.create_batch(45, practice=ana.practice)
    response = as_ana.get(reverse("library"), {"implement": "dumbbell"})
    assert len(names(response)) == 40
    assert "implement=dumbbell&amp;page=2" in response.text
    assert len(names(as_ana.get(reverse("library"), {"implement": "dumbbell", "page": "2"}))) == 5


@pytest.mark.parametrize("rows", [1, 30])
def test_the_list_costs_the_same_however_long(as_ana, ana, rows, django_assert_num_queries):
    for _ in range(rows):
        ExerciseFactory(practice=ana.practice, joints={"elbow": 1})
        StationFactory(place=PlaceFactory(practice=ana.practice))
    # http session, coach; places, their stations; any at all, count, exercises, regions, joints
    with django_assert_num_queries(8):
        response = as_ana.get(reverse("library"))
    assert len(names(response)) == rows


# One exercise


def test_the_page_tells_what_is_known(as_ana, ana, hinge):
    ExerciseText.objects.create(
        exercise=hinge,
        language="en",
        set_up=["Bar on pins."],
        execution=["Push the hips back."],
        faults=[["Bar drifts", "Keep it close."]],
        reason="Loads the hip.",
        cautions="Spare it with a sore back.",
        evidence="coaching practice",
    )
    loft = PlaceFactory(practice=ana.practice, name="Net Loft")
    BarbellFactory(place=loft)
    hotel = PlaceFactory(practice=ana.practice, name="Quay hotel")
    StationFactory(place=hotel)
    text = as_ana.get(reverse("exercise", args=[hinge.public_id])).text
    for words in ("Bar on pins.", "Push the hips back.", "Keep it close.", "Loads the hip.", "Spare it", "2:00"):
        assert words in text
    assert "1 bar, 20 to 235\u00a0kg" in text and "no barbell" in text
    assert "a set counts whole for: buttocks" in text


def test_another_language_falls_back(as_ana, ana, hinge):
    ExerciseText.objects.create(exercise=hinge, language="de", set_up=["Stange auf Stifte."])
    assert "Stange auf Stifte." in as_ana.get(reverse("exercise", args=[hinge.public_id])).text
    ExerciseText.objects.create(exercise=hinge, language="en", set_up=["Bar on pins."])
    text = as_ana.get(reverse("exercise", args=[hinge.public_id])).text
    assert "Bar on pins." in text and "Stange" not in text


def test_an_exercise_without_words_says_what_to_do(as_ana, hinge):
    assert "No words yet" in as_ana.get(reverse("exercise", args=[hinge.public_id])).text


@pytest.mark.parametrize("rows", [1, 30])
def test_the_page_costs_the_same_however_many_places(as_ana, ana, hinge, rows, django_assert_num_queries):
    for _ in range(rows):
        BarbellFactory(place=PlaceFactory(practice=ana.practice))
    # http session, coach, exercise, regions, joints, texts, places, stations
    with django_assert_num_queries(8):
        response = as_ana.get(reverse("exercise", args=[hinge.public_id]))
    assert response.text.count("1 bar, ") == rows


# Adding and editing


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
        ({"name": ""}, "id_name", "This field is required."),
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
