"""Counting a week: a small one by hand, and what always holds."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine import dose
from programs.engine.dose import Work, judge, rise_guard, weekly
from programs.engine.terms import RegionShare, SetDone
from programs.engine.vocabulary import AUDITED_GROUPS, REGIONS


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
    judged = judge(found.counted, group, "novice")
    assert (judged.verdict, judged.strong) == (verdict, strong)


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
        (10, 14, "ask"),
        (10, 17, "refuse"),
        (16, 19, "fine"),
    ],
)
def test_rise_against_the_four_week_mean(mean, now, verdict):
    assert rise_guard(now, mean) == verdict


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
    ],
)
def test_ranges_by_priority_and_age(group, priority, age, low, high):
    found = dose.target_range(group, "intermediate", priority, age)
    assert (found.low, found.high) == (low, high)


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


WORK = st.builds(
    Work,
    st.lists(
        st.builds(RegionShare, st.sampled_from(REGIONS), st.sampled_from([1.0, 0.5, 0.25])),
        min_size=1,
        max_size=4,
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


@given(st.floats(0, 40), st.sampled_from(AUDITED_GROUPS), st.sampled_from(["novice", "intermediate", "advanced"]))
def test_more_sets_never_turn_over_into_under(sets, group, experience):
    order = {"under": 0, "in_range": 1, "over": 2}
    assert order[judge(sets, group, experience).verdict] <= order[judge(sets + 1, group, experience).verdict]
