"""Templates put away and taken out again, their versions, and who trains by each."""

import re
from html import unescape

import pytest
from django.urls import reverse

from clients.models import Block
from programs.models import Outline
from programs.outline_uses import versions_of
from tests.factories import (
    BlockFactory,
    ClientFactory,
    DraftFactory,
    ExerciseFactory,
    OutlineDayFactory,
    OutlineFactory,
    OutlineSlotFactory,
    SlotCandidateFactory,
    StationFactory,
)


@pytest.fixture
def outline(ana):
    """Two days with dumbbells, for novices and intermediates."""
    row = OutlineFactory(practice=ana.practice, name="Two days")
    slot = OutlineSlotFactory(day=OutlineDayFactory(outline=row))
    SlotCandidateFactory(slot=slot, exercise=ExerciseFactory(practice=ana.practice, name="Press"))
    return row


def undo_address(response):
    return unescape(re.search(r'action="(/journal/[^"]+/undo/[^"]*)"', response.text)[1])


def offered(browser, **query):
    text = browser.get(reverse("templates"), query).text
    return set(re.findall(r'<th scope="row">.*?<a href="[^"]+">([^<]+)</a>', text, re.S))


def act(browser, name, outline):
    return browser.post(reverse(f"template-{name}", args=[outline.public_id]), follow=True)


def test_archiving_puts_it_below_and_undo_brings_it_back(as_ana, outline):
    response = act(as_ana, "archive", outline)
    outline.refresh_from_db()
    assert outline.archived_at is not None and offered(as_ana) == set()
    assert "1 archived" in response.text and "Two days archived." in response.text
    as_ana.post(undo_address(response))
    outline.refresh_from_db()
    assert outline.archived_at is None and offered(as_ana) == {"Two days"}


def test_restoring_offers_it_again_and_can_be_undone(as_ana, outline):
    act(as_ana, "archive", outline)
    response = act(as_ana, "restore", outline)
    assert offered(as_ana) == {"Two days"} and "offered again" in response.text
    as_ana.post(undo_address(response))
    assert offered(as_ana) == set()


def test_the_desk_offers_the_way_back_too(as_ana, ben, outline):
    act(as_ana, "archive", outline)
    act(as_ana, "restore", outline)
    text = as_ana.get(reverse("desk")).text
    assert "Archived the template Two days" in text and "Restored the template Two days" in text


@pytest.mark.parametrize("name", ["archive", "restore"])
def test_doing_it_twice_changes_nothing_more(as_ana, outline, name):
    act(as_ana, "archive", outline)
    if name == "restore":
        act(as_ana, "restore", outline)
    outline.refresh_from_db()
    before = outline.archived_at
    response = act(as_ana, name, outline)
    outline.refresh_from_db()
    assert outline.archived_at == before and "/undo/" not in response.text


@pytest.mark.parametrize("name", ["archive", "restore"])
def test_what_is_still_being_worked_on_is_not_on_the_shelf(as_ana, ana, name):
    working = OutlineFactory(practice=ana.practice, in_work=True)
    assert act(as_ana, name, working).status_code == 404


def test_a_template_in_use_can_be_archived_and_its_block_stays(as_ana, ben, outline):
    block = BlockFactory(client=ben, outline=outline)
    act(as_ana, "archive", outline)
    block.refresh_from_db()
    assert block.outline_id == outline.pk and block.state == Block.State.ACTIVE
    assert as_ana.get(reverse("client-block", args=[ben.public_id])).status_code == 200


def test_the_list_counts_clients_who_train_by_it(as_ana, ana, ben, outline):
    BlockFactory(client=ben, outline=outline)
    BlockFactory(client=ClientFactory(practice=ana.practice), outline=outline)
    BlockFactory(client=ben, outline=outline, state=Block.State.ENDED)
    assert "2 clients" in as_ana.get(reverse("templates")).text


def test_versions_are_listed_with_who_trains_by_each(as_ana, ana, ben, outline):
    newer = OutlineFactory(practice=ana.practice, name="Two days", version=2)
    newest = OutlineFactory(practice=ana.practice, name="Two days", version=3)
    Outline.objects.filter(pk=outline.pk).update(replaced_by=newer)
    Outline.objects.filter(pk=newer.pk).update(replaced_by=newest)
    OutlineFactory(practice=ana.practice, name="Two days", in_work=True, draft_of=newest, version=4)
    BlockFactory(client=ben, outline=outline)
    BlockFactory(client=ben, outline=newer, state=Block.State.ENDED)
    DraftFactory(client=ben, outline=newest)
    for shown in (outline, newer, newest):
        found = versions_of(Outline.objects.get(pk=shown.pk))
        assert [version.number for version in found] == [3, 2, 1]
        assert [version.shown for version in found] == [shown == newest, shown == newer, shown == outline]
        assert [version.newest for version in found] == [True, False, False]
        assert [trainee.name for trainee in found[2].use.running] == ["Ben Quay"]
        assert (found[1].use.ended, found[0].use.composing) == (1, 1)
    text = unescape(as_ana.get(reverse("template", args=[outline.public_id])).text)
    assert "1 of 3" in text and "Show version 3" in text and "1 ended block" in text and "1 draft open" in text
    assert reverse("template-archive", args=[outline.public_id]) not in text
    assert (
        reverse("template-archive", args=[newest.public_id])
        in as_ana.get(reverse("template", args=[newest.public_id])).text
    )


def test_the_list_counts_older_versions_apart(as_ana, ana, ben, outline):
    newer = OutlineFactory(practice=ana.practice, name="Two days", version=2)
    Outline.objects.filter(pk=outline.pk).update(replaced_by=newer)
    BlockFactory(client=ben, outline=outline)
    text = as_ana.get(reverse("templates")).text
    assert "1 on an older version" in text and "1 client" not in text


def test_another_practices_blocks_are_no_use_of_ours(ana, cleo, outline):
    BlockFactory(client=ClientFactory(practice=cleo.practice))
    assert not versions_of(outline)[0].use


def test_the_list_is_narrowed_by_days_and_experience(as_ana, ana, outline):
    OutlineFactory(practice=ana.practice, name="Four", order=["full"] * 4, serves=["advanced"])
    assert offered(as_ana, days="4") == {"Four"} and offered(as_ana, days="2") == {"Two days"}
    assert offered(as_ana, serves="advanced") == {"Four"} and offered(as_ana, serves="novice") == {"Two days"}
    assert offered(as_ana, days="7", serves="expert", place="nowhere") == {"Four", "Two days"}
    assert (
        "No template answers to all of this."
        in as_ana.get(reverse("templates"), {"days": "4", "serves": "novice"}).text
    )


def test_the_list_is_narrowed_by_what_a_place_has(as_ana, ana, outline):
    barbell = OutlineFactory(practice=ana.practice, name="Barbell")
    slot = OutlineSlotFactory(day=OutlineDayFactory(outline=barbell))
    lift = ExerciseFactory(practice=ana.practice, implement="barbell", needs_all=["squat_stand"], load_entry="total")
    SlotCandidateFactory(slot=slot, exercise=lift)
    SlotCandidateFactory(slot=slot, exercise=ExerciseFactory(practice=ana.practice), occurrence=1)
    place = StationFactory(place__practice=ana.practice, kind="barbell").place
    StationFactory(place=place, kind="squat_stand", loads={})
    key = str(place.public_id)
    assert offered(as_ana, place="home") == {"Two days"}
    assert offered(as_ana, place=key) == set()  # on B nothing but the dumbbells
    StationFactory(place=place)
    assert offered(as_ana, place=key) == {"Two days", "Barbell"}


def test_a_hidden_candidate_does_not_make_it_fit(as_ana, outline):
    candidate = outline.days.get().slots.get().candidates.get()
    candidate.exercise.hidden_at = "2026-03-02T08:00Z"
    candidate.exercise.save()
    assert offered(as_ana, place="home") == set()


@pytest.mark.parametrize("rows", [1, 30])
def test_versions_and_uses_cost_the_same_however_many(as_ana, ana, outline, rows, django_assert_num_queries):
    for _ in range(rows):
        BlockFactory(client=ClientFactory(practice=ana.practice), outline=outline)
        OutlineFactory(practice=ana.practice)
    with django_assert_num_queries(13):
        as_ana.get(reverse("template", args=[outline.public_id]))
    # session, coach, templates, days, slots, places, stations, candidates, exercises, versions, blocks, drafts
    with django_assert_num_queries(12):
        as_ana.get(reverse("templates"))
