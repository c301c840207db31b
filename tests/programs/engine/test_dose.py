"""Counting a week: a small one by hand, and what always holds."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine import dose
from programs.engine.constants import SetRange
from programs.engine.dose import Work, judge, rise_guard, weekly
from programs.engine.terms import RegionShare, SetDone
from programs.engine.vocabulary import AUDITED_GROUPS, GROUP_OF_REGION, REGIONS


def shares(**regions):
    return tuple(RegionShare(region, share) for region, share in regions.items())


SQUAT = shares(vasti=1, glute_max=1, adductors=0.5, erector=0.5, rect_fem=0.25)
ROMANIAN = shares(hams=1, glute_max=1, erector=0.5, adductors=0.5, fore_flex=0.25)
PULLDOWN = shares(lat=1, biceps=0.5, brachialis=0.5, trap_low=0.5, rhomb=0.5, delt_post=0.25)
CALF = shares(gastroc=1, soleus=1)
LEG_PRESS = shares(vasti=1, glute_max=0.5, adductors=0.5)
LEG_CURL = shares(hams=1, gastroc=0.25)
ROW = shares(trap_mid=1, rhomb=1, lat=0.5, delt_post=0.5, biceps=0.5, brachialis=0.5)
PUSH_UP = shares(pec_stern=1, pec_clav=0.5, delt_ant=0.5, tri_latmed=0.5, tri_long=0.25, abs=0.25)
CURL = shares(biceps=1, brachialis=0.5, fore_flex=0.25)
WEEK = [
    *(Work(regions, sets, "mon") for regions, sets in ((SQUAT, 4), (ROMANIAN, 3), (PULLDOWN, 4), (CALF, 3))),
    *(
        Work(regions, sets, "thu")
        for regions, sets in ((LEG_PRESS, 3), (LEG_CURL, 3), (ROW, 4), (PUSH_UP, 3), (CURL, 3))
    ),
]
EXPECTED = [
    ("glutes", 8.5, 7, "in_range", False),
    ("quads", 7, 7, "in_range", False),
    ("hamstrings", 6, 6, "in_range", False),
    ("lats", 6, 4, "in_range", False),
    ("upper_back", 6, 4, "in_range", False),
    ("elbow_flexors", 7, 3, "in_range", False),
    ("shoulders", 4.5, 0, "under", False),
    ("calves", 3.75, 3, "under", True),
    ("chest", 3, 3, "under", True),
    ("triceps", 1.5, 0, "under", True),
    ("low_back", 3.5, 0, "in_range", False),
    ("trunk", 0.75, 0, "under", True),
]


@pytest.mark.parametrize(("group", "counted", "direct", "verdict", "strong"), EXPECTED)
def test_a_small_week_for_a_novice(group, counted, direct, verdict, strong):
    found = weekly(WEEK)[group]
    assert (found.counted, found.direct) == (counted, direct)
    judged = judge(counted, group, "novice")
    assert (judged.verdict, judged.strong) == (verdict, strong)
    assert judge(found, group, "novice") == judged
    code = {"in_range": "dose_in_range", "under": "dose_far_under" if strong else "dose_under"}[verdict]
    assert judged.because.code == code
    assert judged.because.params["low"] == judged.range.low


def test_sessions_in_which_a_group_was_trained():
    found = weekly(WEEK)
    assert (found["glutes"].sessions, found["chest"].sessions) == (2, 1)
    assert weekly([Work(SQUAT, 0, "mon")])["quads"].sessions == 0


@pytest.mark.parametrize(
    ("sets", "code", "by"),
    [
        (5.75, "dose_far_under", 4.25),
        (9, "dose_under", 1),
        (10, "dose_in_range", 0),
        (16, "dose_in_range", 0),
        (18, "dose_over", 2),
        (20, "dose_over", 4),
        (21, "dose_far_over", 5),
    ],
)
def test_verdicts_on_either_side(sets, code, by):
    judged = judge(sets, "chest", "intermediate")
    assert (judged.because.code, judged.by) == (code, by)


def test_watched_groups_and_regions_of_that_week():
    found = weekly(WEEK)
    assert found["adductors"].counted == 5
    assert found["forearms"].counted == 1.5
    assert judge(5, "adductors", "novice").verdict == "watched"
    regions = dose.by_region(WEEK)
    wanted = {"glute_max": 8.5, "vasti": 7, "rect_fem": 1, "biceps": 7, "brachialis": 5.5, "rhomb": 6}
    wanted |= {"trap_mid": 4, "delt_post": 3, "delt_ant": 1.5}
    assert {region: regions[region] for region in wanted} == wanted


@pytest.mark.parametrize(
    ("mean", "now", "verdict"),
    [
        (4, 6, "fine"),
        (10, 12, "fine"),
        (10, 12.75, "warn"),
        (10, 13, "warn"),
        (10, 14, "ask"),
        (10, 16, "ask"),
        (10, 17, "refuse"),
        (16, 19, "fine"),
        (10, 4, "fine"),
        (0, 2, "fine"),
        (0, 0, "fine"),
        (0, 6, "refuse"),
    ],
)
def test_rise_against_the_four_week_mean(mean, now, verdict):
    found = rise_guard(now, mean)
    assert found.verdict == verdict
    assert found.because.code == f"dose_rise_{verdict}"
    assert found.sets == now - mean


def test_a_rise_says_by_how_much():
    assert rise_guard(14, 10).because.params == {"now": 14, "mean": 10, "percent": 40.0}
    assert rise_guard(6, 0).share is None


def test_half_credit_side_by_side_with_direct():
    row = shares(lat=1, biceps=0.5)
    curl = shares(biceps=1)
    found = weekly([Work(row, 7, 1), Work(curl, 3, 1)])["elbow_flexors"]
    assert (found.direct, found.counted) == (3, 6.5)


@pytest.mark.parametrize(
    ("group", "priority", "age", "low", "high"),
    [
        ("chest", "usual", None, 10, 16),
        ("chest", "keep", None, 3, 6),
        ("chest", "keep", 64, 5, 6),
        ("chest", "more", None, 13, 20),
        ("trunk", "usual", None, 5, 8),
        ("low_back", "more", None, 6.5, 10),
        ("calves", "usual", None, 10, 16),
        ("trunk", "keep", None, 1.5, 3),
    ],
)
def test_ranges_by_priority_and_age(group, priority, age, low, high):
    found = dose.target_range(group, "intermediate", priority, age)
    assert (found.low, found.high) == (low, high)


def test_a_watched_group_has_no_range():
    assert dose.target_range("adductors", "novice") is None
    assert judge(5, "adductors", "novice").because.code == "dose_watched"
    assert dose.sessions_wanted("adductors", "novice") == 0


def test_an_unknown_priority_is_a_mistake():
    with pytest.raises(ValueError):
        dose.target_range("chest", "novice", "most")


def test_a_practice_may_have_its_own_ranges():
    own = {"novice": SetRange(2, 3, 5, 8, 4, 6)}
    assert judge(4, "chest", "novice").verdict == "under"
    assert judge(4, "chest", "novice", ranges=own).verdict == "in_range"


@pytest.mark.parametrize(
    ("group", "experience", "priority", "age", "sessions"),
    [
        ("chest", "novice", "usual", None, 2),
        ("chest", "novice", "keep", None, 1),
        ("chest", "novice", "keep", 60, 2),
        ("chest", "advanced", "more", None, 2),
        ("chest", "intermediate", "more", None, 2),
    ],
)
def test_in_how_many_sessions(group, experience, priority, age, sessions):
    assert dose.sessions_wanted(group, experience, priority, age) == sessions


def test_one_session_has_its_limits():
    assert dose.session_limits("chest", "intermediate") == (8, 11)
    assert dose.session_limits("trunk", "intermediate") == (4, 5.5)


def test_parts_of_a_group_that_its_total_hides():
    found = {entry.region: entry for entry in dose.thin_regions(WEEK, "novice")}
    assert set(found) == {"delt_ant", "delt_lat", "trap_up"}  # a third of 6 is 2; the lower traps get exactly that
    assert found["delt_ant"][1:] == (1.5, 2)
    assert found["delt_ant"].because.params == {"region": "delt_ant", "counted": 1.5, "wanted": 2}
    assert "delt_lat" not in {entry.region for entry in dose.thin_regions(WEEK, "novice", frozenset({"delt_lat"}))}
    assert {entry.region for entry in dose.thin_regions(WEEK, "novice", groups=("quads",))} == {"rect_fem"}
    assert dose.thin_regions(WEEK, "novice", groups=("forearms",)) == ()


@pytest.mark.parametrize(
    ("done", "counted"),
    [
        (SetDone(reps=8, rir=2), 1),
        (SetDone(reps=3, rir=1), 0.5),
        (SetDone(reps=8, rir=5), 0.5),
        (SetDone(reps=8, rir=None), 1),
        (SetDone(reps=8, kind="warm_up"), 0),
        (SetDone(reps=40), 0),
        (SetDone(seconds=20), 1),
        (SetDone(seconds=10), 0),
    ],
)
def test_what_counts_as_a_set(done, counted):
    assert dose.counts_for(done) == counted


def test_a_very_light_set_does_not_count():
    assert dose.counts_for(SetDone(reps=20, rir=1), load_share=0.2) == 0


def test_few_repetitions_count_in_full_for_strength():
    assert dose.counts_for(SetDone(reps=3, rir=1), purpose="strength") == 1
    assert dose.counts_for(SetDone(reps=3, rir=5), purpose="strength") == 0.5


def drops(*reps):
    return [SetDone(reps=count, rir=0, kind="drop") for count in reps]


@pytest.mark.parametrize(
    ("done", "counted"),
    [
        ([SetDone(reps=8, rir=2)] * 3, 3),
        ([SetDone(reps=10, rir=0), *drops(6)], 1.5),
        ([SetDone(reps=10, rir=0), *drops(6, 5)], 2),
        ([SetDone(reps=10, rir=0), *drops(6, 5, 5)], 2),
        ([SetDone(reps=10, rir=0), *drops(3, 3)], 1),
        ([SetDone(reps=8, kind="warm_up"), *drops(8)], 0),
        (drops(8), 0),
        ([SetDone(reps=8, kind="warm_up"), SetDone(reps=8, rir=2, load=20)], 1),
    ],
)
def test_sets_of_one_exercise_together(done, counted):
    assert dose.counted_sets(done) == counted


def test_sets_under_a_third_of_the_maximum_do_not_count():
    light, heavy = SetDone(reps=15, rir=2, load=25), SetDone(reps=15, rir=2, load=60)
    assert dose.counted_sets([light, heavy], maximum=100) == 1
    assert dose.counted_sets([light, heavy]) == 2


def test_direct_sets_for_strength():
    assert dose.lift_range("intermediate") == (4, 10)


WORK = st.builds(
    Work,
    st.lists(
        st.builds(RegionShare, st.sampled_from(REGIONS), st.sampled_from([1.0, 0.5, 0.25])),
        min_size=1,
        max_size=4,
        unique_by=lambda share: share.region,
    ).map(tuple),
    st.integers(0, 6),
    st.sampled_from(["a", "b", "c"]),
)


@given(st.lists(WORK, max_size=6), st.lists(WORK, max_size=6))
def test_dose_is_additive(one, other):
    together, first, second = weekly(one + other), weekly(one), weekly(other)
    for group, found in together.items():
        parts = [week[group].counted for week in (first, second) if group in week]
        assert found.counted == pytest.approx(sum(parts))
        assert found.direct <= found.counted


@given(st.lists(WORK, max_size=6))
def test_a_group_counts_no_set_twice(work):
    sets = sum(entry.sets for entry in work)
    regions = dose.by_region(work)
    for group, found in weekly(work).items():
        members = [regions.get(region, 0) for region in REGIONS if GROUP_OF_REGION[region] == group]
        assert max(members) <= found.counted <= min(sets, sum(members))


@given(st.floats(0, 40), st.sampled_from(AUDITED_GROUPS), st.sampled_from(["novice", "intermediate", "advanced"]))
def test_more_sets_never_turn_over_into_under(sets, group, experience):
    order = {"under": 0, "in_range": 1, "over": 2}
    assert order[judge(sets, group, experience).verdict] <= order[judge(sets + 1, group, experience).verdict]
