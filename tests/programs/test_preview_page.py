"""What a template comes to, in words and drawings."""

import re

import pytest
from django.template.loader import render_to_string

from programs.engine.vocabulary import AUDITED_GROUPS
from programs.models import Outline
from programs.preview_page import comes_to
from programs.seeding import seed_practice
from tests.factories import (
    ExerciseFactory,
    OutlineDayFactory,
    OutlineFactory,
    OutlineSlotFactory,
    SlotCandidateFactory,
)


@pytest.fixture
def slot(ana):
    """A press twice a week, for intermediates: chest alone, far too little of everything else."""
    outline = OutlineFactory(practice=ana.practice, serves=["intermediate"])
    row = OutlineSlotFactory(day=OutlineDayFactory(outline=outline), reps=[[6, 8]])
    SlotCandidateFactory(slot=row, exercise=ExerciseFactory(practice=ana.practice, name="Press"))
    return row


def shown(slot, **changes):
    outline = slot.day.outline
    for name, value in changes.items():
        setattr(outline, name, value)
    outline.save()
    return comes_to(Outline.objects.with_preview().get(pk=outline.pk))


def test_it_asks_the_database_nothing(slot, django_assert_num_queries):
    outline = Outline.objects.with_preview().get(pk=slot.day.outline_id)
    with django_assert_num_queries(0):
        render_to_string("programs/outlines/_preview.html", {"preview": comes_to(outline)})


def test_warnings_are_sentences_with_numbers_for_whom_it_serves(slot):
    preview = shown(slot)
    said = [caution.text for caution in preview.cautions]
    assert (
        "Chest: 6 sets a week; the range for an intermediate is 10–16. With the most sets its slots allow it is 8."
        in [text.replace("\xa0", " ") for text in said]
    )
    assert not any("a novice" in text for text in said)
    assert any("a novice" in caution.text for caution in preview.others)


def test_one_line_says_how_it_stands(slot):
    preview = shown(slot)
    assert preview.line == f"intermediate: {preview.levels[1].line}; {len(preview.cautions)} to look at"
    assert "under" in preview.line


def test_a_template_that_serves_nobody_yet_is_shown_for_everybody(slot):
    preview = shown(slot, serves=[])
    assert all(level.served for level in preview.levels) and not preview.others
    assert {"a novice" in caution.text for caution in preview.cautions} == {True, False}


def test_what_holds_for_some_is_said_once_with_their_names(slot):
    preview = shown(slot, serves=["novice", "intermediate"])
    missing = [caution for caution in preview.cautions if "vertical pull" in caution.text]
    assert len(missing) == 1 and missing[0].whose == ""
    texts = [caution.text for caution in preview.cautions]
    assert len(texts) == len(set(texts))


def test_all_candidates_hidden_is_told_by_the_slots_name(slot):
    candidate = slot.candidates.get()
    candidate.exercise.hidden_at = "2026-03-02T08:00Z"
    candidate.exercise.save()
    preview = shown(slot)
    assert any(slot.title in caution.text and "hidden" in caution.text for caution in preview.cautions)
    assert all(strip.counted == "0" for _group, strips in preview.groups for strip in strips)


def test_every_group_has_a_strip_an_experience_and_those_not_served_are_quieter(slot):
    preview = shown(slot)
    assert len(preview.groups) == len(AUDITED_GROUPS)
    assert all([strip.served for strip in strips] == [False, True, False] for _group, strips in preview.groups)
    html = render_to_string("programs/outlines/_preview.html", {"preview": preview})
    assert html.count('<tr class="aside">') == 2 * len(AUDITED_GROUPS)


def test_recovery_is_told_on_the_usual_days_or_the_cycles_own(slot):
    week = shown(slot)
    assert "Mon and Thu" in week.days_words and "71 h" in week.least_gap and "Monday" in week.week
    slot.sets = {**slot.sets, "intermediate": [4, 6]}
    slot.save()
    cycle = shown(slot, cycle_days=5, offsets=[0, 1])
    assert "1 and 2 of 5" in cycle.days_words and "23 h" in cycle.least_gap and "day 1" in cycle.week
    assert any("23 h for chest; 48 are wanted" in caution.text for caution in cycle.cautions)


@pytest.mark.parametrize("name", ["Full", "Front: press and squat", "A day type with as long a name as there is"])
def test_names_of_day_types_are_never_cut(slot, name):
    slot.day.name = name[:40]
    slot.day.save()
    week = shown(slot).week
    drawn = re.findall(r"<text[^>]*>([^<]+)</text>", week)
    assert name[:40] in drawn or f"{name[:40]} A" in drawn


def test_without_days_or_sessions_it_still_stands(slot):
    crowded = shown(slot, order=["full"] * 9)
    assert crowded.week == "" and "More sessions than days" in crowded.days_words
    empty = shown(slot, order=[])
    assert empty.week == "" and empty.days_words == "" and len(empty.sessions) == 1
    bare = comes_to(Outline.objects.with_preview().get(pk=OutlineFactory(practice=slot.day.outline.practice).pk))
    assert bare.sessions == [] and bare.body_words[0][0] == "Left alone"
    render_to_string("programs/outlines/_preview.html", {"preview": bare})


def test_an_order_that_names_a_day_that_is_gone_is_read_without_it(slot):
    preview = shown(slot, order=["full", "gone", "full"])
    assert [name for name, _minutes in preview.sessions] == ["Full body A", "Full body B"]


def test_what_is_trained_is_drawn_and_said(slot):
    preview = shown(slot)
    words = dict(preview.body_words)
    assert words["Aimed at"] == "mid chest" and words["Helped along"] == "front shoulder"
    assert "lats" in words["Left alone"] and "mid chest" in preview.body
    there = {kind.word: kind.there for kind in preview.kinds}
    assert there["horizontal push"] and not there["vertical pull"]


def test_every_seeded_template_is_told_without_unknown_words(ana):
    seed_practice(ana.practice)
    for outline in Outline.objects.with_preview():
        preview = comes_to(outline)
        html = render_to_string("programs/outlines/_preview.html", {"preview": preview})
        assert "Noted:" not in html and "outline." not in " ".join(caution.text for caution in preview.cautions)
