"""Importing a library: every row accounted for, only what was previewed, one undo; export, wipe, import is identity."""

import base64
import io
import json
from datetime import UTC, datetime

import pytest
from PIL import Image

from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.exchange import documents, library, sheets, uploads
from programs.models import (
    Exercise,
    ExerciseJoint,
    ExerciseRegion,
    ExerciseText,
    FavouriteExercise,
    Photo,
)
from programs.photos import NotAPhoto, Rewritten
from programs.seeding import seed_practice
from programs.services.importing import ChangedMeanwhile, import_library
from tests.factories import CoachFactory, ExerciseFactory

MERGED = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
HIDDEN = datetime(2026, 3, 2, 9, 30, 15, 123456, UTC)
TABLE = (
    "name,pattern,role,implement,load_entry,rep_unit,rep_low,rep_high,rest_s,regions\r\n"
    "{name},horizontal_push,main,dumbbell,per_hand,reps,6,12,{rest},pec_stern 1\r\n"
)


def state(practice):
    """Every row of the library as plain values, without keys and times of making."""
    exercises = Exercise.objects.for_practice(practice)
    ids = dict(exercises.values_list("pk", "public_id"))

    def rows(model, path, *names):
        found = model.objects.filter(**{f"{path}practice": practice}).order_by("exercise__name", "pk")
        return list(found.values_list("exercise__public_id", *names))

    facts = [field.name for field in Exercise._meta.concrete_fields if field.name not in ("id", "created_at")]
    return {
        "exercises": [
            {
                **{name: getattr(row, name) for name in facts if name not in ("photo", "merged_into", "practice")},
                "merged_into": ids.get(row.merged_into_id),
                "photo": (
                    row.photo.public_id,
                    bytes(row.photo.image),
                    row.photo.width,
                    row.photo.height,
                    row.photo.shows,
                )
                if row.photo
                else None,
            }
            for row in exercises.select_related("photo").order_by("name")
        ],
        "regions": rows(ExerciseRegion, "exercise__", "region", "quarters", "stretched"),
        "joints": rows(ExerciseJoint, "exercise__", "joint", "severity"),
        "texts": [
            {name: value for name, value in row.items() if name not in ("id", "exercise_id")}
            for row in ExerciseText.objects.filter(exercise__practice=practice)
            .order_by("exercise__name", "language")
            .values()
        ],
        "favourites": rows(FavouriteExercise, "exercise__", "coach"),
    }


def exported(coach, form="csv", **kwargs):
    listed = library.gather(coach.practice, coach)
    records = [present.record for present in listed]
    if form == "json":
        return documents.write(records, library.photos_of(listed))
    return sheets.write(records, frozenset(), decimal_comma=kwargs.get("decimal_comma", False), note="")


def read(data):
    return documents.read(data) if documents.is_json(data) else sheets.read(data)


def imported(coach, data, *, changes=True):
    sheet = read(data)
    plan = library.plan(sheet, coach.practice, coach)
    return import_library(coach, sheet, plan.digest, changes=changes)


def kinds(plan):
    return [one.kind for one in plan.outcomes]


@pytest.fixture
def stocked(ana):
    """The seeded library, and a coach's own things of every kind in it."""
    seed_practice(ana.practice)
    own = ExerciseFactory(
        practice=ana.practice,
        name="=Net hauling, by hand",
        aliases=["hauling, wet", "Netze einholen"],
        needs_all=["space_to_walk"],
        needs_one=[["box", "chair"], ["sled", "plate"]],
        bodyweight_fraction="0.35",
        load_step="1.25",
        tempo="02X0",
        clip_url="https://example.org/clip?a=1,2;3",
        hidden_at=HIDDEN,
        regions={"lat": 4, "biceps": 2},
        joints={"grip": 3, "elbow": 1},
    )
    ExerciseText.objects.create(
        exercise=own,
        language="en",
        set_up=["+ one\nline", " two "],
        faults=[["Rush → rush", ""]],
        cautions="Wet;\r\n\"quoted\", 'n' @home",
    )
    ExerciseText.objects.create(exercise=own, language="de", name="Netz einholen", reason="Größer – stärker.")
    FavouriteExercise.objects.create(coach=ana, exercise=own)
    merged = ExerciseFactory(practice=ana.practice, name="Old hauling", hidden_at=MERGED, merged_into=own)
    ExerciseFactory(practice=ana.practice, name="Older hauling", hidden_at=MERGED, merged_into=merged)
    edited = Exercise.objects.get(practice=ana.practice, seed_key="machine-chest-press")
    edited.rest_s = 111
    edited.mark_edited("rest_s")
    edited.save()
    return ana


def photograph(exercise, image=b"\xff\xd8 a picture"):
    exercise.photo = Photo.objects.create(
        practice=exercise.practice, image=image, width=640, height=480, shows="Start: arms long"
    )
    exercise.save()


def wipe(practice):
    Exercise.objects.for_practice(practice).update(merged_into=None)
    Exercise.objects.for_practice(practice).delete()
    Photo.objects.filter(practice=practice).delete()


@pytest.mark.parametrize("form, kwargs", [("csv", {}), ("csv", {"decimal_comma": True}), ("json", {})])
def test_export_wipe_import_gives_identical_rows(stocked, form, kwargs):
    if form == "json":
        photograph(Exercise.objects.get(name="Old hauling"))
    before, data = state(stocked.practice), exported(stocked, form, **kwargs)
    wipe(stocked.practice)
    plan, _entry = imported(stocked, data)
    assert plan.counts == {"new": len(before["exercises"]), "changed": 0, "unchanged": 0, "refused": 0}
    assert not [one.remarks for one in plan.outcomes if one.remarks and one.remarks[0].code != "means_other"]
    assert state(stocked.practice) == before
    assert seed_practice(stocked.practice).made == []  # the first library knows its own again
    assert state(stocked.practice) == before
    assert exported(stocked, form, **kwargs) == data


@pytest.mark.parametrize("form", ["csv", "json"])
def test_what_is_there_already_is_left_alone(stocked, form):
    photograph(Exercise.objects.get(name="Old hauling"))
    before = state(stocked.practice)
    plan, entry = imported(stocked, exported(stocked, form))
    assert set(kinds(plan)) == {"unchanged"} and entry is None
    assert state(stocked.practice) == before


def test_one_undo_takes_everything_back_and_another_brings_it_again(stocked):
    before = state(stocked.practice)
    data = exported(stocked).decode("utf-8-sig")
    data = data.replace('"111"', '"222"').replace("Old hauling", "Very old hauling").replace("lat 1\r\n", "lat ½\r\n")
    rows = Exercise.objects.for_practice(stocked.practice).count()
    new = sheets.read(TABLE.format(name="Quay press", rest=90).encode()).rows[0]
    sheet = sheets.Sheet((*sheets.read(data.encode()).rows, sheets.Read(900, new.record)), "csv")
    plan = library.plan(sheet, stocked.practice, stocked)
    assert (plan.counts["new"], plan.counts["changed"], plan.counts["refused"]) == (1, 2, 0)
    _plan, entry = import_library(stocked, sheet, plan.digest, changes=True)
    after = state(stocked.practice)
    assert Exercise.objects.for_practice(stocked.practice).count() == rows + 1
    assert after != before and JournalEntry.objects.filter(act="library.import").count() == 1
    undone = journal.undo(entry, stocked)
    assert state(stocked.practice) == before
    journal.undo(undone, stocked)
    assert state(stocked.practice) == after


def test_changes_show_old_and_new_and_are_written_as_the_coachs_own(ana):
    row = ExerciseFactory(practice=ana.practice, name="Quay press", seed_key="machine-chest-press", rest_s=90)
    ExerciseText.objects.create(exercise=row, language="en", set_up=["Sit."], reason="Steady.")
    data = (
        "id,name,rest_s,regions,joints,set_up_en,reason_de,favourite\r\n"
        f'{row.key},Quay press,120,"pec_stern 1\nlat ¼",elbow 2,"Sit.\nReach.",Ruhig.,yes\r\n'
    )
    plan, _entry = imported(ana, data.encode())
    (one,) = plan.outcomes
    said = {change.name: (change.old, change.new) for change in one.changes}
    assert said == {
        "rest_s": (90, 120),
        "regions": ({"pec_stern": (4, False), "delt_ant": (2, False)}, {"pec_stern": (4, False), "lat": (1, False)}),
        "joints": ({}, {"elbow": 2}),
        "favourite": (False, True),
        "set_up_en": (["Sit."], ["Sit.", "Reach."]),
        "reason_de": ("", "Ruhig."),
    }
    row.refresh_from_db()
    assert row.rest_s == 120 and row.edited_fields == ["joints", "regions", "rest_s", "texts"]
    assert list(row.regions.values_list("region", "quarters")) == [("pec_stern", 4), ("lat", 1)]
    english = row.texts.get(language="en")
    assert english.set_up == ["Sit.", "Reach."] and english.reason == "Steady."  # what the file does not say stays
    assert row.texts.get(language="de").reason == "Ruhig."
    assert FavouriteExercise.objects.filter(coach=ana, exercise=row).exists()


def test_only_the_new_ones_may_be_taken(ana):
    row = ExerciseFactory(practice=ana.practice, name="Quay press", rest_s=90)
    data = TABLE.format(name="Quay press", rest=200) + TABLE.format(name="Net pull", rest=60).split("\r\n")[1]
    plan, _entry = imported(ana, data.encode(), changes=False)
    row.refresh_from_db()
    assert kinds(plan) == ["changed", "new"] and row.rest_s == 90
    assert set(Exercise.objects.values_list("name", flat=True)) == {"Quay press", "Net pull"}


def test_every_row_is_accounted_for(ana):
    ExerciseFactory(practice=ana.practice, name="Quay press", rest_s=90)
    ExerciseFactory(practice=ana.practice, name="Harbour row", aliases=["dock row"])
    head, line = TABLE.format(name="Quay press", rest=90).split("\r\n")[:2]
    rows = [
        line,  # 2: as it is, but for the second region
        line.replace("Quay press", "quay  PRESS"),  # 3: the same again
        line.replace("Quay press", "Net pull"),  # 4
        line.replace("Quay press", "Net pull"),  # 5
        line.replace("Quay press", "Dock row"),  # 6: another one's other name
        line.replace("Quay press", "Mast climb").replace("6,12", "12,6"),  # 7
        line.replace("Quay press", "Rope pull").replace("per_hand", "band"),  # 8
        line.replace("Quay press", "Oar press").replace("dumbbell", "dumbell"),  # 9
        line.replace("Quay press", "Keel lift").replace("pec_stern 1", "pec_stern ½"),  # 10
        "Bare name",  # 11
    ]
    sheet = sheets.read("\r\n".join([head, *rows]).encode())
    plan = library.plan(sheet, ana.practice, ana)
    said = [(one.number, one.kind, [(each.column, each.code) for each in one.problems]) for one in plan.outcomes]
    assert said == [
        (2, "changed", []),
        (3, "refused", [("name", "means_other")]),
        (4, "new", []),
        (5, "refused", [("name", "name_taken")]),
        (6, "refused", [("name", "means_other")]),
        (7, "refused", [("rep_high", "reps_out_of_order")]),
        (8, "refused", [("load_entry", "band_entry")]),
        (9, "refused", [("implement", "unknown_near")]),
        (10, "refused", [("regions", "no_whole_region")]),
        (11, "refused", [(name, "needed") for name in library.NEEDED if name != "name"]),
    ]
    assert sum(plan.counts.values()) == len(rows)


def test_a_name_that_another_has_is_not_given(ana):
    first = ExerciseFactory(practice=ana.practice, name="Quay press")
    second = ExerciseFactory(practice=ana.practice, name="Net pull")
    swapped = f"id,name\r\n{first.key},Net pull\r\n{second.key},Quay press\r\n"
    plan = library.plan(sheets.read(swapped.encode()), ana.practice, ana)
    assert [one.problems[0].code for one in plan.outcomes] == ["name_taken", "name_taken"]


def test_what_changed_since_the_preview_is_not_written_over(ana):
    row = ExerciseFactory(practice=ana.practice, name="Quay press", rest_s=90)
    sheet = sheets.read(f"id,rest_s\r\n{row.key},200\r\n".encode())
    seen = library.plan(sheet, ana.practice, ana)
    Exercise.objects.update(rest_s=150)
    with pytest.raises(ChangedMeanwhile) as refused:
        import_library(ana, sheet, seen.digest, changes=True)
    assert Exercise.objects.get().rest_s == 150 and not JournalEntry.objects.exists()
    assert refused.value.plan.otherwise(seen.by_row) == {2}
    assert seen.otherwise(seen.by_row) == set()


def test_another_practice_gets_copies_with_ids_of_their_own(stocked, cleo):
    seed_practice(cleo.practice)
    before = state(stocked.practice)
    plan, _entry = imported(cleo, exported(stocked, "json"))
    assert plan.counts["refused"] == 0
    changed = [one for one in plan.outcomes if one.kind == "changed"]
    assert [(one.by, [change.name for change in one.changes]) for one in changed] == [("seed_key", ["rest_s"])]
    fresh = [one for one in plan.outcomes if one.kind == "new"]
    assert [one.name for one in fresh] == ["=Net hauling, by hand", "Old hauling", "Older hauling"]
    assert all("id_taken" in [remark.code for remark in one.remarks] for one in fresh)
    assert state(stocked.practice) == before
    theirs = Exercise.objects.get(practice=cleo.practice, name="=Net hauling, by hand")
    assert theirs.key != Exercise.objects.get(practice=stocked.practice, name="=Net hauling, by hand").key
    assert theirs.practice == cleo.practice and theirs.texts.count() == 2


def test_what_was_merged_leads_on_and_never_in_circles(ana):
    ids = [f"00000000-0000-4000-8000-00000000000{number}" for number in range(4)]
    head, line = TABLE.format(name="{name}", rest=90).split("\r\n")[:2]
    rows = [
        f"{line.format(name=name)},{ids[number]},{ids[into]}"
        for number, name, into in ((0, "One", 1), (1, "Two", 0), (2, "Three", 3), (3, "Four", 3))
    ]
    text = "\r\n".join([f"{head},id,merged_into", *rows]) + "\r\n"
    text += f"{line.format(name='Five')},,{ids[2]}\r\n{line.format(name='Six')},,{ids[0][:-2]}99\r\n"
    imported(ana, text.encode())
    leads = dict(Exercise.objects.values_list("name", "merged_into__name"))
    assert leads == {"One": None, "Two": None, "Three": None, "Four": None, "Five": "Three", "Six": None}


def test_a_hand_made_table_makes_exercises_that_seeding_leaves_alone(ana):
    head, line = TABLE.format(name="Quay press", rest=77).split("\r\n")[:2]
    imported(ana, f"{head},seed_key\r\n{line},machine-chest-press\r\n".encode())
    seed_practice(ana.practice)
    row = Exercise.objects.get(seed_key="machine-chest-press")
    assert row.name == "Quay press" and row.rest_s == 77
    assert list(row.regions.values_list("region", flat=True)) == ["pec_stern"]


def test_what_somebody_changed_in_the_table_counts_as_edited(stocked):
    untouched = Exercise.objects.filter(edited_fields=[]).exclude(seed_key="").first()
    data = exported(stocked).decode("utf-8-sig").replace(f'"{untouched.name}"', '"Renamed in the table"')
    wipe(stocked.practice)
    imported(stocked, data.encode())
    edited = dict(Exercise.objects.exclude(edited_fields=[]).values_list("seed_key", "edited_fields"))
    assert edited == {"machine-chest-press": ["rest_s"], untouched.seed_key: ["name"]}


def document(**photo):
    (entry,) = [
        {
            "name": "Quay press",
            "pattern": "horizontal_push",
            "role": "main",
            "implement": "dumbbell",
            "load_entry": "per_hand",
            "rep_unit": "reps",
            "rep_low": 6,
            "rep_high": 12,
            "rest_s": 90,
            "regions": [{"region": "pec_stern", "sets": 1}],
            "photo": photo,
        }
    ]
    return json.dumps({"format": "coachdesk-library", "version": 1, "exercises": [entry]}).encode()


def test_pictures_from_elsewhere_are_written_anew(ana, monkeypatch):
    monkeypatch.setattr(
        "programs.exchange.photos.rewritten", lambda image, **_limits: Rewritten(b"anew " + image, 3, 2)
    )
    data = uploads.ready(document(jpeg="YWJj", shows="Arms long", width=9, height=9, seal="forged"))
    imported(ana, data)
    photo = Exercise.objects.get().photo
    assert (bytes(photo.image), photo.width, photo.height, photo.shows) == (b"anew abc", 3, 2, "Arms long")


def test_a_real_picture_from_elsewhere_comes_in(ana):
    drawn = io.BytesIO()
    Image.new("RGB", (30, 20), "navy").save(drawn, "PNG")
    data = uploads.ready(document(jpeg=base64.b64encode(drawn.getvalue()).decode(), shows="A net"))
    imported(ana, data)
    photo = Exercise.objects.get().photo
    assert (photo.width, photo.height, photo.shows) == (30, 20, "A net") and bytes(photo.image).startswith(b"\xff\xd8")
    assert uploads.ready(exported(ana, "json")) == exported(ana, "json")  # with our seal it is left as it is


def test_a_picture_that_can_not_be_opened_is_left_out_and_told(ana, monkeypatch):
    def refuse(image, **_limits):
        raise NotAPhoto("not_a_picture")

    monkeypatch.setattr("programs.exchange.photos.rewritten", refuse)
    plan, _entry = imported(ana, uploads.ready(document(jpeg="YWJj")))
    assert [remark.code for remark in plan.outcomes[0].remarks] == ["photo_not_a_picture"]
    assert Exercise.objects.get().photo is None


def test_a_picture_without_our_seal_never_gets_in(ana):
    read = documents.read(document(jpeg="YWJj", shows="", width=9, height=9, seal="forged")).rows[0]
    assert [problem.code for problem in read.problems] == ["photo_wanted"]


@pytest.mark.parametrize("count", [1, 30])
def test_planning_and_importing_cost_the_same_however_many(ana, count, django_assert_num_queries):
    other = CoachFactory(practice=ana.practice)
    ExerciseFactory.create_batch(count, practice=ana.practice, joints={"elbow": 1})
    for row in Exercise.objects.all():
        ExerciseText.objects.create(exercise=row, language="en", reason="Steady.")
    data = exported(ana)
    wipe(ana.practice)
    sheet = sheets.read(data)
    with django_assert_num_queries(6):  # exercises, regions, joints, texts, favourites, ids elsewhere
        plan = library.plan(sheet, ana.practice, other)
    # A savepoint begins and ends the act and each of the four bulks is one statement more than its two.
    with django_assert_num_queries(17):
        import_library(other, sheet, plan.digest, changes=True)
    assert Exercise.objects.count() == count
