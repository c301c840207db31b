"""Working on a template: its copy in work, every change with its undo, and the next version that it becomes."""

import pytest

from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.models import Outline, OutlineLine, OutlineSlot, SlotCandidate
from programs.reads import day_types_of
from programs.seeding import seed_practice
from programs.services import outline_days as days
from programs.services import outline_lists as lists
from programs.services import outline_slots as slots
from programs.services import outline_work as work
from programs.services.outlines import copy_outline
from tests.factories import (
    ExerciseFactory,
    OutlineDayFactory,
    OutlineFactory,
    OutlineSlotFactory,
    SlotCandidateFactory,
)

SLOT = {"title": "Back, row", "region": "lat", "role": "secondary"}


@pytest.fixture
def outline(ana):
    """Two day types in turns, twice each: a press with its lists for A and B, a fly, a curl; a squat."""
    row = OutlineFactory(practice=ana.practice, name="Four days", order=["upper", "lower", "upper", "lower"])
    upper = OutlineDayFactory(outline=row, key="upper", name="Upper", position=0)
    lower = OutlineDayFactory(outline=row, key="lower", name="Lower", position=1)
    press = OutlineSlotFactory(day=upper, key="press", title="Chest, press", position=0)
    OutlineSlotFactory(day=upper, key="row", title="Back, row", region="lat", role="secondary", position=1)
    OutlineSlotFactory(day=upper, key="curl", title="Curl", region="biceps", role="isolation", position=2)
    OutlineSlotFactory(day=lower, key="squat", title="Squat", region="vasti", position=0)
    for rank, name in enumerate(("Bench press", "Dumbbell press", "Dip")):
        exercise = ExerciseFactory(practice=ana.practice, name=name)
        SlotCandidateFactory(slot=press, exercise=exercise, occurrence=0, rank=rank)
    OutlineLine.objects.create(day=upper, text="Hips and ankles.", minutes=4)
    return row


@pytest.fixture
def copy(outline, ana):
    return work.open_copy(outline, ana)


def whole(outline):
    """All of a template as plain values, apart from what numbers its rows and its revisions."""
    row = Outline.objects.with_week().get(pk=outline.pk)
    week = [
        (
            day.key,
            day.name,
            [(line.pk, line.text, line.minutes, line.at_start) for line in day.lines.all()],
            [
                {
                    **{
                        field.attname: getattr(slot, field.attname)
                        for field in slot._meta.concrete_fields
                        if field.name not in ("id", "position")
                    },
                    "candidates": [(each.occurrence, each.exercise.name) for each in slot.candidates.all()],
                }
                for slot in day.slots.all()
            ],
        )
        for day in row.days.all()
    ]
    return row.name, row.summary, row.serves, row.order, row.cycle_days, row.offsets, week


def candidate(outline, name):
    return SlotCandidate.objects.get(slot__day__outline=outline, exercise__name=name).pk


def line(outline):
    return OutlineLine.objects.get(day__outline=outline).pk


def keys(outline, day):
    return list(OutlineSlot.objects.filter(day__outline=outline, day__key=day).values_list("key", flat=True))


def slot_of(outline, key):
    return OutlineSlot.objects.get(day__outline=outline, key=key)


def names_on(outline, key, occurrence=0):
    rows = SlotCandidate.objects.filter(slot__day__outline=outline, slot__key=key, occurrence=occurrence)
    return list(rows.values_list("exercise__name", flat=True))


CHANGES = {
    "words": lambda o, r, by: days.set_words(o, r, by, {"name": "Ours", "summary": "New.", "serves": ["advanced"]}),
    "cycle": lambda o, r, by: days.set_cycle(o, r, by, 8),
    "session_add": lambda o, r, by: days.add_session(o, r, by, "upper"),
    "session_remove": lambda o, r, by: days.remove_session(o, r, by, 1),
    "session_move": lambda o, r, by: days.move_session(o, r, by, 0, 3),
    "day_add": lambda o, r, by: days.add_day(o, r, by, "Arms"),
    "day_name": lambda o, r, by: days.rename_day(o, r, by, "upper", "Top"),
    "day_copy": lambda o, r, by: days.copy_day(o, r, by, "upper", "Upper, again"),
    "day_move": lambda o, r, by: days.move_day(o, r, by, "upper", 1),
    "day_remove": lambda o, r, by: days.remove_day(o, r, by, "upper"),
    "slot_add": lambda o, r, by: slots.add_slot(o, r, by, "lower", SLOT),
    "slot_change": lambda o, r, by: slots.change_slot(o, r, by, "press", {"title": "Press", "rir": 1, "tempo": "3010"}),
    "slot_copy": lambda o, r, by: slots.copy_slot(o, r, by, "press", "lower"),
    "slot_move": lambda o, r, by: slots.move_slot(o, r, by, "press", "upper", 2),
    "slot_move_away": lambda o, r, by: slots.move_slot(o, r, by, "press", "lower", 0),
    "slot_remove": lambda o, r, by: slots.remove_slot(o, r, by, "press"),
    "pair": lambda o, r, by: slots.pair_slot(o, r, by, "press"),
    "line_add": lambda o, r, by: lists.add_line(o, r, by, "lower", {"text": "Walk.", "minutes": 5}),
    "line_change": lambda o, r, by: lists.change_line(o, r, by, line(o), {"text": "Ankles.", "at_start": False}),
    "line_remove": lambda o, r, by: lists.remove_line(o, r, by, line(o)),
    "candidate_move": lambda o, r, by: lists.move_candidate(o, r, by, candidate(o, "Dip"), 0),
    "candidate_remove": lambda o, r, by: lists.remove_candidate(o, r, by, candidate(o, "Dip")),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_every_change_is_one_entry_that_undo_takes_back_and_redo_does_again(change, copy, outline, ana):
    before, entries, kept = whole(copy), JournalEntry.objects.count(), whole(outline)
    change(copy, copy.revision, ana)
    copy.refresh_from_db()
    after = whole(copy)
    assert after != before and copy.revision == 2
    assert JournalEntry.objects.count() == entries + 1
    assert work.turn_back(copy, ana, 2)
    assert whole(copy) == before
    assert work.turn_back(copy, ana, 3, redo=True)
    assert whole(copy) == after and whole(outline) == kept
    assert not work.turn_back(copy, ana, 4, redo=True)


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_no_change_is_done_to_what_was_not_on_screen(change, copy, ana):
    days.rename_day(copy, copy.revision, ana, "lower", "Legs")
    before = whole(copy)
    with pytest.raises(work.StaleOutline) as stale:
        change(copy, 1, ana)
    assert stale.value.outline.revision == 2 and whole(copy) == before


def test_what_changes_nothing_leaves_revision_and_journal_alone(copy, ana):
    entries = JournalEntry.objects.count()
    days.rename_day(copy, 1, ana, "upper", "Upper")
    days.move_session(copy, 1, ana, 2, 2)
    slots.move_slot(copy, 1, ana, "press", "upper", -1)
    copy.refresh_from_db()
    assert copy.revision == 1 and JournalEntry.objects.count() == entries


def test_the_copy_is_opened_once_and_nothing_is_composed_from_it(outline, ana):
    copied = work.open_copy(outline, ana)
    assert work.open_copy(outline, ana) == copied and work.open_copy(copied, ana) == copied
    assert whole(copied)[:5] == whole(outline)[:5] and copied.version == 2
    assert list(Outline.objects.current()) == [outline]
    assert list(Outline.objects.filter(in_work=True)) == [copied]


def test_a_version_takes_the_place_of_the_one_before(outline, copy, ana):
    slots.remove_slot(copy, 1, ana, "curl")
    saved, entry = work.save_version(copy, 2, ana)
    outline.refresh_from_db()
    assert outline.replaced_by == saved and list(Outline.objects.current()) == [saved]
    assert (saved.version, saved.in_work, saved.draft_of) == (2, False, None)
    assert work.newest_version(outline) == saved
    with pytest.raises(work.StaleOutline):
        slots.remove_slot(saved, 2, ana, "press")
    journal.undo(entry, ana)
    assert list(Outline.objects.current()) == [outline] and list(Outline.objects.filter(in_work=True)) == [saved]


def test_seeding_leaves_a_version_of_the_coachs_own_alone(ana, monkeypatch):
    seed_practice(ana.practice)
    seeded = Outline.objects.get(seed_key="upper-lower-four-days")
    copied = work.open_copy(seeded, ana)
    days.set_words(copied, 1, ana, {"name": "Ours", "summary": copied.summary, "serves": copied.serves})
    saved, _entry = work.save_version(copied, 2, ana)
    assert saved.seed_key == seeded.seed_key and saved.edited_fields == ["name", "week"]
    entries = {"upper-lower-four-days": {**_seed("upper-lower-four-days"), "summary": "A newer one."}}
    monkeypatch.setattr("programs.seeding.outline_entries", lambda: entries)
    report = seed_practice(ana.practice)
    assert report.kept == ["upper-lower-four-days"] and Outline.objects.current().get(name="Ours") == saved


def _seed(key):
    from programs.seeding import outline_entries

    return outline_entries()[key]


def test_a_version_follows_what_was_seeded_in_the_meantime(ana, monkeypatch):
    seed_practice(ana.practice)
    seeded = Outline.objects.get(seed_key="upper-lower-four-days")
    copied = work.open_copy(seeded, ana)
    entries = {"upper-lower-four-days": {**_seed("upper-lower-four-days"), "summary": "A newer one."}}
    monkeypatch.setattr("programs.seeding.outline_entries", lambda: entries)
    seed_practice(ana.practice)
    saved, _entry = work.save_version(copied, 1, ana)
    versions = Outline.objects.filter(seed_key="upper-lower-four-days").order_by("version")
    assert [(row.version, row.replaced_by_id) for row in versions] == [
        (1, versions[1].pk),
        (2, saved.pk),
        (3, None),
    ]


def test_what_is_lacking_is_said_and_nothing_saved(ana):
    copied, _entry = work.start_outline(ana, name="Two days", days=4, serves=[])
    assert copied.order == ["upper", "lower", "upper", "lower"]
    days.remove_session(copied, 1, ana, 1)
    days.remove_session(copied, 2, ana, 2)
    with pytest.raises(work.Refused) as refused:
        work.save_version(copied, 3, ana)
    assert [reason.code for reason in refused.value.reasons] == [
        "authoring.serves_nobody",
        "authoring.day_empty",
        "authoring.day_unused",
        "authoring.day_empty",
    ]
    copied.refresh_from_db()
    assert copied.in_work and copied.revision == 3


def test_what_was_thrown_away_comes_back_as_it_was_and_further_on(outline, copy, ana):
    days.rename_day(copy, 1, ana, "upper", "Top")
    before = whole(copy)
    entry = work.discard(copy, 2, ana)
    assert not Outline.objects.filter(in_work=True).exists() and Outline.objects.current().get() == outline
    journal.undo(entry, ana)
    copy.refresh_from_db()
    assert whole(copy) == before and copy.revision == 3 and copy.draft_of == outline
    assert not work.steps(copy)[1]


def test_a_round_that_rolls_gives_each_session_its_day(copy, ana):
    days.set_cycle(copy, 1, ana, 8)
    copy.refresh_from_db()
    assert copy.offsets == [0, 2, 4, 6]
    days.add_session(copy, 2, ana, "upper")
    days.remove_session(copy, 3, ana, 1)
    copy.refresh_from_db()
    assert (copy.order, copy.offsets) == (["upper", "upper", "lower", "upper"], [0, 4, 6, 7])
    days.set_cycle(copy, 4, ana, 4, [0, 1, 2, 3])
    with pytest.raises(work.Refused):
        days.add_session(copy, 5, ana, "upper")
    days.set_cycle(copy, 5, ana, 7)
    copy.refresh_from_db()
    assert copy.offsets == []


def test_a_copied_day_has_keys_of_its_own(copy, ana):
    days.copy_day(copy, 1, ana, "upper", "Upper")
    every = list(OutlineSlot.objects.filter(day__outline=copy).values_list("key", flat=True))
    assert len(every) == len(set(every)) == 7
    assert list(copy.days.values_list("key", flat=True)) == ["upper", "upper-2", "lower"]
    assert slot_of(copy, "press-2").candidates.count() == 3


def test_a_removed_day_takes_its_sessions_along(copy, ana):
    days.set_cycle(copy, 1, ana, 9)
    days.remove_day(copy, 2, ana, "upper")
    copy.refresh_from_db()
    assert (copy.order, copy.offsets) == (["lower", "lower"], [2, 6])


def test_a_new_slot_asks_for_what_its_role_usually_does(copy, ana):
    key = slots.add_slot(copy, 1, ana, "lower", SLOT)
    slot = slot_of(copy, key)
    assert key == "lower-back-row" and slot.sets["advanced"] == [3, 4] and slot.rest_s == 120
    assert keys(copy, "lower") == ["squat", key]
    again = slots.add_slot(copy, 2, ana, "upper", {**SLOT, "title": "Row"})
    assert again == "upper-row"


def test_pairing_refuses_what_tires_the_same_part(copy, ana):
    slots.pair_slot(copy, 1, ana, "press")
    assert [slot_of(copy, key).superset for key in ("press", "row", "curl")] == ["A", "A", ""]
    with pytest.raises(work.Refused) as refused:
        slots.pair_slot(copy, 2, ana, "press")
    assert refused.value.reasons[0].code == "authoring.already_paired"
    slots.release_slot(copy, 2, ana, "row")
    pull = ExerciseFactory(practice=ana.practice, name="Chin-up", regions={"lat": 4, "biceps": 2})
    lists.add_candidate(copy, 3, ana, "row", 1, pull)  # on B only
    with pytest.raises(work.Refused) as refused:
        slots.pair_slot(copy, 4, ana, "row")
    assert refused.value.reasons[0].params == {"name": "Chin-up", "other": "Curl"}
    with pytest.raises(work.Refused) as refused:
        slots.pair_slot(copy, 4, ana, "curl")
    assert refused.value.reasons[0].code == "authoring.nothing_after"


def test_a_superset_that_is_parted_is_released(copy, ana):
    slots.pair_slot(copy, 1, ana, "press")
    slots.move_slot(copy, 2, ana, "curl", "upper", 1)
    assert keys(copy, "upper") == ["press", "curl", "row"]
    assert [slot_of(copy, key).superset for key in ("press", "row", "curl")] == ["", "", ""]
    assert work.turn_back(copy, ana, 3)
    assert [slot_of(copy, key).superset for key in ("press", "row")] == ["A", "A"]
    slots.move_slot(copy, 4, ana, "row", "lower", 0)
    assert slot_of(copy, "press").superset == "" and keys(copy, "lower") == ["row", "squat"]


def test_candidates_are_ranked_by_occurrence(copy, ana):
    dip = ExerciseFactory(practice=ana.practice, name="Ring dip")
    lists.move_candidate(copy, 1, ana, candidate(copy, "Dip"), 0)
    assert names_on(copy, "press") == ["Dip", "Bench press", "Dumbbell press"]
    lists.add_candidate(copy, 2, ana, "press", 2, dip)
    # B had started again with A's list and keeps doing so.
    assert names_on(copy, "press", 1) == names_on(copy, "press") and names_on(copy, "press", 2) == ["Ring dip"]
    with pytest.raises(work.Refused):
        lists.add_candidate(copy, 3, ana, "press", 2, dip)
    leg = ExerciseFactory(practice=ana.practice, name="Leg press", regions={"vasti": 4, "pec_stern": 2})
    with pytest.raises(work.Refused):
        lists.add_candidate(copy, 3, ana, "press", 0, leg)


def test_an_emptied_list_means_any_that_fits_and_moves_no_other(copy, ana):
    other = ExerciseFactory(practice=ana.practice, name="Push-up")
    lists.add_candidate(copy, 1, ana, "press", 1, other)
    for revision, name in enumerate(("Bench press", "Dumbbell press", "Dip"), 2):
        lists.remove_candidate(copy, revision, ana, candidate(copy, name))
    upper = day_types_of(Outline.objects.with_week().get(pk=copy.pk), "novice")[0]
    assert upper.slots[0].candidates == ((), (other.key,))


def test_a_copy_of_a_working_copy_is_a_template_of_its_own(copy, ana):
    copied, _entry = copy_outline(Outline.objects.with_week().get(pk=copy.pk), ana)
    assert not copied.in_work and copied.draft_of is None and copied.revision == 1


def test_a_stranger_changes_nothing(copy, cleo):
    with pytest.raises(Outline.DoesNotExist):
        days.rename_day(copy, 1, cleo, "upper", "Theirs")
    with pytest.raises(Outline.DoesNotExist):
        work.save_version(copy, 1, cleo)
