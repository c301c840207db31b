"""Templates: the list, one template with what it comes to, its copy and its words."""

import re
from html import unescape

import pytest
from django.urls import reverse

from programs.models import Outline, OutlineLine
from programs.preview import previews
from programs.seeding import seed_practice
from programs.services.outline_work import open_copy
from tests.factories import (
    ExerciseFactory,
    OutlineDayFactory,
    OutlineFactory,
    OutlineSlotFactory,
    SlotCandidateFactory,
)

WEEK = "upper-lower-four-days"


@pytest.fixture
def outline(ana):
    """One slot twice a week: A takes the press, B the dip, both counted wholly for the chest."""
    row = OutlineFactory(practice=ana.practice, name="Two days", summary="For whoever has two days.")
    slot = OutlineSlotFactory(day=OutlineDayFactory(outline=row), reps=[[6, 8], [10, 12]], reason="It comes first.")
    for occurrence, name in enumerate(("Press", "Dip")):
        exercise = ExerciseFactory(practice=ana.practice, name=name)
        SlotCandidateFactory(slot=slot, exercise=exercise, occurrence=occurrence)
    return row


def undo_address(response):
    return unescape(re.search(r'action="(/journal/[^"]+/undo/[^"]*)"', response.text)[1])


def shape(outline):
    """A template's week as plain values."""
    row = Outline.objects.with_week().get(pk=outline.pk)
    return [
        (
            day.key,
            day.name,
            [(line.text, line.minutes) for line in day.lines.all()],
            [
                (
                    (slot.key, slot.title, slot.sets, slot.reps, slot.rir, slot.superset, slot.reason),
                    [(each.occurrence, each.rank, each.exercise_id) for each in slot.candidates.all()],
                )
                for slot in day.slots.all()
            ],
        )
        for day in row.days.all()
    ]


def test_the_list_says_whom_each_serves_and_how_much_it_is(as_ana, outline, cleo):
    OutlineFactory(practice=cleo.practice, name="Somebody else’s")
    text = unescape(as_ana.get(reverse("templates")).text)
    assert "Two days" in text and "novice, intermediate" in text and "Somebody else’s" not in text
    assert "4–6" in text and "6–8" in text and "6–10" in text  # two sessions of 2–3, 3–4 and 3–5 sets


def test_replaced_and_archived_templates_are_not_offered(as_ana, ana, outline):
    newer = OutlineFactory(practice=ana.practice, name="Newer")
    Outline.objects.filter(pk=outline.pk).update(replaced_by=newer)
    OutlineFactory(practice=ana.practice, name="Put away", archived_at="2026-03-02T08:00Z")
    text = as_ana.get(reverse("templates")).text
    offered = text.partition("archived-outlines")[0]
    assert "Newer" in offered and "Two days" not in text and "Put away" not in offered and "Put away" in text


def test_no_templates_says_what_to_do(as_ana):
    assert "No templates here" in as_ana.get(reverse("templates")).text


def test_a_template_shows_its_slots_by_occurrence(as_ana, outline):
    text = as_ana.get(reverse("template", args=[outline.public_id])).text
    cells = re.findall(r'data-occurrence="(\w)">(.*?)</td>', text, re.S)
    assert [letter for letter, _cell in cells] == ["A", "B"]
    assert "6–8" in cells[0][1] and "Press" in cells[0][1] and "Dip" not in cells[0][1]
    assert "10–12" in cells[1][1] and "Dip" in cells[1][1]
    assert "It comes first." in text and "2:30" in text


def test_a_slot_says_what_it_is_for_and_how_it_is_done(as_ana, outline):
    slot = outline.days.get().slots.get()
    slot.also_regions, slot.tempo, slot.technique = ["pec_clav"], "3010", "Pause on the chest."
    slot.save()
    text = as_ana.get(reverse("template", args=[outline.public_id])).text
    assert "for mid chest or upper chest" in text and "3010" in text and "Pause on the chest." in text


def test_the_preview_counts_first_choices_at_the_middle_of_their_sets(ana, outline):
    row = Outline.objects.with_preview().get(pk=outline.pk)
    chest = {found.experience: found.audit.dose["chest"] for found in previews(row)}
    assert {name: found.dose.counted for name, found in chest.items()} == {
        "novice": 4,  # (2 + 3) // 2 sets, twice
        "intermediate": 6,
        "advanced": 8,
    }
    assert chest["advanced"].judged.verdict == "under"
    assert all(found.dose.sessions == 2 for found in chest.values())


def test_it_is_composed_on_request(as_ana, ana, outline):
    OutlineSlotFactory(day=outline.days.get(), key="bare", title="Lats, any", region="lat")
    ExerciseFactory(practice=ana.practice, name="Row", pattern="horizontal_pull", regions={"lat": 4})
    address = reverse("template", args=[outline.public_id])
    first, composed = (as_ana.get(address, query).text for query in ({}, {"composed": "1"}))
    assert "names no candidates" in first and "Lats, novice: 0 sets" in first
    assert "names no candidates" not in composed and "Lats, novice: 0 sets" not in composed
    assert "Composed for a client without limits" in composed


def test_more_sets_take_more_minutes(ana, outline):
    row = Outline.objects.with_preview().get(pk=outline.pk)
    taken = [found.audit.minutes[0].minutes for found in previews(row)]
    assert taken[0] < taken[1] < taken[2]


def test_a_hidden_candidate_gives_way_to_the_next(ana, outline):
    slot = outline.days.get().slots.get()
    first = slot.candidates.get(occurrence=0)
    second = ExerciseFactory(practice=ana.practice, regions={"lat": 4})
    SlotCandidateFactory(slot=slot, exercise=second, occurrence=0, rank=first.rank + 1)
    first.exercise.hidden_at = "2026-03-02T08:00Z"
    first.exercise.save()
    row = Outline.objects.with_preview().get(pk=outline.pk)
    novice = previews(row)[0].audit.dose
    assert novice["lats"].dose.counted == 2 and novice["chest"].dose.counted == 2


def test_the_page_shows_the_previews_own_figures(as_ana, ana):
    seed_practice(ana.practice)
    for outline in Outline.objects.with_preview():
        text = unescape(as_ana.get(reverse("template", args=[outline.public_id])).text)
        for found in previews(outline):
            counted = found.audit.dose["chest"].dose.counted
            assert f"Chest, {found.experience}: {counted:g} sets a week" in text
            shown = re.findall(r'<td class="number[^"]*">(?:<svg.*?</svg> <b>)?(\d+)<', text, re.S)
            assert {round(session.minutes) for session in found.audit.minutes} <= set(map(int, shown))


@pytest.mark.parametrize("rows", [1, 30])
def test_the_list_costs_the_same_however_long(as_ana, ana, rows, django_assert_num_queries):
    for _ in range(rows):
        OutlineSlotFactory(day=OutlineDayFactory(outline=OutlineFactory(practice=ana.practice)))
    # http session, coach, templates, days, slots, places, candidates, exercises, versions, blocks, drafts
    with django_assert_num_queries(11):
        response = as_ana.get(reverse("templates"))
    assert response.text.count('<th scope="row">') == rows


@pytest.mark.parametrize("rows", [1, 30])
def test_a_template_costs_the_same_however_full(as_ana, ana, rows, django_assert_num_queries):
    day = OutlineDayFactory(outline=OutlineFactory(practice=ana.practice))
    for _ in range(rows):
        SlotCandidateFactory(slot=OutlineSlotFactory(day=day))
    # session, coach, template, days, lines, slots, candidates, exercises, regions, joints; versions, blocks, drafts
    with django_assert_num_queries(13):
        response = as_ana.get(reverse("template", args=[day.outline.public_id]))
    assert response.text.count('class="slot"') == rows


def test_a_copy_has_the_same_week_and_belongs_to_the_practice_alone(as_ana, ana):
    seed_practice(ana.practice)
    row = Outline.objects.get(seed_key=WEEK)
    response = as_ana.post(reverse("template-copy", args=[row.public_id]), follow=True)
    copied = Outline.objects.get(name=f"{row.name} (copy)")
    assert response.redirect_chain[0][0] == reverse("template-edit", args=[copied.public_id])
    assert copied.seed_key == "" and copied.version == 1 and copied.order == row.order
    assert shape(copied) == shape(row)
    report = seed_practice(ana.practice)
    assert not report.made and not report.changed
    as_ana.post(undo_address(response))
    assert not Outline.objects.filter(pk=copied.pk).exists() and shape(row)


def test_editing_the_words_keeps_the_week_and_can_be_undone(as_ana, ana, outline):
    before = shape(outline)
    typed = {"name": "Two days, ours", "serves": ["advanced"], "summary": "Newer."}
    response = as_ana.post(reverse("template-edit", args=[outline.public_id]), typed, follow=True)
    outline.refresh_from_db()
    assert (outline.name, outline.serves, outline.summary) == ("Two days, ours", ["advanced"], "Newer.")
    assert outline.edited_fields == ["name", "serves", "summary"] and shape(outline) == before
    as_ana.post(undo_address(response))
    outline.refresh_from_db()
    assert outline.name == "Two days" and outline.edited_fields == []


def test_bad_words_are_told_and_nothing_typed_is_lost(as_ana, outline):
    response = as_ana.post(
        reverse("template-edit", args=[outline.public_id]), {"name": "", "serves": ["expert"], "summary": "Kept."}
    )
    outline.refresh_from_db()
    assert response.status_code == 422 and outline.name == "Two days"
    assert "Kept." in response.text and 'href="#id_name"' in response.text
    assert "<h1>Edit Two days</h1>" in response.text


def test_free_lines_stand_under_their_day(as_ana, outline):
    OutlineLine.objects.create(day=outline.days.get(), text="Walk easily.", minutes=5, at_start=False)
    text = as_ana.get(reverse("template", args=[outline.public_id])).text
    assert "Walk easily." in text and "at the end" in text


ACTS = ("template-copy", "template-archive", "template-restore")


@pytest.mark.parametrize("page", ["template", "template-edit", *ACTS])
def test_a_stranger_finds_nothing(as_cleo, outline, page):
    method = as_cleo.post if page in ACTS else as_cleo.get
    assert method(reverse(page, args=[outline.public_id])).status_code == 404
    assert Outline.objects.count() == 1


@pytest.mark.parametrize("page", ["templates", "template", "template-edit", *ACTS])
def test_nobody_reads_without_signing_in(client, outline, page):
    response = client.get(reverse(page, args=[outline.public_id] if page != "templates" else []))
    assert response.status_code == 302 and response.url.startswith(reverse("sign-in"))


def test_what_is_still_in_work_is_not_copied_exported_or_archived(as_ana, ana, outline):
    """It may lack what a template needs, and nobody is to be composed for with it."""
    copy = open_copy(outline, ana)
    for act in ACTS:
        assert as_ana.post(reverse(act, args=[copy.public_id])).status_code == 404
    assert as_ana.get(reverse("template-json", args=[copy.public_id])).status_code == 404
    assert list(Outline.objects.saved()) == list(Outline.objects.current()) == [outline]


def test_wrong_methods(as_ana, outline):
    for act in ACTS:
        assert as_ana.get(reverse(act, args=[outline.public_id])).status_code == 405
    assert as_ana.post(reverse("templates")).status_code == 405
    assert as_ana.post(reverse("template", args=[outline.public_id])).status_code == 405
