"""The seeded templates as coaching: each composed for every level it says it serves, and read as a coach reads it."""

import re
from collections import Counter
from dataclasses import replace
from typing import Any

import pytest

from clients.starting_sets import SETS
from programs import labels
from programs.engine import vocabulary
from programs.engine.compose import ComposedWeek, DayType
from programs.engine.terms import Exercise
from programs.models import Outline, OutlineDay, OutlineLine, OutlineSlot
from programs.models.exercises import valid_tempo
from programs.reads import day_types_of, library_of
from programs.seeding import exercise_entries, outline_entries, seed_practice
from tests.programs.seed_outline_weeks import composed, cycle_of, day_types, library, short_gaps, shown, slots_of

Entry = dict[str, Any]

KEYS = sorted(outline_entries())
FIELDS = {"key", "name", "serves", "summary", "days_per_week", "order", "day"}
MAY_HAVE = {"minutes", "place", "cycle_days", "offsets"}
SLOT_FIELDS = {
    *("key", "title", "region", "also_regions", "patterns", "role", "sets", "reps", "rir", "rest_s", "tempo"),
    *("superset", "priority", "reason", "candidates"),
}
SLOT_MAY_HAVE = {"technique"}
OCCURRENCES = 3  # lists of a slot: for A, B and C

# What a session may take where the template states no minutes of its own (coaching practice).
MINUTES_MOST = {"novice": 75, "intermediate": 90, "advanced": 90}
GROUPS_OUTSIDE_MOST = 2
EVEN_SETS = 5  # between the sessions of one day type

# Lowest and highest by role: reps or seconds, reps in reserve, rest in seconds. From the heavy end of strength
# work to the light end of a return or a later life (ACSM 2009; Fragala et al. 2019; coaching practice).
BY_ROLE = {
    "main": ((3, 15), (1, 4), (60, 300)),
    "secondary": ((5, 15), (1, 4), (60, 180)),
    "isolation": ((8, 20), (0, 4), (45, 120)),
    "trunk": ((6, 60), (1, 4), (45, 90)),
    "carry": ((10, 60), (1, 4), (45, 120)),
}
HEAVY_REPS = 5
HEAVY_REST_S = 180

# How the words of a template say that a kind of movement is missing, and that pulls and presses are uneven.
MISSING_SAID = {
    "squat_or_lunge": "no squat",
    "hinge_or_bridge": "no hinge",
    "knee_flexion": "no knee bend",
    "horizontal_push": "no flat press",
    "vertical_or_incline_push": "no press overhead",
    "horizontal_pull": "no row",
    "vertical_pull": "no pull from above",
    "trunk": "no trunk",
}
UNEVEN_SAID = "pulls outnumber the presses"
NEAR_SAID = r"\b{group} (is|are) loaded on days that follow each other\b"

# Coming back, one easy set of a small exercise is enough for everybody.
SINGLE_SETS = ("return-after-a-layoff-three-days",)
CAREFUL = ("first-year-for-teenagers", "over-sixty-three-days")


def outside(week: ComposedWeek) -> set[str]:
    return {group for group, dose in week.dose.items() if dose.judged.verdict in ("under", "over")}


def range_words(entry: Entry) -> str:
    """The sentences of a summary that say what ends under, over or outside a range."""
    sentences = re.split(r"(?<=[.!?])\s+", entry["summary"])
    return " ".join(
        sentence for sentence in sentences if re.search(r"\b(under|over|outside)\b.*\branges?\b", sentence)
    ).casefold()


def named_groups(entry: Entry) -> set[str]:
    """The groups that a template says end outside their range, by the names that the pages give them."""
    said = range_words(entry)
    return {
        group for group in vocabulary.AUDITED_GROUPS if re.search(rf"\b{str(labels.GROUPS[group]).casefold()}\b", said)
    }


SERVED = [(key, level) for key in KEYS for level in outline_entries()[key]["serves"]]
# Where a template is written for little equipment it is composed there too.
AT = [(key, level, "") for key, level in SERVED] + [
    (key, level, outline_entries()[key]["place"]) for key, level in SERVED if "place" in outline_entries()[key]
]


def test_fifteen_templates_and_four_at_least_for_everybody():
    assert len(KEYS) >= 15
    served = Counter(level for _, level in SERVED)
    assert all(served[level] >= 4 for level in vocabulary.EXPERIENCES), served


@pytest.mark.parametrize("key", KEYS)
def test_fields_are_whole_and_known(key):
    entry = outline_entries()[key]
    assert set(entry) - MAY_HAVE == FIELDS
    assert entry["serves"] and set(entry["serves"]) <= set(vocabulary.EXPERIENCES)
    assert entry.get("place", "home-dumbbells") in SETS
    for _, slot in slots_of(entry):
        assert set(slot) - SLOT_MAY_HAVE == SLOT_FIELDS, slot["key"]
        assert slot["role"] in vocabulary.ROLES
        assert set(slot["patterns"]) <= set(vocabulary.PATTERNS), slot["key"]
        assert set(slot["sets"]) == set(vocabulary.EXPERIENCES), slot["key"]
        for low, high in slot["sets"].values():
            assert 1 <= low <= high <= 8, slot["key"]
        assert 1 <= slot["priority"] <= 3
        assert re.fullmatch("[A-Z]?", slot["superset"])
        if slot["tempo"]:
            valid_tempo(slot["tempo"])


@pytest.mark.parametrize("key", sorted(set(KEYS) - set(SINGLE_SETS)))
def test_past_the_first_year_nothing_is_set_up_for_a_single_set(key):
    entry = outline_entries()[key]
    levels = set(entry["serves"]) - {"novice"}
    assert [slot["key"] for _, slot in slots_of(entry) for level in levels if slot["sets"][level][0] < 2] == []


@pytest.mark.parametrize("key", KEYS)
def test_texts_fit_their_columns(key):
    entry = outline_entries()[key]

    def most(model: Any, name: str) -> int:
        return model._meta.get_field(name).max_length

    assert len(entry["name"]) <= most(Outline, "name")
    for day, slot in slots_of(entry):
        assert len(day["key"]) <= most(OutlineDay, "key") and len(day["name"]) <= most(OutlineDay, "name")
        for name in ("key", "title", "reason"):
            assert len(slot[name]) <= most(OutlineSlot, name), (slot["key"], name)
        assert len(slot.get("technique", "")) <= most(OutlineSlot, "technique"), slot["key"]
    for day in entry["day"]:
        for line in day.get("line", []):
            assert line["position"] in ("start", "end", "note")
            assert 0 < len(line["text"]) <= most(OutlineLine, "text")
            assert 0 <= line["minutes"] <= 20


@pytest.mark.parametrize("key", KEYS)
def test_the_order_comes_round_every_day_type(key):
    entry = outline_entries()[key]
    assert set(entry["order"]) == {day["key"] for day in entry["day"]}
    assert len(entry["order"]) == entry["days_per_week"]
    assert all(entry["order"].count(day["key"]) <= OCCURRENCES for day in entry["day"])
    keys = [slot["key"] for _, slot in slots_of(entry)]
    assert len(keys) == len(set(keys))
    if "cycle_days" in entry:
        assert len(entry["offsets"]) == len(entry["order"])
        assert entry["offsets"] == sorted(set(entry["offsets"]))
        assert entry["offsets"][0] == 0 and entry["offsets"][-1] < entry["cycle_days"]


@pytest.mark.parametrize("key", KEYS)
def test_candidates_are_known_ranked_once_and_change_from_one_day_to_the_next(key):
    entry = outline_entries()[key]
    for day, slot in slots_of(entry):
        assert len(slot["candidates"]) == len(slot["reps"]) == OCCURRENCES, slot["key"]
        for keys in slot["candidates"]:
            assert len(keys) >= 2 and len(keys) == len(set(keys)), slot["key"]
            assert set(keys) <= set(exercise_entries()), slot["key"]
        first = [keys[0] for keys in slot["candidates"]]
        # As often as the day type comes round; a third time that it does not come may go back to the first.
        times = entry["order"].count(day["key"])
        assert len(set(first[:times])) == times, slot["key"]
        assert first[0] != first[1] != first[2], slot["key"]


@pytest.mark.parametrize("key", KEYS)
def test_reps_effort_and_rest_lie_within_what_is_known_to_work(key):
    for _, slot in slots_of(outline_entries()[key]):
        (fewest, most), (hardest, easiest), (short, long) = BY_ROLE[slot["role"]]
        assert hardest <= slot["rir"] <= easiest, slot["key"]
        assert short <= slot["rest_s"] <= long, slot["key"]
        for low, high in slot["reps"]:
            assert fewest <= low < high <= most, slot["key"]
            assert high > HEAVY_REPS or slot["rest_s"] >= HEAVY_REST_S, slot["key"]


@pytest.mark.parametrize("key", CAREFUL)
def test_the_young_and_the_old_stay_well_short_of_failure_with_basic_movements(key):
    entry = outline_entries()[key]
    for _, slot in slots_of(entry):
        assert slot["rir"] >= 3, slot["key"]
        assert {exercise_entries()[name]["skill"] for names in slot["candidates"] for name in names} == {"basic"}
        assert slot.get("technique"), slot["key"]
        assert all(low >= 8 for low, _ in slot["reps"]), slot["key"]


@pytest.mark.parametrize("key", KEYS)
def test_supersets_stand_together_and_in_pairs(key):
    for day in outline_entries()[key]["day"]:
        marks = [slot["superset"] for slot in day["slot"]]
        for mark in set(marks) - {""}:
            places = [number for number, found in enumerate(marks) if found == mark]
            assert places == list(range(places[0], places[0] + len(places))) and 2 <= len(places) <= 3, day["key"]


@pytest.mark.parametrize("key", KEYS)
def test_the_summary_says_whom_it_serves_and_why(key):
    entry = outline_entries()[key]
    summary = entry["summary"]
    assert 150 <= len(summary) <= 900
    assert summary == summary.strip() and "  " not in summary and "\n" not in summary
    assert re.search(
        r"\b(serves?|suits?|written for|for)\b.*\b(clients?|people|person|somebody|teenagers?|lifters?)", summary
    )
    assert re.search(r"\b(because|so that|so|since|which)\b", summary)
    assert not re.search(r"(?i)\b(guarantee|promise|fastest|optimal|transform|burn|toned?|shred)", summary)
    assert not re.search(r"(?i)[®™©]|https?:", summary)


def test_reasons_are_sentences_and_each_stands_once():
    reasons = [slot["reason"] for key in KEYS for _, slot in slots_of(outline_entries()[key])]
    assert [text for text, count in Counter(reasons).items() if count > 1] == []
    for text in reasons:
        assert len(text) >= 30 and text.endswith(".") and text[0].isupper(), text
    names = [outline_entries()[key]["name"] for key in KEYS]
    assert len(set(names)) == len(names)


def test_technique_notes_are_short_commands():
    for key in KEYS:
        for _, slot in slots_of(outline_entries()[key]):
            note = slot.get("technique", "")
            assert not note or (note.endswith(".") and note[0].isupper() and "  " not in note), (key, note)


@pytest.mark.parametrize(("key", "level", "place"), AT)
def test_every_slot_is_filled(key, level, place):
    week = composed(key, level, place)
    assert [(gap.slot, gap.occurrence) for gap in week.unfilled] == []


@pytest.mark.parametrize(("key", "level", "place"), AT)
def test_few_groups_end_outside_their_range_and_the_text_names_them(key, level, place):
    found = outside(composed(key, level, place))
    assert len(found) <= GROUPS_OUTSIDE_MOST, found
    assert found <= named_groups(outline_entries()[key])


@pytest.mark.parametrize("key", KEYS)
def test_the_text_names_no_group_that_is_well_served(key):
    weeks = [composed(*at) for at in AT if at[0] == key]
    assert named_groups(outline_entries()[key]) <= set().union(*(outside(week) for week in weeks))


@pytest.mark.parametrize(("key", "level", "place"), AT)
def test_sessions_keep_to_their_minutes(key, level, place):
    most = outline_entries()[key].get("minutes", MINUTES_MOST[level])
    assert [round(session.minutes) for session in composed(key, level, place).minutes if session.minutes > most] == []


@pytest.mark.parametrize(("key", "level", "place"), AT)
def test_a_day_type_asks_about_as_much_each_time(key, level, place):
    sets: dict[str, list[int]] = {}
    for session in composed(key, level, place).minutes:
        sets.setdefault(session.day, []).append(session.sets)
    assert {day: found for day, found in sets.items() if max(found) - min(found) > EVEN_SETS} == {}


@pytest.mark.parametrize(("key", "level", "place"), AT)
def test_pulls_balance_presses_and_no_kind_of_movement_is_missing_unsaid(key, level, place):
    week = composed(key, level, place)
    said = outline_entries()[key]["summary"].casefold()
    assert [kind for kind in week.audit.patterns_missing if MISSING_SAID[kind] not in said] == []
    uneven = [why for why in week.warnings if why.code == "week.pull_to_push"]
    assert not uneven or UNEVEN_SAID in said, uneven


@pytest.mark.parametrize(("key", "level", "place"), AT)
def test_no_session_is_overfull_or_badly_ordered(key, level, place):
    bad = (
        *("session.too_many_sets", "session.group_over", "session.twice", "session.over_minutes"),
        *("session.grip_before_main", "session.back_before_main", "session.superset_clash", "session.second_main"),
    )
    assert [why for why in composed(key, level, place).warnings if why.code in bad] == []


@pytest.mark.parametrize(("key", "level", "place"), AT)
def test_days_that_follow_each_other_leave_a_group_its_rest_or_the_text_says_so(key, level, place):
    said = outline_entries()[key]["summary"].casefold()
    groups = {gap.group for gap in short_gaps(key, level, place)}
    unsaid = [g for g in groups if not re.search(NEAR_SAID.format(group=str(labels.GROUPS[g]).casefold()), said)]
    assert unsaid == []


@pytest.mark.parametrize(("key", "level"), SERVED)
def test_first_choices_at_the_middle_of_their_sets_come_near_the_dose(key, level):
    audit = shown(key, level).audit
    judged = {group: dose.judged for group, dose in audit.dose.items() if dose.judged.verdict in ("under", "over")}
    assert len(judged) <= GROUPS_OUTSIDE_MOST, judged
    assert not any(judgement.strong for judgement in judged.values()), judged


def known_by(term: Exercise, key: str) -> Exercise:
    """The exercise under its seed's key, its regions and joints in an order of their own."""
    joints = sorted(term.joints, key=lambda entry: entry.joint)
    regions = sorted(term.regions, key=lambda entry: entry.region)
    return replace(term, key=key, joints=tuple(joints), regions=tuple(regions))


def with_seed_keys(day: DayType, keys: dict[str, str]) -> DayType:
    slots = (
        replace(slot, candidates=tuple(tuple(keys[key] for key in ranked) for ranked in slot.candidates))
        for slot in day.slots
    )
    return replace(day, slots=tuple(slots))


@pytest.mark.django_db
def test_seeding_writes_the_very_weeks_that_are_composed_here(ana):
    seed_practice(ana.practice)
    keys = {row.key: row.seed_key for row in ana.practice.exercises.all()}
    written = {keys[row.key]: known_by(row, keys[row.key]) for row in library_of(ana.practice).values()}
    assert written == {key: known_by(term, key) for key, term in library().items()}
    outlines = Outline.objects.for_practice(ana.practice).with_week()
    assert sorted(outline.seed_key for outline in outlines) == KEYS
    for outline in outlines:
        entry = outline_entries()[outline.seed_key]
        assert outline.cycle_days == cycle_of(entry) and outline.offsets == entry.get("offsets", [])
        for level in vocabulary.EXPERIENCES:
            found = [with_seed_keys(day, keys) for day in day_types_of(outline, level)]
            assert found == list(day_types(entry, level)), (outline.seed_key, level)
