"""The library's pages: finding and reading exercises."""

import re
import uuid
from html import unescape

import pytest
from django.urls import reverse

from programs import finding
from programs.engine.vocabulary import GROUPS
from programs.finding import lacking
from programs.models import Exercise, ExerciseText
from tests.factories import BarbellFactory, ExerciseFactory, PlaceFactory, StationFactory

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


def test_a_group_shows_its_greatest_share_first_and_may_be_narrowed_to_a_region(as_ana, ana, curl, hinge):
    ExerciseFactory(practice=ana.practice, name="Calf raise", regions={"soleus": 4, "gastroc": 2}, joints={})
    assert find(as_ana, group="calves") == ["Calf raise", "Seated leg curl"]
    assert find(as_ana, group="calves", region="hams") == ["Seated leg curl"]
    assert find(as_ana, group="hamstrings", region="glute_max") == ["Romanian deadlift"]
    assert find(as_ana, group="neck") == []


def test_words_rank_before_shares_and_shares_before_names(as_ana, ana, curl, hinge):
    ExerciseFactory(practice=ana.practice, name="Hamstring walk", regions={"hams": 1}, joints={})
    assert find(as_ana, q="hamstring") == ["Hamstring walk", "Seated leg curl", "Romanian deadlift"]
    assert find(as_ana, q="hams", region="hams") == ["Hamstring walk", "Seated leg curl", "Romanian deadlift"]


def test_a_forgiven_mistake_is_told(as_ana, curl, hinge):
    text = " ".join(as_ana.get(reverse("library"), {"q": "deadlfit"}).text.split())
    assert "Nothing is spelled “deadlfit”; showing “deadlift”." in text
    assert "Nothing is spelled" not in as_ana.get(reverse("library"), {"q": "deadlift"}).text
    text = as_ana.get(reverse("library"), {"q": "<b>deadlfit"}).text
    assert "<b>deadlfit" not in text


def test_mistakes_are_not_forgiven_where_only_a_filter_is_in_the_way(as_ana, curl, hinge):
    ExerciseFactory(practice=hinge.practice, name="Curls", pattern="elbow_flexion", joints={})
    assert find(as_ana, q="curl", pattern="hinge") == []


def test_the_body_is_a_filter_with_the_groups_in_words(as_ana, curl):
    text = as_ana.get(reverse("library"), {"group": "hamstrings"}).text
    ids = dict(re.findall(r'<input type="radio" name="group" value="(\w*)"[^>]* id="(\w+)"', text))
    assert set(ids) == {"", *GROUPS}
    for group in GROUPS:
        assert len(re.findall(rf'<label class="body-part part-{group}"\s+for="{ids[group]}"', text)) == 1
        assert len(re.findall(rf'for="{ids[group]}"', text)) == 3  # shapes, boxes, words
    assert re.findall(r'name="group" value="(\w*)"[^>]* checked', text) == ["hamstrings"]


def test_the_chosen_filters_stand_in_words_on_the_fold(as_ana, ana, curl):
    place = PlaceFactory(practice=ana.practice, name="Net Loft")
    asked = {
        "group": "chest",
        "region": "hams",
        "place": str(place.public_id),
        "spare": ["elbow", "grip"],
        "hidden": "on",
    }
    assert as_ana.get(reverse("library"), asked).context["filters_on"] == [
        "Chest",
        "hamstrings",
        "Net Loft",
        "spare elbow",
        "spare grip",
        "Hidden ones too",
    ]
    assert "none chosen" in as_ana.get(reverse("library"), {"q": "curl"}).text


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


def test_a_change_shows_in_the_list_at_once(as_ana, ana, hinge):
    place = PlaceFactory(practice=ana.practice, name="Sail loft")
    before = as_ana.get(reverse("library")).text
    assert "½ hamstrings" in before and "Sail loft" in before
    hinge.regions.filter(region="hams").update(quarters=1)
    hinge.joints.filter(joint="grip").update(joint="elbow")
    Exercise.objects.filter(pk=hinge.pk).update(name="Stiff-legged deadlift", rest_s=600)
    type(place).objects.filter(pk=place.pk).update(name="Quay hotel")
    after = as_ana.get(reverse("library"))
    assert names(after) == ["Stiff-legged deadlift"]
    assert "¼ hamstrings" in after.text and "½ hamstrings" not in after.text
    assert re.search(r'class="asks">.*elbow.*</td>', after.text, re.DOTALL)
    assert "Quay hotel" in after.text and "Sail loft" not in after.text
    minutes = [re.search(r'<td class="number">(\d+)</td>', text)[1] for text in (before, after.text)]
    assert int(minutes[0]) < int(minutes[1])


def test_the_chosen_filters_stay_chosen(as_ana, curl):
    text = as_ana.get(reverse("library"), {"region": "hams", "spare": ["grip"], "skill": "basic"}).text
    assert '<option value="hams" selected>' in text
    assert re.findall(r'value="(\w+)"[^>]* checked', text) == ["grip", "basic"]
    assert "chosen: hamstrings" in text
    plain = as_ana.get(reverse("library")).text
    assert '<option value="hams">' in plain and "chosen: hamstrings" not in plain


def test_long_lists_have_pages_that_keep_the_filters(as_ana, ana):
    ExerciseFactory.create_batch(55, practice=ana.practice)
    response = as_ana.get(reverse("library"), {"implement": "dumbbell"})
    assert len(names(response)) == 50
    assert "implement=dumbbell&amp;page=2" in response.text
    assert len(names(as_ana.get(reverse("library"), {"implement": "dumbbell", "page": "2"}))) == 5


@pytest.mark.parametrize("rows", [1, 30])
def test_the_list_costs_the_same_however_long(as_ana, ana, rows, django_assert_num_queries):
    for _ in range(rows):
        ExerciseFactory(practice=ana.practice, joints={"elbow": 1})
        StationFactory(place=PlaceFactory(practice=ana.practice))
    as_ana.get(reverse("library"))
    # http session, coach; places, their stations; clients; stamp; favourites; exercises, regions, joints
    with django_assert_num_queries(10):
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


def test_places_offer_what_a_bar_really_takes(as_ana, ana):
    """No more plates than a sleeve holds, and of a bar in an anchor the plates of one end."""
    loft = PlaceFactory(practice=ana.practice, name="Net Loft")
    bar = BarbellFactory(place=loft)
    bar.loads["plates"] = [{"weight": "2.5", "unit": "kg", "count": 100}]
    bar.save()
    StationFactory(place=loft, kind="bar_anchor")
    lifted = ExerciseFactory(practice=ana.practice, implement="barbell", load_entry="total")
    swung = ExerciseFactory(
        practice=ana.practice, implement="barbell", load_entry="added", needs_all=["bar_anchor"], needs_one=[]
    )
    assert "1 bar, 20 to 140\u00a0kg" in as_ana.get(reverse("exercise", args=[lifted.public_id])).text
    assert "0 to 60\u00a0kg" in as_ana.get(reverse("exercise", args=[swung.public_id])).text


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
    # http session, coach, exercise, regions, joints, texts, places, stations, exercises alike, whether a favourite
    with django_assert_num_queries(10):
        response = as_ana.get(reverse("exercise", args=[hinge.public_id]))
    assert response.text.count("1 bar, ") == rows
