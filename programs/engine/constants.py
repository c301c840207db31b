"""Every published figure that several modules stand on, named, with its source.

"Coaching practice" marks our own defaults: judgements inside the published ranges, which a practice may change.
Constants that only one module needs stand at the top of that module.
"""

from dataclasses import dataclass
from typing import Final

# Wathan 1994, scaled here so that one repetition is exactly the maximum: share(n) = (A + B·e^(−C·n)) / D.
CURVE_A: Final = 48.8
CURVE_B: Final = 53.8
CURVE_C: Final = 0.075
CURVE_MAX_REPS: Final = 15  # beyond it the seven published equations differ by more than a quarter
CURVE_MAX_RIR: Final = 4.0  # reps in reserve above this are not told apart (Hackett et al. 2017)

KILOGRAMS_PER_POUND: Final = 0.45359237  # exact by definition

# Endurance factor: people and exercises differ in repetitions at a share of the maximum (Richens, Cleather 2014).
ENDURANCE_MIN: Final = 0.6
ENDURANCE_MAX: Final = 2.5

# All noise, so that what estimates allow for and what simulated lifters do is one set of figures.
# Day to day, as a share of the maximum: repetitions to failure a week apart differ by 2.4-2.6 % in load (Mitter et
# al. 2022); tests of a maximum by 4.2 % with what the test itself adds (Grgic et al. 2020).
DAY_NOISE: Final = 0.025
# Error of a rated set in repetitions at 0 to 4 in reserve (Halperin et al. 2022, Refalo et al. 2024, Hackett et al.
# 2017).
RIR_NOISE_REPS: Final = (0.0, 0.7, 0.8, 1.0, 1.4)
RIR_TOO_LOW: Final = 0.95  # people have about one repetition more than they say (Halperin et al. 2022)
RIR_SPREAD: Final = 0.8  # of a rating with one to three in reserve, in repetitions (Refalo et al. 2024)
# Between people, of the endurance factor's logarithm: 2.8 of 17.9 repetitions within one kind of lifter (Richens,
# Cleather 2014), 6-26 over very unlike ones (Zourdos et al. 2021). Ours lies between.
ENDURANCE_SPREAD: Final = 0.2
# Between people, of the gain expected for their training age: 30-50 % in a first year (Steele et al. 2022).
RESPONSE_SPREAD: Final = 0.25
STRENGTH_SPREAD: Final = 0.20  # between people of one experience, of the maximum's logarithm; coaching practice
GUESS_SPREAD: Final = 0.15  # of a coach's first guess at a load; coaching practice
SORE_SPREAD: Final = 0.8  # of soreness rated 0 to 10, from day to day; coaching practice
Z_90: Final = 1.645
BODYWEIGHT_VALID_DAYS: Final = 30  # an older bodyweight gives no estimate; coaching practice

# Counting sets: Pelland et al. 2025 for shares 1 and 0.5; the rest is coaching practice.
SHARE_FULL: Final = 1.0
COUNTED_REPS_LOW: Final = 5
COUNTED_REPS_HIGH: Final = 30
COUNTED_RIR_MOST: Final = 4.0
FEW_REPS_COUNT: Final = 0.5  # one to four repetitions, for growth
EASY_SET_COUNTS: Final = 0.5  # logged with more than four in reserve
LATER_PART_COUNTS: Final = 0.5  # drop set and rest-pause parts after the first
LATER_PART_REPS: Final = 4
LATER_PARTS_MOST: Final = 2
HOLD_SECONDS: Final = 15  # a timed hold counts from here
FIRST_SESSION_SETS_SHARE: Final = 0.65  # of the planned sets, while the first loads are found


@dataclass(frozen=True, slots=True)
class SetRange:
    """Counted sets for one group and week, and what one session should not exceed."""

    floor: float
    low: float
    high: float
    ceiling: float
    session_warn: float
    session_stop: float


# Coaching practice on the basis of Schoenfeld, Ogborn, Krieger 2017; Baz-Valle et al. 2022; Pelland et al. 2025.
SET_RANGES: Final = {
    "novice": SetRange(4, 6, 10, 12, 6, 8),
    "intermediate": SetRange(6, 10, 16, 20, 8, 11),
    "advanced": SetRange(8, 12, 20, 25, 10, 12),
}
# Keeping what is there: Spiering et al. 2021; Bickel, Cross, Bamman 2011 for older people.
MAINTENANCE: Final = {"novice": (2.0, 4.0), "intermediate": (3.0, 6.0), "advanced": (4.0, 8.0)}
# Direct sets a week on one lift that is trained for strength: Pelland et al. 2025; ACSM 2026.
LIFT_SETS: Final = {"novice": (3.0, 6.0), "intermediate": (4.0, 10.0), "advanced": (6.0, 15.0)}
HALF_RANGE_GROUPS: Final = ("trunk", "low_back")
HALF: Final = 0.5
OLDER_AGE: Final = 60

# Weekly rise of a group's counted sets over the mean of four weeks. Coaching practice: prudence, not prediction.
RISE_FREE_SHARE: Final = 0.20
RISE_FREE_SETS: Final = 2.0
RISE_ASK_SHARE: Final = 0.30
RISE_REFUSE_SHARE: Final = 0.60

# Session length (coaching practice, checked against the measured sessions of Burke et al. 2024).
GENERAL_WARM_UP_S: Final = 300.0
SET_UP_S: Final = 60.0
TRANSITION_S: Final = 90.0
AROUND_SET_S: Final = 10.0
SWITCH_SIDE_S: Final = 10.0
WARM_UP_REST_S: Final = 45.0
USUAL_SET_S: Final = 145.0  # with its rest, before anything is chosen
# A client's own pace against the reckoned minutes; coaching practice.
PACE_SESSIONS: Final = 6
PACE_SESSIONS_LEAST: Final = 3
PACE_LEAST: Final = 0.7
PACE_MOST: Final = 1.5
DEFAULT_TEMPO: Final = "2010"

# Load caps per exercise (coaching practice; upper bound from the 2–10 % of ACSM 2009).
RISE_PER_EXPOSURE: Final = 0.05
RISE_PER_EXPOSURE_MOST: Final = 0.10
RISE_PER_WEEK_MOST: Final = 0.10
FALL_PER_EXPOSURE_MOST: Final = 0.10
