"""The template editor's pages: by plain forms, by parts, refused, stale, and its cost."""

import re
from html import unescape

import pytest
from django.urls import reverse

from programs.models import Outline, OutlineLine, OutlineSlot, SlotCandidate
from programs.outline_acts import ACTS
from programs.seeding import seed_practice
from programs.services import outline_days, outline_slots
from programs.services.outline_work import open_copy, start_outline
from tests.factories import (
    ExerciseFactory,
    OutlineDayFactory,
    OutlineFactory,
    OutlineSlotFactory,
    SlotCandidateFactory,
)

HTMX = {"headers": {"HX-Request": "true"}}
SLOT_FORM = {
    "title": "Chest, press",
    "region": "pec_stern",
    "role": "main",
    "also_0": "pec_clav",
    "pattern_0": "horizontal_push",
    "sets_novice": "2",
    "sets_intermediate": "3-4",
    "sets_advanced": "3 to 5",
    "reps_0": "6–8",
    "reps_1": "10-12",
    "rir": "1,5",
    "rest_s": "2:15",
    "tempo": "3-1-x-0",
    "technique": "Pause on the chest.",
    "priority": "1",
    "reason": "It comes first.",
}


@pytest.fixture
def work(ana):
    """The working copy of a template: one day type twice a week with a press, a row and a curl."""
    outline = OutlineFactory(practice=ana.practice, name="Two days")
    day = OutlineDayFactory(outline=outline)
    press = OutlineSlotFactory(day=day, key="press", title="Chest, press", position=0)
    OutlineSlotFactory(day=day, key="row", title="Back, row", region="lat", role="secondary", position=1)
    OutlineSlotFactory(day=day, key="curl", title="Curl", region="biceps", role="isolation", position=2)
    for rank, name in enumerate(("Bench press", "Dip")):
        SlotCandidateFactory(slot=press, exercise=ExerciseFactory(practice=ana.practice, name=name), rank=rank)
    OutlineLine.objects.create(day=day, text="Hips and ankles.", minutes=4)
    return open_copy(outline, ana)


def page(work):
    return reverse("template-editor", args=[work.public_id])


def do(browser, work, act, *, revision=None, htmx=False, follow=False, **typed):
    """Presses a button of the page: its act with the revision that is on screen."""
    now = Outline.objects.get(pk=work.pk).revision if revision is None else revision
    data = {"do": act, "revision": now, **typed}
    more = HTMX if htmx else {}
    return browser.post(reverse("template-change", args=[work.public_id]), data, follow=follow, **more)


def slot(work, key):
    return OutlineSlot.objects.get(day__outline=work, key=key)


def order(work):
    return list(OutlineSlot.objects.filter(day__outline=work).values_list("key", flat=True))


def parts(response):
    """The ids of what an answer puts in the place of what the page has."""
    return re.findall(r'id="([\w-]+)"[^>]*hx-swap-oob="true"', response.text)


def undo_address(response):
    return unescape(re.search(r'action="(/journal/[^"]+/undo/[^"]*)"', response.text)[1])


def test_a_new_template_starts_in_work_and_is_offered_to_nobody(as_ana, ana):
    typed = {"name": "Four days", "days": 4, "serves": ["novice", "advanced"]}
    response = as_ana.post(reverse("template-new"), typed, follow=True)
    row = Outline.objects.get()
    assert response.redirect_chain[0][0] == page(row)
    assert row.in_work and row.order == ["upper", "lower", "upper", "lower"] and row.serves == ["novice", "advanced"]
    text = as_ana.get(reverse("templates")).text
    assert "In work" in text and page(row) in text and 'href="/templates/' + str(row.public_id) + '/"' not in text
    as_ana.post(undo_address(response))
    assert not Outline.objects.exists()


def test_what_a_new_template_lacks_is_told_beside_its_field(as_ana):
    response = as_ana.post(reverse("template-new"), {"name": "Kept", "days": 9})
    assert response.status_code == 422 and 'value="Kept"' in response.text and 'href="#id_days"' in response.text
    assert not Outline.objects.exists()


def test_working_on_a_template_opens_its_copy(as_ana, ana):
    seed_practice(ana.practice)
    row = Outline.objects.get(seed_key="full-body-three-days")
    shown = as_ana.get(reverse("template", args=[row.public_id])).text
    assert reverse("template-open", args=[row.public_id]) in shown
    first = as_ana.post(reverse("template-open", args=[row.public_id]))
    again = as_ana.post(reverse("template-open", args=[row.public_id]))
    copied = Outline.objects.get(draft_of=row)
    assert first.url == again.url == page(copied)
    text = as_ana.get(page(copied)).text
    assert f"Save as version {row.version + 1}" in text and "Blocks keep the version they came from" in text
    for address in ("template", "template-edit"):
        assert as_ana.get(reverse(address, args=[copied.public_id])).url == page(copied)


def test_the_page_shows_every_slot_with_its_lists_and_what_it_comes_to(as_ana, work):
    text = unescape(as_ana.get(page(work)).text)
    assert text.count('class="slot-item') == 3 and "Bench press" in text and "1 more" in text
    assert "as on A" in text and "any that fits" in text and "Hips and ankles." in text
    assert "Weekly sets by group" in text and "slot-open" not in text
    opened = unescape(as_ana.get(page(work), {"slot": "press"}).text)
    assert 'value="6–8"' in opened and 'value="2:30"' in opened and "Candidates on B" in opened


def test_a_slot_is_changed_and_changed_back(as_ana, work):
    response = do(as_ana, work, "slot-change:press", follow=True, **SLOT_FORM)
    row = slot(work, "press")
    assert row.sets == {"novice": [2, 2], "intermediate": [3, 4], "advanced": [3, 5]}
    assert row.reps == [[6, 8], [10, 12]] and row.rest_s == 135 and str(row.rir) == "1.5" and row.tempo == "31X0"
    assert row.also_regions == ["pec_clav"] and row.patterns == ["horizontal_push"] and row.priority == 1
    assert response.redirect_chain[0][0] == f"{page(work)}?slot=press#slot-press"
    as_ana.post(undo_address(response))
    assert slot(work, "press").sets["advanced"] == [3, 5] and slot(work, "press").tempo == ""


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"sets_novice": "some"}, "Write a range"),
        ({"sets_advanced": "3–40"}, "Between 1 and 10"),
        ({"rest_s": "soon"}, "Write the rest as 2:30"),
        ({"rest_s": "99:00"}, "At most 15:00"),
        ({"tempo": "slow"}, "Not saved yet"),
        ({"title": ""}, "Not saved yet"),
        ({"rir": "7"}, "Not saved yet"),
    ],
)
@pytest.mark.parametrize("htmx", [False, True])
def test_what_is_wrong_is_told_and_nothing_typed_is_lost(as_ana, work, wrong, said, htmx):
    response = do(as_ana, work, "slot-change:press", htmx=htmx, **{**SLOT_FORM, **wrong})
    text = unescape(response.text)
    assert response.status_code == 422 and said in text and "Pause on the chest." in text
    assert slot(work, "press").technique == "" and Outline.objects.get(pk=work.pk).revision == 1
    if htmx:
        assert set(parts(response)) == {"status", "notices", "dose-line", "slot-press"}


def test_slots_are_added_moved_copied_and_removed(as_ana, work):
    do(as_ana, work, "slot-add:full", region="hams", role="main", title="")
    added = slot(work, "full-hamstrings")
    assert added.title == "Hamstrings" and added.rest_s == 180
    do(as_ana, work, "slot-up:row")
    assert order(work) == ["row", "press", "curl", "full-hamstrings"]
    do(as_ana, work, "slot-move:curl", to=0)
    assert order(work) == ["curl", "row", "press", "full-hamstrings"]
    do(as_ana, work, "slot-copy:press")
    assert order(work) == ["curl", "row", "press", "press-2", "full-hamstrings"]
    do(as_ana, work, "slot-remove:curl")
    assert order(work) == ["row", "press", "press-2", "full-hamstrings"]


def test_a_slot_goes_to_another_day_type(as_ana, work):
    do(as_ana, work, "day-add", name="Arms")
    do(as_ana, work, "slot-send:curl:arms")
    assert slot(work, "curl").day.key == "arms"
    do(as_ana, work, "slot-copy:row:arms")
    do(as_ana, work, "slot-move:row", into="arms", to=0)
    assert list(work.days.get(key="arms").slots.values_list("key", flat=True)) == ["row", "curl", "row-2"]


def test_day_types_and_sessions(as_ana, work):
    do(as_ana, work, "day-copy:full")
    do(as_ana, work, "day-name:full", name="Whole")
    do(as_ana, work, "session-down:0")
    do(as_ana, work, "day-up:full-body-copy")
    work.refresh_from_db()
    assert list(work.days.values_list("name", flat=True)) == ["Full body (copy)", "Whole"]
    assert work.order == ["full", "full", "full-body-copy"]
    do(as_ana, work, "session-move:2", to=0)
    do(as_ana, work, "session-remove:1")
    do(as_ana, work, "session-add:full")
    work.refresh_from_db()
    assert work.order == ["full-body-copy", "full", "full"]
    do(as_ana, work, "day-remove:full-body-copy")
    work.refresh_from_db()
    assert work.order == ["full", "full"] and work.days.count() == 1


def test_the_round_may_roll(as_ana, work):
    response = do(as_ana, work, "cycle", cycle_days="8", on="1, 9")
    assert response.status_code == 422 and "Days run from 1 to 8" in response.text and 'value="1, 9"' in response.text
    assert do(as_ana, work, "cycle", cycle_days="8", on="1").status_code == 422
    do(as_ana, work, "cycle", cycle_days="8", on="1, 4")
    work.refresh_from_db()
    assert (work.cycle_days, work.offsets) == (8, [0, 3])
    text = as_ana.get(page(work)).text
    assert "day 4" in text and "2 in 8 days" in text


def test_words_and_lines(as_ana, work):
    do(as_ana, work, "words", name="Ours", summary="For us.", serves=["advanced"])
    do(as_ana, work, "line-add:full", text="Walk.", minutes="5", at_start="0")
    pk = OutlineLine.objects.get(day__outline=work, text="Hips and ankles.").pk
    do(as_ana, work, f"line-change:{pk}", text="Ankles.", minutes="3", at_start="0")
    do(as_ana, work, f"line-down:{pk}")
    work.refresh_from_db()
    assert (work.name, work.serves) == ("Ours", ["advanced"])
    lines = OutlineLine.objects.filter(day__outline=work).values_list("text", "minutes", "at_start")
    assert list(lines) == [("Walk.", 5, False), ("Ankles.", 3, False)]
    response = do(as_ana, work, "line-add:full", text="", minutes="5", at_start="1")
    assert response.status_code == 422 and OutlineLine.objects.filter(day__outline=work).count() == 2
    do(as_ana, work, f"line-remove:{pk}")
    assert OutlineLine.objects.filter(day__outline=work).count() == 1


def test_candidates_are_found_among_what_fits_and_ranked(as_ana, ana, work):
    fly = ExerciseFactory(practice=ana.practice, name="Cable fly", pattern="chest_fly", regions={"pec_stern": 4})
    ExerciseFactory(practice=ana.practice, name="Fly-by squat", regions={"vasti": 4})
    text = as_ana.get(page(work), {"slot": "press", "q": "fly"}).text
    button = f"candidate-add:press:1:{fly.public_id}"
    assert button in text and "Fly-by squat" not in text
    do(as_ana, work, button)
    names = lambda: list(  # noqa: E731
        SlotCandidate.objects.filter(slot__day__outline=work).values_list("occurrence", "exercise__name")
    )
    assert names() == [(0, "Bench press"), (0, "Dip"), (1, "Cable fly")]
    dip = SlotCandidate.objects.get(slot__day__outline=work, exercise__name="Dip").pk
    do(as_ana, work, f"candidate-up:{dip}")
    assert names()[:2] == [(0, "Dip"), (0, "Bench press")]
    do(as_ana, work, f"candidate-move:{dip}", to=1)
    do(as_ana, work, f"candidate-remove:{dip}")
    assert names() == [(0, "Bench press"), (1, "Cable fly")]
    assert do(as_ana, work, button, follow=True).status_code == 422


def test_a_bad_pair_is_refused_with_the_reason(as_ana, ana, work):
    OutlineSlot.objects.filter(day__outline=work, key="row").update(region="biceps")
    response = do(as_ana, work, "pair:row")
    assert response.status_code == 422 and "tire the same part" in response.text
    assert slot(work, "row").superset == ""
    do(as_ana, work, "pair:press")
    assert slot(work, "press").superset == slot(work, "row").superset == "A"
    assert "superset-start" in as_ana.get(page(work)).text
    do(as_ana, work, "release:row")
    assert slot(work, "press").superset == ""


def test_by_parts_only_what_was_touched_is_answered(as_ana, work):
    response = do(as_ana, work, "slot-change:press", htmx=True, open="press", **SLOT_FORM)
    assert set(parts(response)) == {"status", "notices", "dose-line", "row-press", "ranked-press", "found-press"}
    assert 'hx-swap-oob="innerHTML:#preview-place"' in response.text and "Pause on the chest." in response.text
    assert 'data-revision="2"' in response.text
    assert set(parts(do(as_ana, work, "slot-down:press", htmx=True))) == {"status", "notices", "dose-line", "band-full"}
    assert set(parts(do(as_ana, work, "session-remove:0", htmx=True))) == {
        "status",
        "notices",
        "dose-line",
        "week",
        "bands",
    }
    opened = as_ana.get(page(work), {"slot": "press", "was": "row"}, **HTMX)
    assert parts(opened) == ["slot-press", "slot-row"] and "slot-open" in opened.text
    assert parts(as_ana.get(page(work), {"slot": "press", "q": "dip"}, **HTMX)) == ["found-press"]


@pytest.mark.parametrize("htmx", [False, True])
def test_what_is_stale_is_refused_with_the_page_as_it_stands_and_what_was_typed(as_ana, ana, work, htmx):
    outline_days.rename_day(work, 1, ana, "full", "Whole body")
    response = do(as_ana, work, "slot-change:press", revision=1, htmx=htmx, **SLOT_FORM)
    text = unescape(response.text)
    assert response.status_code == 409 and "Somebody changed this template" in text
    assert "Whole body" in text and "Pause on the chest." in text
    assert re.search(r'name="revision"\s+value="2"', response.text)
    assert slot(work, "press").technique == ""
    for act in ("slot-up:row", "slot-remove:press", "pair:press", "undo", "save", "discard"):
        assert do(as_ana, work, act, revision=1, htmx=htmx).status_code == 409
    assert order(work) == ["press", "row", "curl"]


def test_stale_on_a_row_that_is_gone_shows_the_page(as_ana, ana, work):
    outline_slots.remove_slot(work, 1, ana, "press")
    response = do(as_ana, work, "slot-change:press", revision=1, **SLOT_FORM)
    assert response.status_code in (404, 409) and order(work) == ["row", "curl"]


def test_the_toast_takes_back_the_latest_change(as_ana, work):
    do(as_ana, work, "slot-remove:press", follow=True)
    response = do(as_ana, work, "slot-up:curl", follow=True)
    assert order(work) == ["curl", "row"]
    as_ana.post(undo_address(response))
    assert order(work) == ["row", "curl"]


def test_undo_and_redo_step_by_step(as_ana, work):
    do(as_ana, work, "slot-remove:press")
    do(as_ana, work, "slot-up:curl")
    do(as_ana, work, "undo")
    do(as_ana, work, "undo")
    assert order(work) == ["press", "row", "curl"]
    assert "There is nothing to take back." in do(as_ana, work, "undo", follow=True).text
    do(as_ana, work, "redo")
    assert order(work) == ["row", "curl"]


def test_the_version_to_come_follows_what_was_seeded_in_the_meantime(as_ana, ana, work):
    newer = OutlineFactory(practice=ana.practice, version=2)
    Outline.objects.filter(pk=work.draft_of_id).update(replaced_by=newer)
    assert "Save as version 3" in as_ana.get(page(work)).text
    do(as_ana, work, "save")
    assert Outline.objects.current().get().version == 3


def test_saving_makes_the_next_version_and_leaves_the_editor(as_ana, work):
    before = work.draft_of
    response = do(as_ana, work, "save", follow=True)
    assert response.redirect_chain[0][0] == reverse("template", args=[work.public_id])
    assert Outline.objects.current().get().version == 2
    assert as_ana.get(page(work)).url == reverse("template", args=[work.public_id])
    late = do(as_ana, work, "slot-up:row")
    assert late.url == reverse("template", args=[work.public_id])
    assert do(as_ana, work, "slot-up:row", htmx=True).headers["HX-Redirect"] == late.url
    assert as_ana.post(undo_address(response)).url == page(work)
    assert Outline.objects.current().get() == before


def test_what_it_comes_to_waits_for_the_first_slot(as_ana, ana):
    work, _entry = start_outline(ana, name="Empty", days=2, serves=["novice"])
    text = as_ana.get(page(work)).text
    assert "as soon as there is a slot" in text and "Weekly sets by group" not in text
    answer = do(as_ana, work, "slot-add:full", htmx=True, region="hams", role="main", title="")
    assert "Weekly sets by group" in answer.text


def test_what_a_version_lacks_is_listed_and_nothing_is_saved(as_ana, ana):
    work, _entry = start_outline(ana, name="Empty", days=2, serves=["novice"])
    response = do(as_ana, work, "save")
    assert response.status_code == 422 and "Full body has no slots yet" in response.text
    assert Outline.objects.get().in_work


def test_throwing_away_can_be_taken_back(as_ana, work):
    response = do(as_ana, work, "discard", follow=True)
    assert response.redirect_chain[0][0] == reverse("template", args=[work.draft_of.public_id])
    assert Outline.objects.count() == 1
    assert as_ana.post(undo_address(response)).url == page(work)
    assert as_ana.get(page(work)).status_code == 200 and order(work) == ["press", "row", "curl"]


@pytest.mark.parametrize("act", [*sorted(ACTS), "undo", "redo", "save", "discard"])
def test_a_stranger_finds_nothing(as_cleo, work, act):
    before = Outline.objects.get(pk=work.pk).revision
    assert do(as_cleo, work, f"{act}:press").status_code == 404
    assert Outline.objects.get(pk=work.pk).revision == before


@pytest.mark.parametrize("act", sorted(ACTS))
def test_no_act_breaks_on_a_row_that_is_not_there(as_ana, work, act):
    for row in ("nowhere", "999999", "", "press:nowhere", "press:0:nowhere"):
        assert do(as_ana, work, f"{act}:{row}").status_code in (302, 404, 422)


def test_an_exercise_of_another_practice_cannot_be_ranked(as_ana, cleo, work):
    theirs = ExerciseFactory(practice=cleo.practice)
    assert do(as_ana, work, f"candidate-add:press:0:{theirs.public_id}").status_code == 404


@pytest.mark.parametrize("slots", [2, 30])
def test_a_change_costs_the_same_however_full(as_ana, ana, slots, django_assert_num_queries):
    work, _entry = start_outline(ana, name="Full", days=2, serves=["novice"])
    day = work.days.get()
    rows = [OutlineSlotFactory(day=day, position=number) for number in range(slots)]
    for row in rows:
        SlotCandidateFactory(slot=row)
    as_ana.get(page(work))
    data = {"do": f"slot-up:{rows[1].key}", "revision": 1}
    # The copy as the page shows it, before and after, and what moving one slot reads and writes.
    with django_assert_num_queries(38):
        assert as_ana.post(reverse("template-change", args=[work.public_id]), data, **HTMX).status_code == 200


@pytest.mark.parametrize("slots", [1, 30])
def test_the_page_costs_the_same_however_full(as_ana, ana, slots, django_assert_num_queries):
    work, _entry = start_outline(ana, name="Full", days=2, serves=["novice"])
    for _ in range(slots):
        SlotCandidateFactory(slot=OutlineSlotFactory(day=work.days.get()))
    key = OutlineSlot.objects.filter(day__outline=work).first().key
    # http session, coach, template with practice, days, lines, slots, candidates, exercises, regions, joints, steps,
    # what fits the slot that is open
    with django_assert_num_queries(12):
        response = as_ana.get(page(work), {"slot": key})
    assert response.text.count('class="slot-item') == slots
