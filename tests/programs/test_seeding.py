"""Seeding a practice: again and again without harm, round whatever a coach has made or changed."""

import copy

import pytest

from programs import seeding
from programs.models import Exercise, ExerciseText, Outline, OutlineSlot, SlotCandidate
from programs.seeding import exercise_entries, outline_entries, seed_practice
from tests.factories import BlockFactory, ClientFactory, ExerciseFactory

PRESS = "machine-chest-press"
WEEK = "upper-lower-four-days"


@pytest.fixture
def seeded(ana):
    seed_practice(ana.practice)
    return ana.practice


@pytest.fixture
def changed_seed(monkeypatch):
    """Makes seed entries say something else, as a newer release would."""

    def change(key, **values):
        entries = copy.deepcopy(seeding.exercise_entries())
        entries[key].update(values)
        monkeypatch.setattr(seeding, "exercise_entries", lambda: entries)

    return change


@pytest.fixture
def changed_week(monkeypatch):
    def change(**values):
        entries = copy.deepcopy(seeding.outline_entries())
        entries[WEEK].update(values)
        monkeypatch.setattr(seeding, "outline_entries", lambda: entries)

    return change


def everything(practice):
    """Every row that seeding writes, as plain values."""
    exercises = Exercise.objects.for_practice(practice)
    return {
        "exercises": list(exercises.order_by("pk").values()),
        "regions": list(exercises.order_by("regions__pk").values_list("regions__pk", "regions__quarters")),
        "joints": list(exercises.order_by("joints__pk").values_list("joints__pk", "joints__severity")),
        "texts": list(ExerciseText.objects.filter(exercise__practice=practice).order_by("pk").values()),
        "outlines": list(Outline.objects.for_practice(practice).order_by("pk").values()),
        "candidates": list(SlotCandidate.objects.order_by("pk").values()),
    }


def press(practice):
    return Exercise.objects.get(practice=practice, seed_key=PRESS)


def test_a_new_practice_gets_every_entry(ana):
    report = seed_practice(ana.practice)
    assert set(report.made) == {*exercise_entries(), *outline_entries()}
    assert Exercise.objects.for_practice(ana.practice).count() == len(exercise_entries())
    assert not report.changed and not report.kept


def test_seeding_twice_changes_nothing(seeded):
    before = everything(seeded)
    report = seed_practice(seeded)
    assert everything(seeded) == before
    assert not report.made and not report.changed and not report.kept
    assert report.unchanged == len(exercise_entries()) + len(outline_entries())


def test_every_candidate_of_a_template_is_an_exercise_of_the_library(seeded):
    named = {
        (entry["key"], slot["key"], occurrence, key)
        for entry in outline_entries().values()
        for day in entry["day"]
        for slot in day["slot"]
        for occurrence, keys in enumerate(slot["candidates"])
        for key in keys
    }
    assert {key for *_rest, key in named} <= set(exercise_entries())
    written = SlotCandidate.objects.values_list(
        "slot__day__outline__seed_key", "slot__key", "occurrence", "exercise__seed_key"
    )
    assert set(written) == named


def test_each_practice_has_its_own_rows(seeded, cleo):
    seed_practice(cleo.practice)
    strangers = SlotCandidate.objects.filter(slot__day__outline__practice=cleo.practice).exclude(
        exercise__practice=cleo.practice
    )
    assert press(seeded).pk != press(cleo.practice).pk
    assert not strangers.exists()


def test_a_changed_entry_reaches_what_nobody_edited(seeded, changed_seed):
    changed_seed(PRESS, rest_s=200, regions={"pec_stern": 1.0, "delt_ant": 0.25})
    report = seed_practice(seeded)
    assert report.changed == [PRESS]
    row = press(seeded)
    assert row.rest_s == 200
    assert {entry.region: entry.quarters for entry in row.regions.all()} == {"pec_stern": 4, "delt_ant": 1}


def test_a_coachs_edits_survive_a_changed_entry(seeded, changed_seed):
    row = press(seeded)
    row.rest_s = 90
    row.regions.filter(region="pec_clav").delete()
    row.texts.update(reason="Ours.")
    row.mark_edited("rest_s", "regions", "texts", "load_step")
    row.save()
    changed_seed(PRESS, rest_s=200, tempo="3010", regions={"lat": 1.0}, joints={"elbow": 3}, load_step_kg=9)
    report = seed_practice(seeded)
    row = press(seeded)
    assert row.rest_s == 90 and row.tempo == "3010" and row.load_step == 5
    assert row.texts.get().reason == "Ours."
    assert set(row.regions.values_list("region", flat=True)) == {"pec_stern", "delt_ant", "tri_latmed", "tri_long"}
    assert list(row.joints.values_list("joint", "severity")) == [("elbow", 3)]
    assert set(report.kept) == {f"{PRESS}.{name}" for name in ("rest_s", "regions", "texts", "load_step")}


def test_a_hidden_exercise_stays_hidden(seeded, changed_seed):
    Exercise.objects.filter(pk=press(seeded).pk).update(hidden_at="2026-03-02T08:00Z")
    changed_seed(PRESS, rest_s=200)
    seed_practice(seeded)
    assert press(seeded).hidden_at is not None and press(seeded).rest_s == 200


def test_a_coachs_own_exercise_keeps_its_name(ana):
    own = ExerciseFactory(practice=ana.practice, name="Machine chest press")
    other = ExerciseFactory(practice=ana.practice, name="Machine chest press (seeded)")
    seed_practice(ana.practice)
    own.refresh_from_db()
    other.refresh_from_db()
    assert own.name == "Machine chest press" and other.name == "Machine chest press (seeded)"
    assert press(ana.practice).name == "Machine chest press (seeded 2)"
    assert seed_practice(ana.practice).unchanged == len(exercise_entries()) + len(outline_entries())


def test_an_entry_that_is_renamed_to_a_coachs_name_gives_way(seeded, changed_seed):
    ExerciseFactory(practice=seeded, name="Seated press")
    changed_seed(PRESS, name="Seated press")
    seed_practice(seeded)
    assert press(seeded).name == "Seated press (seeded)"


def test_a_coachs_name_survives_a_renamed_entry(seeded, changed_seed):
    row = press(seeded)
    row.name = "Press, our machine"
    row.mark_edited("name")
    row.save()
    changed_seed(PRESS, name="Seated press")
    seed_practice(seeded)
    assert press(seeded).name == "Press, our machine"


def test_a_changed_template_becomes_a_version_beside_the_old_one(seeded, changed_week):
    old = Outline.objects.get(practice=seeded, seed_key=WEEK)
    block = BlockFactory(client=ClientFactory(practice=seeded), outline=old)
    changed_week(order=["upper", "lower", "upper"])
    report = seed_practice(seeded)
    old.refresh_from_db()
    block.refresh_from_db()
    newer = old.replaced_by
    assert report.changed == [WEEK]
    assert block.outline == old and old.order == ["upper", "lower", "upper", "lower"]
    assert newer.version == 2 and newer.order == ["upper", "lower", "upper"]
    assert newer in Outline.objects.for_practice(seeded).current()
    assert old not in Outline.objects.for_practice(seeded).current()
    assert not seed_practice(seeded).changed


def test_a_coachs_words_for_a_template_go_with_its_new_version(seeded, changed_week):
    old = Outline.objects.get(practice=seeded, seed_key=WEEK)
    old.name = "Four days, ours"
    old.mark_edited("name")
    old.save()
    changed_week(order=["upper", "lower", "upper"], summary="Newer words.")
    report = seed_practice(seeded)
    newer = Outline.objects.for_practice(seeded).current().get(seed_key=WEEK)
    assert newer.name == "Four days, ours" and newer.summary == "Newer words."
    assert report.kept == [f"{WEEK}.name"]
    assert not seed_practice(seeded).kept


def test_a_template_whose_week_a_coach_changed_is_left_alone(seeded, changed_week):
    old = Outline.objects.get(practice=seeded, seed_key=WEEK)
    old.mark_edited("order")
    old.save()
    changed_week(order=["upper", "lower", "upper"])
    report = seed_practice(seeded)
    assert report.kept == [WEEK]
    assert Outline.objects.for_practice(seeded).filter(seed_key=WEEK).get() == old


def test_the_report_says_what_happened(ana, changed_seed):
    first = seed_practice(ana.practice)
    assert str(first) == f"{len(first.made)} made, 0 changed, 0 as they were"
    changed_seed(PRESS, rest_s=200)
    assert str(seed_practice(ana.practice)) == f"0 made, 1 changed, {len(first.made) - 1} as they were"


def test_a_week_has_seven_days_and_no_days_of_its_own(seeded):
    week = Outline.objects.get(practice=seeded, seed_key=WEEK)
    assert (week.cycle_days, week.offsets) == (7, [])


def test_a_rolling_cycle_spreads_its_sessions_evenly_where_the_entry_names_no_days(ana, changed_week):
    changed_week(cycle_days=9)
    seed_practice(ana.practice)
    rolling = Outline.objects.get(practice=ana.practice, seed_key=WEEK)
    assert (rolling.cycle_days, rolling.offsets) == (9, [0, 2, 4, 6])


def test_a_rolling_cycle_keeps_the_days_that_the_entry_names(ana, changed_week):
    changed_week(cycle_days=8, offsets=[0, 1, 4, 5])
    seed_practice(ana.practice)
    rolling = Outline.objects.get(practice=ana.practice, seed_key=WEEK)
    assert (rolling.cycle_days, rolling.offsets) == (8, [0, 1, 4, 5])


def test_a_slot_brings_its_technique_note(ana, monkeypatch):
    entries = copy.deepcopy(seeding.outline_entries())
    first = entries[WEEK]["day"][0]["slot"][0]
    first["technique"] = "Pause on the chest for a second."
    monkeypatch.setattr(seeding, "outline_entries", lambda: entries)
    seed_practice(ana.practice)
    slots = OutlineSlot.objects.filter(day__outline__practice=ana.practice, day__outline__seed_key=WEEK)
    assert slots.get(key=first["key"]).technique == "Pause on the chest for a second."
    assert not slots.exclude(key=first["key"]).exclude(technique="").exists()


def test_a_changed_cycle_becomes_a_new_version(seeded, changed_week):
    changed_week(cycle_days=8)
    report = seed_practice(seeded)
    assert report.changed == [WEEK]
    older, newer = Outline.objects.filter(practice=seeded, seed_key=WEEK).order_by("version")
    assert (older.cycle_days, newer.cycle_days, newer.offsets) == (7, 8, [0, 2, 4, 6])
