"""Slots of one client's week: pairs, places, what is added and removed, and that assigning writes what is shown."""

import re

import pytest
from django.urls import reverse

from clients.models import Draft
from clients.reads.composing import draft_inputs, picks_of
from clients.reads.differences import differences
from clients.reads.library import library_of
from clients.services import draft_slots, drafts
from clients.services.blocks import assign_block
from programs.engine.compose import assess
from programs.engine.compose.evaluate import superset_clash
from programs.engine.compose.pairing import pair_clash
from programs.models import Exercise, OutlineSlot
from programs.reasons import sentence_of
from programs.seeding import seed_practice
from tests.clients.weeks import draft_for, pick, small_week

pytestmark = pytest.mark.django_db
CALF = {"title": "Calves", "region": "gastroc", "role": "isolation", "sets": [2, 3], "reps": [10, 15]}
CALF |= {"rir": 1, "rest_s": 75, "priority": 3}
MORE_PRESS = {**CALF, "title": "Press again", "region": "pec_stern", "role": "secondary"}
HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def week(ana, ben):
    """Nothing in it is a main lift, which takes turns with no other."""
    found = small_week(ben)
    Exercise.objects.update(role="secondary")
    OutlineSlot.objects.update(role="secondary")
    return found


@pytest.fixture
def draft(ana, ben, week):
    return draft_for(ben, ana, week)[0]


def slots(draft):
    return draft_inputs(draft).request.day_types[0].slots


def letters(draft):
    return {slot.key: slot.superset for slot in slots(draft)}


def minutes(draft):
    inputs = draft_inputs(draft)
    return [entry.minutes for entry in assess(inputs.request, picks_of(draft.document, inputs.merged)).minutes]


def said(before, draft):
    inputs = draft_inputs(draft)
    return [sentence_of(why, inputs.names()) for why in differences(before, draft.document, inputs)]


# In turns


def test_pairing_takes_turns_saves_minutes_and_is_told(ana, draft):
    before, longer = draft.document, minutes(draft)
    draft_slots.pair(draft, 1, ana, "press")
    assert letters(draft) == {"press": "A", "row": "A", "squat": ""}
    assert all(now < then for now, then in zip(minutes(draft), longer, strict=True))
    assert draft.document["picks"] == before["picks"]
    assert said(before, draft) == ["Full body: Press and Row in turns."]
    assert drafts.undo(draft, ana) and letters(draft)["press"] == ""
    assert minutes(draft) == longer


def test_pairing_upwards_is_the_same_pair(ana, draft):
    draft_slots.pair(draft, 1, ana, "row", above=True)
    assert letters(draft) == {"press": "A", "row": "A", "squat": ""}
    with pytest.raises(drafts.NotPossible) as refused:
        draft_slots.pair(draft, 2, ana, "press", above=True)
    assert [why.code for why in refused.value.reasons] == ["pair.nothing_there"]


def test_a_pair_that_tires_the_same_part_is_refused_in_plain_words(ana, ben, draft):
    draft_slots.add(draft, 1, ana, "full", MORE_PRESS)
    draft_slots.place(draft, 2, ana, "full-press-again", 1)
    with pytest.raises(drafts.NotPossible) as refused:
        draft_slots.pair(draft, 3, ana, "press")
    why = refused.value.reasons[0]
    assert why.code == "pair.same_region" and why.params["region"] == "pec_stern"
    words = sentence_of(why, draft_inputs(draft).names())
    assert words.startswith("Full body A: press ") and "both work the mid chest" in words
    assert Draft.objects.get(pk=draft.pk).revision == 3


def test_the_second_occurrence_counts_as_much_as_the_first(ana, draft, week):
    strained = week.exercises["row 0"], week.exercises["row 1"], week.exercises["row 2"], week.exercises["row 3"]
    held = {pick(draft, "row", 1)["exercise"]}
    for row in strained:
        if row.key in held:
            row.joints.create(joint="lumbar_shear", severity=1)
    squat = next(row for row in week.exercises.values() if row.key == pick(draft, "squat", 1)["exercise"])
    squat.joints.create(joint="lumbar_compression", severity=2)
    with pytest.raises(drafts.NotPossible) as refused:
        draft_slots.pair(draft, 1, ana, "row")
    assert (refused.value.reasons[0].code, refused.value.reasons[0].params["occurrence"]) == ("pair.low_back", 1)


def test_turns_come_round_so_the_ends_of_a_longer_superset_meet_too(ana, draft):
    draft_slots.add(draft, 1, ana, "full", MORE_PRESS)
    draft_slots.place(draft, 2, ana, "full-press-again", 2)
    draft_slots.pair(draft, 3, ana, "press")
    with pytest.raises(drafts.NotPossible) as refused:
        draft_slots.pair(draft, 4, ana, "row")
    assert refused.value.reasons[0].code == "pair.same_region"


def test_a_third_joins_the_same_superset_and_leaves_it_again(ana, draft):
    draft_slots.pair(draft, 1, ana, "press")
    draft_slots.pair(draft, 2, ana, "row")
    assert set(letters(draft).values()) == {"A"}
    draft_slots.release(draft, 3, ana, "press")
    assert letters(draft) == {"press": "", "row": "A", "squat": "A"}
    draft_slots.release(draft, 4, ana, "squat")
    assert set(letters(draft).values()) == {""}
    draft_slots.release(draft, 5, ana, "squat")
    assert draft.revision == 5


def test_a_superset_of_the_template_can_be_released_for_this_client(ana, ben, week):
    OutlineSlot.objects.filter(key__in=("press", "row")).update(superset="A")
    draft, _week = draft_for(ben, ana, week)
    assert letters(draft)["press"] == "A"
    before = draft.document
    draft_slots.release(draft, 1, ana, "press")
    assert set(letters(draft).values()) == {""}
    assert said(before, draft) == ["Full body: Press is done by itself.", "Full body: Row is done by itself."]


def test_a_parted_superset_is_none_until_its_slots_meet_again(ana, draft):
    draft_slots.pair(draft, 1, ana, "press")
    draft_slots.place(draft, 2, ana, "press", 2)
    assert draft.document["order"]["full"] == ["row", "squat", "press"]
    assert set(letters(draft).values()) == {""}
    draft_slots.place(draft, 3, ana, "press", 1)
    assert letters(draft)["row"] == letters(draft)["press"] == "A"


def test_a_slot_parted_from_its_superset_is_not_taken_into_a_new_one_unasked(ana, ben, week):
    OutlineSlot.objects.filter(key__in=("press", "row")).update(superset="A")
    draft, _week = draft_for(ben, ana, week)
    draft_slots.place(draft, 1, ana, "squat", 1)
    draft_slots.pair(draft, 2, ana, "squat")
    assert letters(draft) == {"press": "", "squat": "A", "row": "A"}
    draft_slots.release(draft, 3, ana, "squat")
    draft_slots.pair(draft, 4, ana, "press")
    assert bool(letters(draft)["press"]) and letters(draft)["row"] == ""


def test_the_reason_and_the_rule_agree_on_every_pair_of_the_library(ana):
    seed_practice(ana.practice)
    library = list(library_of(ana.practice).values())
    codes = set()
    for one in library:
        for other in library:
            why = pair_clash(one, other)
            assert (why is not None) == superset_clash(one, other)
            codes.add(why.code if why else "")
    assert codes == {"", "pair.two_mains", "pair.same_region", "pair.low_back", "pair.grip"}


# Added and removed


def test_an_added_slot_is_filled_on_every_occurrence_and_others_stay(ana, draft):
    before = draft.document
    key = draft_slots.add(draft, 1, ana, "full", MORE_PRESS)
    assert key == "full-press-again" and draft.document["order"]["full"] == ["press", "row", "squat", key]
    assert pick(draft, key, 0)["exercise"] != pick(draft, key, 1)["exercise"]
    same = [
        row for row in before["picks"] if row["exercise"] == pick(draft, row["slot"], row["occurrence"])["exercise"]
    ]
    assert len(same) >= len(before["picks"]) - 2
    assert said(before, draft)[0] == "Full body: slot “Press again” added for this client."
    again = draft_slots.add(draft, 2, ana, "full", MORE_PRESS)
    assert again == f"{key}-2"
    assert OutlineSlot.objects.count() == 3


def test_a_removed_slot_comes_back_as_it_was(ana, draft):
    drafts.set_sets(draft, 1, ana, "row", 0, 5)
    before = draft.document
    draft_slots.remove(draft, 2, ana, "row")
    assert [slot.key for slot in slots(draft)] == ["press", "squat"] == draft.document["order"]["full"]
    assert not [row for row in draft.document["picks"] if row["slot"] == "row"]
    assert said(before, draft)[0] == "Full body: slot “Row” removed for this client."
    away = draft.document
    draft_slots.put_back(draft, 3, ana, "row")
    assert draft.document["order"] == before["order"]
    assert pick(draft, "row", 0) == pick_in(before, "row", 0)
    assert said(away, draft)[0] == "Full body: slot “Row” is back."
    draft_slots.put_back(draft, 4, ana, "row")
    assert draft.revision == 4


def test_without_the_solver_slots_come_and_go_and_nothing_else_moves(ana, draft, monkeypatch):
    monkeypatch.setattr("programs.engine.compose.solver.available", lambda: False)

    def others(moved):
        return {
            (row["slot"], row["occurrence"]): row["exercise"] for row in draft.document["picks"] if row["slot"] != moved
        }

    before = others("")
    key = draft_slots.add(draft, 1, ana, "full", MORE_PRESS)
    assert [row["occurrence"] for row in draft.document["picks"] if row["slot"] == key] == [0, 1]
    assert others(key) == before
    draft_slots.remove(draft, 2, ana, key)
    assert others("") == before
    draft_slots.put_back(draft, 3, ana, key)
    assert [row["occurrence"] for row in draft.document["picks"] if row["slot"] == key] == [0, 1]
    assert others(key) == before


def pick_in(document, slot, occurrence):
    return next(row for row in document["picks"] if (row["slot"], row["occurrence"]) == (slot, occurrence))


def test_the_last_slot_of_a_day_type_stays(ana, draft):
    draft_slots.remove(draft, 1, ana, "row")
    draft_slots.remove(draft, 2, ana, "squat")
    with pytest.raises(drafts.NotPossible) as refused:
        draft_slots.remove(draft, 3, ana, "press")
    assert [why.code for why in refused.value.reasons] == ["slot.last_one"]


def test_composing_again_keeps_what_the_client_has_of_its_own(ana, draft):
    key = draft_slots.add(draft, 1, ana, "full", MORE_PRESS)
    draft_slots.remove(draft, 2, ana, "squat")
    draft_slots.pair(draft, 3, ana, "press")
    drafts.recompose(draft, 4, ana)
    assert letters(draft) == {"press": "A", "row": "A", key: ""}
    assert {row["slot"] for row in draft.document["picks"]} == {"press", "row", key}


@pytest.mark.parametrize("verb", ["pair", "release", "place", "add", "remove", "put_back"])
def test_every_verb_refuses_what_is_stale(ana, draft, verb):
    draft_slots.remove(draft, 1, ana, "squat")
    drafts.pin(Draft.objects.get(pk=draft.pk), 2, ana, "press", 0, pinned=True)
    acts = {
        "pair": lambda: draft_slots.pair(draft, 2, ana, "press"),
        "release": lambda: draft_slots.release(draft, 2, ana, "press"),
        "place": lambda: draft_slots.place(draft, 2, ana, "press", 1),
        "add": lambda: draft_slots.add(draft, 2, ana, "full", MORE_PRESS),
        "remove": lambda: draft_slots.remove(draft, 2, ana, "press"),
        "put_back": lambda: draft_slots.put_back(draft, 2, ana, "squat"),
    }
    before = Draft.objects.get(pk=draft.pk).document
    with pytest.raises(drafts.StaleDraft):
        acts[verb]()
    assert Draft.objects.get(pk=draft.pk).document == before


# Undo, redo, assigning


def sixty_edits(draft, ana):
    """Of every kind, each of which changes something."""
    for turn in range(10):
        draft_slots.place(draft, draft.revision, ana, "press", 2 if turn % 2 == 0 else 0)
        drafts.set_sets(draft, draft.revision, ana, "row", turn % 2, 4 + turn % 3)
        draft_slots.add(draft, draft.revision, ana, "full", {**MORE_PRESS, "title": f"Press {turn}"})
        key = f"full-press-{turn}"
        drafts.pin(draft, draft.revision, ana, "squat", turn % 2, pinned=not pick(draft, "squat", turn % 2)["pinned"])
        drafts.set_day(draft, draft.revision, ana, "full", 0, (turn + 1) % 7)
        draft_slots.remove(draft, draft.revision, ana, key)


def test_sixty_edits_are_undone_and_done_again(ana, draft):
    seen = [Draft.objects.get(pk=draft.pk).document]
    start = draft.revision
    sixty_edits(draft, ana)
    assert draft.revision == start + 60
    last = draft.document
    for _ in range(60):
        assert drafts.undo(draft, ana, draft.revision)
    assert not drafts.undo(draft, ana, draft.revision)
    assert draft.document == seen[0]
    for _ in range(60):
        assert drafts.redo(draft, ana, draft.revision)
    assert not drafts.redo(draft, ana, draft.revision)
    assert draft.document == last


def shown_rows(as_ana, draft):
    """What the board shows of every session: exercise, sets and superset, in order."""
    html = as_ana.get(reverse("draft", args=[draft.public_id])).content.decode()
    rows = re.findall(r'<tr(?: class="([^"]*)")?\s+data-day="full"\s+data-item="([^"]+)">(.*?)</tr>', html, re.S)
    found = {0: [], 1: []}
    for bracket, key, row in rows:
        for occurrence, cell in enumerate(re.findall(r'<td class="occurrence-cell.*?</td>', row, re.S)):
            name = re.search(r'data-place="[^"]*"[^>]*>([^<]*)<', cell).group(1).strip()
            sets = re.search(r'class="sets[^"]*">(\d+)<', cell)
            if sets:
                found[occurrence].append((key, name, int(sets.group(1)), bool(bracket)))
    return found


def test_assigning_writes_exactly_the_board(as_ana, ana, ben, draft):
    key = draft_slots.add(draft, 1, ana, "full", MORE_PRESS)
    draft_slots.place(draft, 2, ana, key, 0)
    draft_slots.remove(draft, 3, ana, "squat")
    draft_slots.pair(draft, 4, ana, "press")
    drafts.set_sets(draft, 5, ana, "row", 1, 5)
    shown = shown_rows(as_ana, draft)
    assert [row[0] for row in shown[0]] == [key, "press", "row"]
    block = assign_block(draft, draft.revision, ana)
    for session in block.sessions.filter(cycle=2):
        lines = session.prescriptions.exclude(exercise=None).order_by("position")
        written = [(line.slot_key, line.exercise.name, line.target_sets.count(), bool(line.superset)) for line in lines]
        assert written == shown[session.occurrence]
    assert block.document == draft.document


# The pages


def url(name, draft):
    return reverse(name, args=[draft.public_id])


def test_a_slot_is_added_from_the_board_with_what_is_usual(as_ana, draft):
    page = as_ana.get(url("draft", draft), {"add": "full"}).content.decode()
    assert 'id="add-slot"' in page
    asked = {"add": "full", "region": "pec_stern", "usual": ""}
    form = as_ana.get(url("draft-slot-form", draft), asked, **HTMX).content.decode()
    assert 'value="Mid chest"' in form
    response = as_ana.post(url("draft-slot-add", draft), {"revision": 1, "add": "full", "region": "pec_stern"})
    assert response.status_code == 302 and "open=full-mid-chest" in response["Location"]
    draft.refresh_from_db()
    added = draft.document["added_slots"][0]
    assert added["title"] == "Mid chest" and added["sets"][0] >= 1


def test_what_was_typed_stays_when_it_is_not_taken(as_ana, ana, draft):
    typed = {"revision": 1, "add": "full", "region": "pec_stern", "title": "More chest", "sets": "many", "reps": "8-12"}
    response = as_ana.post(url("draft-slot-add", draft), typed, **HTMX)
    body = response.content.decode()
    assert response.status_code == 422
    assert 'value="More chest"' in body and 'value="many"' in body and "Write a range" in body
    drafts.pin(draft, 1, ana, "press", 0, pinned=True)
    late = as_ana.post(url("draft-slot-add", draft), {**typed, "sets": "2-3"}, **HTMX)
    assert late.status_code == 409
    assert 'value="More chest"' in late.content.decode() and 'name="revision" value="2"' in late.content.decode()


def test_own_words_outlive_another_region(as_ana, draft):
    asked = {"add": "full", "region": "lat", "title": "Mine", "sets": "2–3", "usual": "Mid chest|main|2–3|8–12"}
    form = as_ana.get(url("draft-slot-form", draft), asked, **HTMX).content.decode()
    assert 'value="Mine"' in form


def test_pairs_are_bracketed_refusals_told_and_slots_removed_and_put_back(as_ana, ana, draft):
    opened = {"revision": 1, "slot": "press", "act": "below", "open": "press:0"}
    body = as_ana.post(url("draft-pair", draft), opened, **HTMX).content.decode()
    assert "superset-start" in body and "Out of the superset" in body and "Press and Row in turns" in body
    refused = as_ana.post(url("draft-pair", draft), {**opened, "revision": 2, "act": "above"}, **HTMX)
    assert refused.status_code == 422 and "There is no slot on that side" in refused.content.decode()
    body = as_ana.post(url("draft-slot-remove", draft), {"revision": 2, "slot": "squat"}, **HTMX).content.decode()
    assert "Put back: Squat" in body
    again = {"revision": 3, "removed": "squat"}
    body = as_ana.post(url("draft-slot-back", draft), again, **HTMX).content.decode()
    assert "Put back: Squat" not in body and "is back" in body
    assert as_ana.post(url("draft-slot-back", draft), {"revision": 4, "removed": "none"}).status_code == 404
    assert as_ana.post(url("draft-slot-remove", draft), {"revision": 4, "slot": "none"}).status_code == 404


def test_the_week_is_compared_with_the_last_block(as_ana, ana, ben, draft, week):
    drafts.set_sets(draft, 1, ana, "press", 0, 5)
    block = assign_block(draft, draft.revision, ana)
    newer, _week = draft_for(ben, ana, week)
    kept = pick(newer, "row", 0)
    plain = as_ana.get(url("draft", newer)).content.decode()
    assert f"Compare with block {block.number}" in plain and "second compared" not in plain
    held = pick(newer, "press", 0)["exercise"]
    other = next(row for row in week.exercises.values() if row.name.startswith("press") and row.key != held)
    drafts.swap(newer, newer.revision, ana, "press", 0, other.key)
    draft_slots.add(newer, newer.revision, ana, "full", MORE_PRESS)
    page = as_ana.get(url("draft", newer), {"compare": "1"}).content.decode()
    marked = r'data-place="([^"]+)"[^>]*>[^<]*(?:<span class="second">[^<]*</span>)?'
    marks = dict(re.findall(marked + r'<span class="second compared(?: other)?">([^<]*)<', page))
    was = pick_in(block.document, "row", 0)["exercise"]
    assert marks["row:0"] == ("kept" if kept["exercise"] == was else marks["row:0"])
    names = {row.key: row.name for row in week.exercises.values()}
    before = pick_in(block.document, "press", 0)["exercise"]
    assert marks["press:0"] == ("kept" if other.key == before else f"was {names[before]}")
    assert marks["full-press-again:0"] in ("new", "kept, from another slot")
    assert "Under each figure what it is more or less than in block" in page
