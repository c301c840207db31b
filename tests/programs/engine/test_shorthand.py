import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine.shorthand import (
    DOUBT_CODES,
    ParsedSet,
    Part,
    format_sets,
    parse,
    parse_message,
)


def written(text, load_entry=None, rep_unit="reps", locale="en", unit="kg"):
    return format_sets(parse(text, unit, locale, load_entry, rep_unit).sets)


def doubts(text, load_entry=None, rep_unit="reps", unit="kg"):
    return [doubt.code for doubt in parse(text, unit, "en", load_entry, rep_unit).doubts]


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("3x8@60", "60 kg x 8/8/8"),
        ("3×8 @ 60 kg", "60 kg x 8/8/8"),
        ("4 × 6 @ 70 kg", "70 kg x 6/6/6/6"),
        ("60kg x 8,8,7", "60 kg x 8/8/7"),
        ("60 x 8/8/7", "60 kg x 8/8/7"),
        ("60 kg: 8, 8, 7", "60 kg x 8/8/7"),
        ("60 kg 3x8", "60 kg x 8/8/8"),
        ("62,5x8", "62.5 kg x 8"),
        ("62.5x8", "62.5 kg x 8"),
        ("62½ kg x 8", "62.5 kg x 8"),
        ("3 sets of 8 @ 60", "60 kg x 8/8/8"),
        ("3 Sätze à 8 mit 62,5 kg", "62.5 kg x 8/8/8"),
        ("8 reps at 60kg", "60 kg x 8"),
        ("60kg for 8", "60 kg x 8"),
        ("8,8,7@60", "60 kg x 8/8/7"),
        ("8 @ 60, 7 @ 60", "60 kg x 8/7"),
        ("8x60kg", "60 kg x 8"),
        ("3x60kg x 8", "60 kg x 8/8/8"),
        ("70 x 6 x 3", "70 kg x 6/6/6"),
        ("3 x 6 x 70", "70 kg x 6/6/6"),
        ("165 x 5 x 3", "165 kg x 5/5/5"),
        ("60x8, 62.5x8; 65x6", "60 kg x 8; 62.5 kg x 8; 65 kg x 6"),
        ("60x8 62,5x8 65x6", "60 kg x 8; 62.5 kg x 8; 65 kg x 6"),
        ("60x8,65x6", "60 kg x 8; 65 kg x 6"),
        ("60/62.5/65 x 8/8/6", "60 kg x 8; 62.5 kg x 8; 65 kg x 6"),
        ("60,65,70 x 8,8,6", "60 kg x 8; 65 kg x 8; 70 kg x 6"),
        ("135 lb x 5", "135 lb x 5"),
        ("50#x8", "50 lb x 8"),
        ("8/8/7", "8/8/7 reps"),
        ("8 8 7", "8/8/7 reps"),
        ("8-8-7", "8/8/7 reps"),
        ("5,5,9+", "5/5/9+ reps"),
        ("60 x amrap 12", "60 kg x 12+"),
        ("60x6F", "60 kg x 6F rir 0"),
        ("8/-/7", "8/-/7 reps"),
        ("BW x 8", "BW x 8"),
        ("BW+10 x 6", "BW+10 kg x 6"),
        ("3x8 @ BW+10", "BW+10 kg x 8/8/8"),
        ("BW-15 x 8", "BW-15 kg x 8"),
        ("+10 x 6", "BW+10 kg x 6"),
        ("22.5 ea x 10", "22.5 kg each x 10"),
        ("24kg each x 10/10/9", "24 kg each x 10/10/9"),
        ("44 total x 10", "44 kg total x 10"),
        ("#7 x 10", "pin 7 x 10"),
        ("pin 7 x 12/12", "pin 7 x 12/12"),
        ("red band x 12", "band red x 12"),
        ("70x8+3+2", "70 kg x 8+3+2"),
        ("50x10 > 40x8", "50 kg x 10 > 40 kg x 8"),
        ("20x10 → 16x6 → 12x5", "20 kg x 10 > 16 kg x 6 > 12 kg x 5"),
        ("60 x L8/R6", "60 kg x L8/R6"),
        ("L8/R6", "L8/R6 reps"),
        ("24 x 8/leg", "24 kg x 8e"),
        ("24 x 10e, 9e", "24 kg x 10e/9e"),
        ("0:45", "45 s"),
        ("1:30", "90 s"),
        ("0:01:30", "90 s"),
        ("40s", "40 s"),
        ('40"', "40 s"),
        ("1'20\"", "80 s"),
        ("2 min", "120 s"),
        ("3x0:40", "40 s/40 s/40 s"),
        ("24x50s", "24 kg x 50 s"),
        ("wu 40x5; 60x8", "warm-up 40 kg x 5; 60 kg x 8"),
        ("40x5 (warm-up), 60x8", "warm-up 40 kg x 5; 60 kg x 8"),
        ("3x5@100, 1x5@80 back-off", "100 kg x 5/5/5; back-off 80 kg x 5"),
    ],
)
def test_the_usual_notations_are_read_without_a_doubt(text, meaning):
    assert written(text) == meaning
    assert doubts(text) == []


@pytest.mark.parametrize(
    ("text", "efforts"),
    [
        ("60x8@2", [2]),
        ("60x8 @8", [2]),
        ("60x8 @7.5", [2.5]),
        ("60x8 rir 2", [2]),
        ("60x8 (RIR 2)", [2]),
        ("60x8 2 rir", [2]),
        ("60x8 rpe 8", [2]),
        ("60x8 rpe 9,5", [0.5]),
        ("60x8 rir 7", [5]),
        ("60x8@2,8@1,7@0", [2, 1, 0]),
        ("60x8/8/7 rir 2/1/0", [2, 1, 0]),
        ("60x8/8/7, 2 rir", [2, 2, 2]),
        ("60x8 60x8 60x7 rir 1", [None, None, 1]),
        ("3x8@60 rir 2", [2, 2, 2]),
        ("60x8", [None]),
    ],
)
def test_effort_is_read_as_repetitions_in_reserve(text, efforts):
    parsed = parse(text, "kg", "en")
    assert [one.rir for one in parsed.sets] == efforts
    assert parsed.clear


@pytest.mark.parametrize(
    ("text", "code", "first", "other"),
    [
        ("12x12", "sets_or_load", "12 kg x 12", "/".join(["12"] * 12) + " reps"),
        ("4x6@8", "effort_or_load", "6/6/6/6 reps rir 2", "8 kg x 6/6/6/6"),
        ("8/6", "sides_or_sets", "8/6 reps", "L8/R6 reps"),
        ("12,5", "comma_unclear", "12/5 reps", "12.5 kg"),
        ("2x8@60,65", "comma_unclear", "60.65 kg x 8/8", "60 kg x 8; 65 kg x 8"),
        ("60 8 8 7", "list_unclear", "60 kg x 8/8/7", "60/8/8/7 reps"),
        ("1.250 x 5", "thousands_mark", "1.25 kg", "1250 kg"),
        ("225", "bare_number", "225 kg", "225 reps"),
    ],
)
def test_what_can_be_read_in_two_ways_is_asked_about_with_both(text, code, first, other):
    (doubt,) = parse(text, "kg", "en").doubts
    assert doubt.code == code
    assert doubt.readings == (first, other)
    assert all(parse(reading, "kg", "en").sets for reading in doubt.readings)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("8", "bare_number"),
        ("22.5 ea", "reps_missing"),
        ("60kg", "reps_missing"),
        ("-15x8", "sign_unclear"),
        ("3x60kg", "reps_or_sets"),
        ("3x8,8@60", "sets_disagree"),
        ("60/65 x 8/8/8", "loads_and_reps_disagree"),
        ("60x8/8/8 rir 2/1", "effort_count"),
        ("60x8 rir 1-2", "effort_range"),
        ("60x8 rpe 4", "effort_not_rated"),
        ("60x8 rir 12", "effort_out_of_range"),
        ("50x10 > 40x8 rir 0", "effort_of_parts"),
        ("8-10", "range_not_result"),
        ("3x8-10@60", "range_not_result"),
        ("L8", "one_side_only"),
        ("2 plates x 5", "plates_need_place"),
        ("bar x 5", "plates_need_place"),
        ("15/side + bar", "plates_per_side"),
        ("20kg/side x 8", "plates_per_side"),
        ("60x0", "zero_reps"),
        ("60x80", "reps_high"),
        ("60x8.5", "reps_not_whole"),
        ("60kg x 8, 135lb x 5", "units_mixed"),
        ("60x8 rest 90s", "left_over_number"),
        ("70x8 (+2 partials)", "left_over_number"),
        ("6-Oct", "date_in_cell"),
        ("10/8/2007", "date_in_cell"),
        ("same as last time", "cannot_read"),
        ("✓", "as_planned"),
        ("1000000000 kg x 5", "number_too_large"),
        ("40 sets of 8 @ 60", "number_too_large"),
        ("20x8@60", "sets_or_load"),
        ("60 x " + "8/" * 40 + "8", "number_too_large"),
    ],
)
def test_a_doubt_is_raised(text, code):
    assert code in doubts(text)


def test_a_tick_and_a_spreadsheet_date_give_no_sets():
    assert parse("done", "kg", "en").sets == ()
    parsed = parse("10/8/2007", "kg", "en")
    assert parsed.sets == ()
    assert parsed.doubts[0].readings == ("10/8/7 reps",)


@pytest.mark.parametrize("text", ["", "-", "x", "  ", "skipped"])
def test_what_was_not_done_is_no_set_and_no_doubt(text):
    parsed = parse(text, "kg", "en")
    assert parsed.sets == ()
    assert parsed.clear


def test_words_are_kept_as_a_note_and_no_effort_is_made_of_them():
    parsed = parse("70x6 then 65x8, knee sore", "kg", "en")
    assert format_sets(parsed.sets) == "70 kg x 6; 65 kg x 8"
    assert parsed.note == "knee sore"
    assert [one.rir for one in parsed.sets] == [None, None]


def test_a_figure_behind_words_is_no_set():
    parsed = parse("8/8/7 knee 4/10", "kg", "en")
    assert len(parsed.sets) == 3
    assert parsed.note == "knee 4/10"
    assert doubts("8/8/7 knee 4/10") == ["left_over_number"]


def test_no_load_is_not_zero_and_bodyweight_is_nothing_added():
    assert parse("8/8/7", "kg", "en").sets[0].load is None
    (bodyweight,) = parse("BW x 8", "kg", "en").sets
    assert (bodyweight.load, bodyweight.entry) == (0.0, "added")


def test_the_unit_written_beats_the_unit_expected():
    parsed = parse("135 lb x 5", "kg", "en")
    assert (parsed.unit, parsed.sets[0].unit) == ("lb", "lb")
    assert parse("60x5", "lb", "en").sets[0].unit == "lb"
    assert parse("pin 7 x 10", "kg", "en").sets[0].unit is None


@pytest.mark.parametrize(
    ("text", "load_entry", "rep_unit", "meaning", "codes"),
    [
        ("8/8/7", "added", "reps", "8/8/7 reps", []),
        ("8", "added", "reps", "8 reps", []),
        ("40/40/35", "added", "seconds", "40 s/40 s/35 s", []),
        ("3x40", "none", "seconds", "40 s/40 s/40 s", []),
        ("24 x 40", "per_hand", "metres", "24 kg x 40 m", []),
        ("0.0625", "none", "seconds", "90 s", ["day_fraction"]),
        ("1:30:00", None, "seconds", "90 s", ["day_fraction"]),
        ("40m", None, "seconds", "40 m", ["metres_or_minutes"]),
        ("7x10", "numbered_setting", "reps", "pin 7 x 10", []),
        ("12x15", "none", "reps", "/".join(["15"] * 12) + " reps", []),
        ("3x12@red", "band", "reps", "band red x 12/12/12", []),
        ("-15 x 8", "assisted", "reps", "BW-15 kg x 8", []),
        ("10x6", "added", "reps", "10 kg x 6", ["sets_or_load"]),
        ("2x22", "per_hand", "reps", "22/22 reps", ["two_implements_or_sets"]),
        ("44 total x 10", "per_hand", "reps", "44 kg total x 10", ["total_for_per_hand"]),
        ("22.5 ea x 8", "total", "reps", "22.5 kg each x 8", ["each_for_total"]),
        ("+10 x 8", "total", "reps", "BW+10 kg x 8", ["added_for_total"]),
    ],
)
def test_the_exercise_decides_what_numbers_mean(text, load_entry, rep_unit, meaning, codes):
    assert written(text, load_entry, rep_unit) == meaning
    assert doubts(text, load_entry, rep_unit) == codes


def test_half_and_whole_are_offered_where_a_sum_was_written_for_one_of_two():
    (doubt,) = parse("44 total x 10", "kg", "de", "per_hand").doubts
    assert doubt.readings == ("22 kg each x 10", "44 kg each x 10")
    (doubt,) = parse("45 total x 10", "kg", "de", "per_hand").doubts
    assert doubt.readings[0] == "22,5 kg each x 10"


def test_parts_sides_and_help_reach_the_engine_as_one_set_with_parts():
    drops = parse("50x10 > 40x8", "kg", "en").done()
    assert [(one.kind, one.load, one.reps) for one in drops] == [("work", 50, 10), ("drop", 40, 8)]
    (sided,) = parse("24 x L10/R8", "kg", "en").sets
    assert (sided.left, sided.right, sided.reps) == (10, 8, 8)
    (helped,) = parse("BW-15 x 8", "kg", "en").sets
    assert helped.as_done("assisted")[0].load == 15
    assert helped.as_done("added")[0].load == -15


def test_an_unknown_unit_is_refused():
    with pytest.raises(ValueError, match="unit"):
        parse("60x8", "stone", "en")


# Properties

loads = st.integers(1, 400_000).map(lambda grams: grams / 1000)
efforts = st.none() | st.sampled_from([0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0])


@st.composite
def parsed_sets(draw):
    sets = []
    number = 0
    for _ in range(draw(st.integers(1, 5))):
        number += draw(st.sampled_from([1, 1, 1, 2]))
        sets.append(draw(one_set(number)))
    return sets


@st.composite
def one_set(draw, number):
    entry = draw(st.sampled_from([None, None, "added", "assisted", "per_hand", "total", "numbered_setting", "band"]))
    unit = draw(st.sampled_from(["kg", "lb"]))
    values = {"number": number, "entry": entry, "rir": draw(efforts)}
    if entry == "band":
        values["band"] = draw(st.sampled_from(["red", "green", "dark blue"]))
    elif entry == "numbered_setting":
        values["load"] = float(draw(st.integers(1, 30)))
    elif entry is not None or draw(st.booleans()):
        values |= {"load": draw(loads), "unit": unit}
        if entry == "added":
            bodyweight = {"load": 0.0, "unit": "kg"}  # "BW" says no unit: the expected one is taken
            values |= draw(st.sampled_from([{}, bodyweight]))
    measure = draw(st.sampled_from(["reps", "reps", "sides", "bursts", "drops", "seconds", "metres"]))
    count = draw(st.integers(1, 50))
    if measure == "seconds":
        return ParsedSet(seconds=draw(st.integers(1, 600)), **values)
    if measure == "metres":
        return ParsedSet(metres=draw(st.integers(1, 600)), **values)
    if measure == "sides":
        left, right = count, draw(st.integers(1, 50))
        return ParsedSet(reps=min(left, right), left=left, right=right, **values)
    if draw(st.booleans()):
        values["kind"] = draw(st.sampled_from(["warm_up", "back_off", "open_ended"]))
    if measure == "bursts":
        bursts = draw(st.lists(st.integers(1, 20), min_size=1, max_size=3))
        values["parts"] = tuple(Part(reps, values.get("load"), values.get("unit")) for reps in bursts)
    elif measure == "drops" and entry in (None, "per_hand") and values.get("load", 0) > 1:
        values["parts"] = (Part(draw(st.integers(1, 20)), round(values["load"] / 2, 3), values["unit"]),)
    elif draw(st.booleans()):
        values |= {"failure": True, "rir": 0.0}
    return ParsedSet(reps=count, **values)


@given(parsed_sets(), st.sampled_from(["en", "de"]))
def test_sets_written_and_read_again_are_the_same(sets, locale):
    text = format_sets(sets, locale)
    parsed = parse(text, "kg", locale)
    assert list(parsed.sets) == sets, text
    assert {doubt.code for doubt in parsed.doubts} <= {"units_mixed", "bare_number", "sides_or_sets"}, text
    assert parsed.note == ""


@given(st.text(alphabet="0123456789.,xX@/+-> \"':;#()kglbBWrirpeaLRF½×\n", max_size=40))
def test_whatever_is_typed_is_read_or_asked_about_but_never_fails(text):
    parsed = parse(text, "kg", "de")
    assert all(doubt.code in DOUBT_CODES for doubt in parsed.doubts)
    numbers = [one.number for one in parsed.sets]
    assert numbers == sorted(set(numbers))
    format_sets(parsed.sets, "de")


@given(st.text(max_size=60), st.sampled_from([None, "added", "per_hand", "band", "numbered_setting", "assisted"]))
def test_any_text_at_all_can_be_handed_in(text, load_entry):
    parse(text, "lb", "en", load_entry, "seconds")


# Messages

NAMES = {
    "Barbell bench press": "bench",
    "bench": "bench",
    "Barbell back squat": "squat",
    "squat": "squat",
    "Kniebeuge": "squat",
    "Pull-up": "pull-up",
    "pullups": "pull-up",
    "45-degree back extension": "back-extension",
    "plank": "plank",
    "Dumbbell bench press (flat)": "dumbbell-bench",
}


def read(text):
    return parse_message(text, NAMES, "kg", "de", {"pull-up": "added", "plank": "added"}, {"plank": "seconds"})


@pytest.mark.parametrize(
    ("line", "key", "meaning"),
    [
        ("Bench: 60x8,8,7", "bench", "60 kg x 8/8/7"),
        ("1. Squat 3x5@100 rir 2", "squat", "100 kg x 5/5/5 rir 2"),
        ("A1) bench 60x8", "bench", "60 kg x 8"),
        ("• PULL UP BW+10 x 6, 6, 5", "pull-up", "BW+10 kg x 6/6/5"),
        ("plank 40/40", "plank", "40 s/40 s"),
        ("45-degree back extension 12/12/10", "back-extension", "12/12/10 reps"),
        ("Dumbbell bench press (flat) 22,5 ea x 10", "dumbbell-bench", "22.5 kg each x 10"),
        ("Kniebeuge – 3x5@102,5", "squat", "102.5 kg x 5/5/5"),
    ],
)
def test_a_line_names_its_exercise_and_its_sets(line, key, meaning):
    (found,) = read(line)
    assert found.exercise == key
    assert format_sets(found.parsed.sets) == meaning
    assert found.clear


def test_lines_without_a_name_go_on_with_the_exercise_before():
    lines = read("Hi, all done today!\n\nBench\n60x8\n62,5x8 felt heavy\nSquat\n3x5@100")
    assert [line.exercise for line in lines] == [None, "bench", "bench", "bench", "squat", "squat"]
    assert [one.number for line in lines[2:4] for one in line.parsed.sets] == [1, 2]
    assert lines[3].parsed.note == "felt heavy"
    assert lines[0].parsed.note == "Hi, all done today!"


def test_a_name_that_is_only_alike_is_offered_and_not_taken():
    (line,) = read("squatt 3x5@100")
    assert line.doubts == ("exercise_guessed",)
    assert line.guesses == ("squat",)
    assert not line.clear


def test_an_unknown_name_keeps_its_sets_for_the_coach_to_place():
    (line,) = read("hammer curls 12/12/10")
    assert (line.exercise, line.named, line.doubts) == (None, "hammer curls", ("exercise_unknown",))
    assert len(line.parsed.sets) == 3


def test_sets_before_any_name_are_asked_about():
    (line,) = read("60x8/8/7")
    assert line.doubts == ("exercise_missing",)


def test_a_sentence_with_a_figure_is_a_note():
    (line,) = read("felt great, slept 7 h")
    assert line.parsed.sets == ()
    assert line.parsed.note == "felt great, slept 7 h"


@given(st.text(max_size=200))
def test_any_message_can_be_pasted(text):
    read(text)
