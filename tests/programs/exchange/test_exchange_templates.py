"""Templates as files: the whole week and back, what a library does not have told one by one, versions kept."""

import json

import pytest

from coachdesk.practice import journal
from programs.exchange import outline_documents, outlines
from programs.exchange.bounds import FileRefused
from programs.models import Exercise, Outline, OutlineDay, OutlineLine, OutlineSlot, SlotCandidate
from programs.seeding import seed_practice
from programs.services.importing import ChangedMeanwhile, import_templates
from programs.services.outlines import copy_outline
from tests.factories import (
    BlockFactory,
    ExerciseFactory,
    OutlineDayFactory,
    OutlineFactory,
    OutlineSlotFactory,
    SlotCandidateFactory,
)


def state(practice):
    """Every row of the templates as plain values, without keys and times of making."""
    own = {"outline__practice": practice}
    slots = {"day__outline__practice": practice}

    def plain(rows, *gone):
        return [{name: value for name, value in row.items() if name not in ("id", *gone)} for row in rows]

    order = ("outline__name", "outline__version", "position")
    of_slots = ("day__outline__name", "day__outline__version", "day__position", "position")
    candidates = SlotCandidate.objects.filter(slot__day__outline__practice=practice)
    outlines_ = Outline.objects.for_practice(practice).order_by("name", "version")
    return {
        "outlines": plain(outlines_.values(), "created_at", "replaced_by_id", "revision"),
        "days": plain(OutlineDay.objects.filter(**own).order_by(*order).values(), "outline_id"),
        "slots": plain(OutlineSlot.objects.filter(**slots).order_by(*of_slots).values(), "day_id"),
        "lines": plain(OutlineLine.objects.filter(**slots).order_by(*of_slots, "-at_start").values(), "day_id"),
        "candidates": list(
            candidates.order_by(*(f"slot__{name}" for name in of_slots), "occurrence", "rank").values_list(
                "slot__key", "exercise", "occurrence", "rank"
            )
        ),
    }


def imported(coach, data, *, changes=True):
    sheet = outline_documents.read(data)
    plan = outlines.plan(sheet, coach.practice)
    return import_templates(coach, sheet, plan.digest, changes=changes)


def said(plan):
    return [(one.kind, one.name, [remark.code for remark in one.remarks]) for one in plan.outcomes]


@pytest.fixture
def seeded(ana):
    seed_practice(ana.practice)
    return ana


@pytest.fixture
def week(ana):
    """A week of one day with two slots, one with candidates."""
    outline = OutlineFactory(practice=ana.practice, name="Quay week", order=["full"], serves=["novice"])
    day = OutlineDayFactory(outline=outline)
    slot = OutlineSlotFactory(day=day, key="chest", title="Chest, press")
    SlotCandidateFactory(slot=slot, exercise__name="Quay press", exercise__seed_key="quay-press", rank=0)
    SlotCandidateFactory(slot=slot, exercise__name="Net pull", occurrence=1, rank=1)
    OutlineSlotFactory(day=day, key="back", title="Back", technique="Pause, low", rir="1.5", superset="A")
    OutlineLine.objects.create(day=day, text="Row, easy", minutes=6)
    OutlineLine.objects.create(day=day, text="Walk", at_start=False, position=3)
    return outline


def written(practice):
    return outlines.write(outlines.listed(practice))


def test_every_seeded_template_comes_back_as_it_was(seeded):
    before, data = state(seeded.practice), written(seeded.practice)
    count = len(before["outlines"])
    plan, entry = imported(seeded, data)
    assert {one.kind for one in plan.outcomes} == {"unchanged"} and entry is None
    Outline.objects.all().delete()
    plan, entry = imported(seeded, data)
    assert plan.counts == {"new": count, "changed": 0, "unchanged": 0, "refused": 0}
    assert not [one.remarks for one in plan.outcomes if one.remarks]
    assert state(seeded.practice) == before and written(seeded.practice) == data
    assert seed_practice(seeded.practice).made == []
    undone = journal.undo(entry, seeded)
    assert not Outline.objects.exists() and not OutlineSlot.objects.exists()
    journal.undo(undone, seeded)
    assert state(seeded.practice) == before


def test_a_coachs_own_week_comes_back_as_it_was(ana, week):
    week.archived_at = week.created_at
    week.cycle_days, week.offsets = 9, [4]
    week.save()
    before, data = state(ana.practice), written(ana.practice)
    Outline.objects.all().delete()
    imported(ana, data)
    assert state(ana.practice) == before


def test_what_differs_becomes_the_next_version_and_blocks_keep_theirs(ana, week, ben):
    block = BlockFactory(client=ben, outline=week)
    document = json.loads(written(ana.practice))
    slot = document["templates"][0]["days"][0]["slots"][0]
    slot["rest_s"], slot["sets"]["novice"] = 200, [1, 2]
    plan, entry = imported(ana, json.dumps(document).encode())
    (one,) = plan.outcomes
    assert {change.name: (change.old, change.new) for change in one.changes} == {
        "full|chest|rest_s": (150, 200),
        "full|chest|sets": (
            {"novice": [2, 3], "intermediate": [3, 4], "advanced": [3, 5]},
            {"novice": [1, 2], "intermediate": [3, 4], "advanced": [3, 5]},
        ),
    }
    assert outlines.places(one.record)["full|chest"] == "Full body, Chest, press"
    newest = outlines.listed(ana.practice).get()
    assert newest.version == 2 and newest.replaces == week and newest.edited_fields == ["week"]
    assert [slot.rest_s for slot in newest.days.get().slots.all()] == [200, 150]
    block.refresh_from_db()
    assert block.outline == week and week.days.get().slots.first().rest_s == 150
    journal.undo(entry, ana)
    assert outlines.listed(ana.practice).get() == week


def test_only_new_ones_may_be_taken(ana, week):
    document = json.loads(written(ana.practice))
    other = {**document["templates"][0], "id": "", "name": "Harbour week"}
    document["templates"][0]["summary"] = "For the crew."
    document["templates"].append(other)
    plan, _entry = imported(ana, json.dumps(document).encode(), changes=False)
    assert plan.counts == {"new": 1, "changed": 1, "unchanged": 0, "refused": 0}
    assert sorted(Outline.objects.values_list("name", "summary")) == [("Harbour week", ""), ("Quay week", "")]


def test_another_practice_finds_exercises_by_key_name_and_other_name(ana, week, cleo):
    slot = OutlineSlot.objects.get(key="chest")
    SlotCandidateFactory(slot=slot, exercise__name="Dock row", occurrence=1, rank=2)
    SlotCandidateFactory(slot=slot, exercise__name="Mast climb", occurrence=1, rank=3)
    press = ExerciseFactory(practice=cleo.practice, name="Bench, quayside", seed_key="quay-press")
    pull = ExerciseFactory(practice=cleo.practice, name="NET PULL")
    row = ExerciseFactory(practice=cleo.practice, name="Row at the dock", aliases=["dock row"])
    data = written(ana.practice)
    plan, _entry = imported(cleo, data)
    (one,) = plan.outcomes
    assert [(remark.code, remark.params.get("name")) for remark in one.remarks] == [
        ("candidate_alias", "Dock row"),
        ("candidate_unknown", "Mast climb"),
        ("id_taken", None),
    ]
    theirs = Outline.objects.get(practice=cleo.practice)
    assert theirs.public_id != week.public_id
    chosen = SlotCandidate.objects.filter(slot__day__outline=theirs)
    assert list(chosen.values_list("exercise", flat=True)) == [press.pk, pull.pk, row.pk]
    again, entry = imported(cleo, data)
    assert said(again)[0][0] == "unchanged" and entry is None


def test_what_was_merged_means_what_it_was_merged_into(ana, week):
    data = written(ana.practice)
    press, pull = Exercise.objects.get(name="Quay press"), Exercise.objects.get(name="Net pull")
    Outline.objects.all().delete()
    press.merged_into = pull
    press.save()
    imported(ana, data)
    assert list(SlotCandidate.objects.values_list("exercise", "occurrence")) == [(pull.pk, 0), (pull.pk, 1)]


def test_the_same_name_alone_is_no_reason_to_replace(ana, week, cleo):
    OutlineDayFactory(outline=OutlineFactory(practice=cleo.practice, name="Quay week"))
    data = written(ana.practice)
    plan, _entry = imported(cleo, data)
    assert said(plan)[0][:2] == ("new", "Quay week (imported)")
    assert "renamed" in said(plan)[0][2]
    assert sorted(Outline.objects.for_practice(cleo.practice).values_list("name", flat=True)) == [
        "Quay week",
        "Quay week (imported)",
    ]
    assert said(imported(cleo, data)[0])[0][0] == "unchanged"


def test_entries_that_mean_one_template_are_refused_but_for_the_first(ana, week):
    document = json.loads(written(ana.practice))
    document["templates"] *= 2
    plan, _entry = imported(ana, json.dumps(document).encode())
    assert [one.kind for one in plan.outcomes] == ["unchanged", "refused"]


def test_what_changed_since_the_preview_is_not_written_over(ana, week):
    document = json.loads(written(ana.practice))
    document["templates"][0]["name"] = "Harbour week"
    sheet = outline_documents.read(json.dumps(document).encode())
    seen = outlines.plan(sheet, ana.practice)
    Exercise.objects.filter(name="Net pull").delete()
    with pytest.raises(ChangedMeanwhile) as refused:
        import_templates(ana, sheet, seen.digest, changes=True)
    assert refused.value.plan.otherwise(seen.by_row) == {1}
    assert Outline.objects.count() == 1


def spoiled(week_of, change):
    document = json.loads(week_of)
    change(document["templates"][0])
    return json.dumps(document).encode()


@pytest.mark.parametrize(
    "change, column, code",
    [
        (lambda entry: entry.pop("days"), "days", "needed"),
        (lambda entry: entry.update(days=[3]), "", "not_a_part"),
        (lambda entry: entry.update(days=entry["days"] * 8), "days", "too_many"),
        (lambda entry: entry.update(order=["lower"]), "order", "unknown"),
        (lambda entry: entry.update(order=[]), "order", "needed"),
        (lambda entry: entry.update(order=["full"] * 8), "order", "cycle_full"),
        (lambda entry: entry.update(serves=["advance"]), "serves", "unknown_near"),
        (lambda entry: entry.update(cycle_days=9), "offsets", "offsets_wanted"),
        (lambda entry: entry.update(cycle_days=1), "cycle_days", "out_of_range"),
        (lambda entry: entry["days"][0]["slots"][0].update(rir=7), "rir", "out_of_range"),
        (lambda entry: entry["days"][0]["slots"][0].update(rir="2"), "rir", "number_wanted"),
        (lambda entry: entry["days"][0]["slots"][0].update(sets={"novice": [1, 2]}), "sets", "sets_wanted"),
        (lambda entry: entry["days"][0]["slots"][0].update(reps=[[8, 6]]), "reps", "spans_wanted"),
        (lambda entry: entry["days"][0]["slots"][0].update(reps=[]), "reps", "spans_wanted"),
        (lambda entry: entry["days"][0]["slots"][0].update(key="back"), "key", "key_twice"),
        (lambda entry: entry["days"][0]["slots"][0].pop("title"), "title", "needed"),
        (lambda entry: entry["days"][0]["lines"][0].update(text=" "), "text", "needed"),
        (lambda entry: entry["days"][0]["slots"][0].update(candidates={}), "candidates", "list_wanted"),
    ],
)
def test_a_spoiled_template_is_refused_and_says_where(ana, week, change, column, code):
    before = state(ana.practice)
    sheet = outline_documents.read(spoiled(written(ana.practice), change))
    plan = outlines.plan(sheet, ana.practice)
    (one,) = plan.outcomes
    assert one.kind == "refused" and (column, code) in [(each.column, each.code) for each in one.problems]
    import_templates(ana, sheet, plan.digest, changes=True)
    assert state(ana.practice) == before


def test_a_file_of_exercises_is_no_file_of_templates():
    with pytest.raises(FileRefused) as refused:
        outline_documents.read(b'{"format": "coachdesk-library", "version": 1, "exercises": [{}]}')
    assert refused.value.code == "other_form"


@pytest.mark.parametrize("count", [1, 12])
def test_planning_and_importing_cost_the_same_however_many(seeded, week, count, django_assert_num_queries):
    for _number in range(count - 1):
        copy_outline(outlines.listed(seeded.practice).get(name="Quay week"), seeded)
    Outline.objects.exclude(name__startswith="Quay").delete()
    data = written(seeded.practice)
    Outline.objects.all().delete()
    sheet = outline_documents.read(data)
    with django_assert_num_queries(3):  # templates (none there), exercises, ids elsewhere
        plan = outlines.plan(sheet, seeded.practice)
    with django_assert_num_queries(16):
        import_templates(seeded, sheet, plan.digest, changes=True)
    assert Outline.objects.count() == count
