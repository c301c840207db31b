"""The seed files of the exercise library: whole, consistent, and in the words the program computes with."""

import re
import tomllib
from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest

from programs.drawings.figures import keys
from programs.engine import vocabulary
from programs.seeding import FACTS, SEED_DIR, WORDS, exercise_entries, outline_entries

Entry = dict[str, Any]

FILES = sorted((SEED_DIR / "exercises").glob("*.toml"))
ENTRIES: list[Entry] = [entry for path in FILES for entry in tomllib.loads(path.read_text())["exercise"]]

FIELDS = {*FACTS, "key", "load_step_kg", "stretched", "regions", "joints", "text"}
CODES = {
    "pattern": vocabulary.PATTERNS,
    "limbs": vocabulary.LIMBS,
    "role": vocabulary.ROLES,
    "skill": vocabulary.SKILLS,
    "implement": vocabulary.LOADED_STATIONS + vocabulary.EVERYWHERE,
    "load_entry": vocabulary.LOAD_ENTRIES,
    "rep_unit": vocabulary.REP_UNITS,
}
LISTS = ("set_up", "execution")
PARAGRAPHS = ("cautions", "reason", "range_note", "regression", "progression")

# A trial is cited only for the movements it compared.
STUDIED = {
    "Brandão et al. 2020": {"horizontal_push", "elbow_extension"},
    "Chaves et al. 2020": {"horizontal_push", "incline_push"},
    "Kinoshita et al. 2023": {"calf_raise"},
    "Kubo et al. 2019": {"squat", "knee_extension"},
    "Maeo et al. 2021": {"knee_flexion"},
    "Maeo et al. 2023": {"elbow_extension"},
}


def primary(entry: Entry) -> set[str]:
    return {region for region, share in entry["regions"].items() if share == 1}


def needs(entry: Entry) -> list[str]:
    return [*entry["needs_all"], *(kind for choice in entry["needs_one"] for kind in choice)]


def english(entry: Entry) -> dict[str, Any]:
    return entry["text"]["en"]


def passages(entry: Entry) -> Iterator[str]:
    """Everything a person reads about an exercise, a step, cue, fault, correction or paragraph at a time."""
    text = english(entry)
    for name in LISTS:
        yield from text[name]
    for fault, correction in text["faults"]:
        yield fault
        yield correction
    for name in PARAGRAPHS:
        yield text[name]


def sentences(entry: Entry) -> Iterator[str]:
    for passage in passages(entry):
        for sentence in re.split(r"(?<=[.!?])\s+", passage):
            yield sentence.casefold().rstrip(".!?")


def repeated(things: Iterator[str] | list[str]) -> list[str]:
    return [thing for thing, count in Counter(things).items() if count > 1]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_file_holds_exercises(path):
    content = tomllib.loads(path.read_text())
    assert list(content) == ["exercise"]
    assert content["exercise"]


def test_the_seeding_reads_every_entry():
    assert len(exercise_entries()) == len(ENTRIES)


def test_no_field_is_missing_or_unknown():
    assert [(entry["key"], set(entry) ^ FIELDS) for entry in ENTRIES if set(entry) != FIELDS] == []
    assert [entry["key"] for entry in ENTRIES if set(english(entry)) != set(WORDS)] == []


def test_keys_and_names_are_unique():
    assert repeated([entry["key"] for entry in ENTRIES]) == []
    assert repeated([entry["name"] for entry in ENTRIES]) == []


def test_keys_are_the_names_in_kebab_case():
    def kebab(name: str) -> str:
        return "-".join(re.findall(r"[a-z0-9]+", name.lower()))

    assert [entry["key"] for entry in ENTRIES if entry["key"] != kebab(entry["name"])] == []


def test_a_name_or_alias_means_one_exercise():
    spoken = [word.casefold() for entry in ENTRIES for word in (entry["name"], *entry["aliases"])]
    assert repeated(spoken) == []
    assert [entry["key"] for entry in ENTRIES if len(entry["aliases"]) > 4] == []


@pytest.mark.parametrize("name", CODES)
def test_codes_are_in_the_vocabulary(name):
    assert [(entry["key"], entry[name]) for entry in ENTRIES if entry[name] not in CODES[name]] == []


def test_regions_joints_and_stations_are_in_the_vocabulary():
    for entry in ENTRIES:
        assert set(entry["regions"]) <= set(vocabulary.REGIONS), entry["key"]
        assert set(entry["joints"]) <= set(vocabulary.JOINT_TAGS), entry["key"]
        assert set(needs(entry)) <= set(vocabulary.STATION_KINDS), entry["key"]


def test_angle_and_grip_are_plain_words():
    for entry in ENTRIES:
        for name in ("angle", "grip"):
            assert re.fullmatch(r"[a-z_]*", entry[name]), (entry["key"], name)


def test_what_is_needed_does_not_repeat_the_implement_or_itself():
    for entry in ENTRIES:
        assert entry["implement"] not in entry["needs_all"], entry["key"]
        assert repeated(entry["needs_all"]) == [], entry["key"]
        # A choice of one belongs among the things that must all be there.
        assert all(len(set(choice)) == len(choice) > 1 for choice in entry["needs_one"]), entry["key"]


def test_every_exercise_has_a_primary_region_and_known_shares():
    assert [entry["key"] for entry in ENTRIES if not primary(entry)] == []
    assert [entry["key"] for entry in ENTRIES if not set(entry["regions"].values()) <= {1, 0.5, 0.25}] == []


def test_stretched_regions_are_trained_regions():
    assert [entry["key"] for entry in ENTRIES if not set(entry["stretched"]) <= set(entry["regions"])] == []
    assert [entry["key"] for entry in ENTRIES if repeated(entry["stretched"])] == []


def test_joint_severities_are_one_to_three():
    assert [entry["key"] for entry in ENTRIES if not set(entry["joints"].values()) <= {1, 2, 3}] == []


def test_numbers_are_possible():
    for entry in ENTRIES:
        assert 1 <= entry["rep_low"] < entry["rep_high"], entry["key"]
        assert 30 <= entry["rest_s"] <= 300, entry["key"]
        assert entry["load_step_kg"] > 0, entry["key"]
        assert 0 <= entry["bodyweight_fraction"] <= 1, entry["key"]


def test_only_added_and_assisted_loads_sit_on_a_share_of_bodyweight():
    for entry in ENTRIES:
        if entry["bodyweight_fraction"]:
            assert entry["load_entry"] in ("added", "assisted"), entry["key"]
        if entry["load_entry"] == "assisted":
            assert entry["bodyweight_fraction"] > 0, entry["key"]


def test_repetitions_have_a_tempo_and_holds_and_carries_none():
    for entry in ENTRIES:
        if entry["rep_unit"] == "reps":
            assert re.fullmatch(r"[0-9X]{4}", entry["tempo"]), entry["key"]
        else:
            assert entry["tempo"] == "", entry["key"]


def test_the_library_leaves_no_region_or_pattern_without_an_exercise():
    assert set(vocabulary.REGIONS) - {region for entry in ENTRIES for region in primary(entry)} == set()
    assert set(vocabulary.PATTERNS) - {entry["pattern"] for entry in ENTRIES} == set()


def test_every_audited_group_can_be_loaded_stretched():
    groups = {vocabulary.GROUP_OF_REGION[region] for entry in ENTRIES for region in entry["stretched"]}
    assert set(vocabulary.AUDITED_GROUPS) - groups == set()


@pytest.mark.parametrize("name", LISTS)
def test_steps_and_cues_are_few_and_fit_a_phone(name):
    for entry in ENTRIES:
        lines = english(entry)[name]
        assert 3 <= len(lines) <= 6, entry["key"]
        assert [line for line in lines if not 20 <= len(line) <= 90] == [], entry["key"]


def test_faults_come_with_a_correction():
    for entry in ENTRIES:
        faults = english(entry)["faults"]
        assert 2 <= len(faults) <= 4, entry["key"]
        for fault, correction in faults:
            assert 5 <= len(fault) <= 60, entry["key"]
            assert 20 <= len(correction) <= 90, entry["key"]


@pytest.mark.parametrize("name", PARAGRAPHS)
def test_paragraphs_are_short(name):
    lengths = {entry["key"]: len(english(entry)[name]) for entry in ENTRIES}
    assert {key: length for key, length in lengths.items() if not 20 <= length <= 200} == {}


def test_texts_begin_and_end_like_sentences():
    for entry in ENTRIES:
        for passage in passages(entry):
            assert passage == passage.strip() and "  " not in passage, (entry["key"], passage)
            assert not passage[0].islower(), (entry["key"], passage)
            assert "'" not in passage, (entry["key"], passage)  # apostrophes are typographic, as on every page
        text = english(entry)
        whole = [*text["set_up"], *text["execution"], *(text[name] for name in PARAGRAPHS)]
        whole += [correction for _fault, correction in text["faults"]]
        assert [sentence for sentence in whole if not sentence.endswith(".")] == [], entry["key"]


def test_no_two_exercises_share_a_sentence():
    assert repeated([sentence for entry in ENTRIES for sentence in sentences(entry)]) == []


def test_evidence_is_coaching_practice_or_a_trial_of_that_movement():
    for entry in ENTRIES:
        source = english(entry)["evidence"]
        if source != "coaching practice":
            assert entry["pattern"] in STUDIED[source], entry["key"]


def test_every_candidate_of_an_outline_trains_what_its_slot_asks_for():
    for outline in outline_entries().values():
        slots = [slot for day in outline["day"] for slot in day["slot"]]
        assert slots
        for slot in slots:
            wanted = {slot["region"], *slot["also_regions"]}
            assert wanted <= set(vocabulary.REGIONS), slot["key"]
            for key in (key for occurrence in slot["candidates"] for key in occurrence):
                assert key in exercise_entries(), (outline["key"], slot["key"], key)
                entry = exercise_entries()[key]
                assert primary(entry) & wanted, (outline["key"], slot["key"], key)
                assert entry["pattern"] in slot["patterns"], (outline["key"], slot["key"], key)


def test_every_drawing_named_is_on_file_and_every_one_on_file_is_of_an_exercise_here():
    named = {entry["figure"] for entry in ENTRIES} - {""}

    assert named == set(keys()) <= {entry["key"] for entry in ENTRIES}
    assert [entry["key"] for entry in ENTRIES if entry["key"] in named and entry["figure"] != entry["key"]] == []


def test_most_exercises_have_a_drawing_and_those_that_no_drawing_would_be_true_to_have_none():
    without = {entry["key"] for entry in ENTRIES if not entry["figure"]}

    assert len(ENTRIES) - len(without) >= 150
    # Turning about a limb's own axis, movement along the line of sight, and travel too small to be seen.
    assert without > {"cable-external-rotation", "machine-chest-fly", "side-plank", "dumbbell-shrug", "wrist-curl"}


def test_a_shared_drawing_shows_the_same_limbs_and_pattern():
    by_key = {entry["key"]: entry for entry in ENTRIES}

    for entry in ENTRIES:
        if entry["figure"] not in ("", entry["key"]):
            own = by_key[entry["figure"]]
            assert (entry["limbs"], entry["pattern"]) == (own["limbs"], own["pattern"]), entry["key"]
