"""The codes that the computation, the library and the pages share.

Codes are stored and compared; the words a person reads for them are translated in ``programs.labels``.
Region names follow Terminologia Anatomica; the grouping and the twelve audited groups are ours.
"""

from typing import Final

GROUP_OF_REGION: Final[dict[str, str]] = {
    "pec_clav": "chest",
    "pec_stern": "chest",
    "pec_abd": "chest",
    "delt_ant": "shoulders",
    "delt_lat": "shoulders",
    "delt_post": "shoulders",
    "rot_cuff": "rotator_cuff",
    "lat": "lats",
    "trap_up": "upper_back",
    "trap_mid": "upper_back",
    "trap_low": "upper_back",
    "rhomb": "upper_back",
    "biceps": "elbow_flexors",
    "brachialis": "elbow_flexors",
    "tri_long": "triceps",
    "tri_latmed": "triceps",
    "fore_flex": "forearms",
    "fore_ext": "forearms",
    "abs": "trunk",
    "obliques": "trunk",
    "erector": "low_back",
    "hip_flex": "hip_flexors",
    "glute_max": "glutes",
    "glute_med": "glutes",
    "adductors": "adductors",
    "rect_fem": "quads",
    "vasti": "quads",
    "hams": "hamstrings",
    "gastroc": "calves",
    "soleus": "calves",
    "neck": "neck",
}
REGIONS: Final = tuple(GROUP_OF_REGION)

AUDITED_GROUPS: Final = (
    "chest",
    "upper_back",
    "lats",
    "shoulders",
    "elbow_flexors",
    "triceps",
    "trunk",
    "low_back",
    "glutes",
    "quads",
    "hamstrings",
    "calves",
)
WATCHED_GROUPS: Final = ("forearms", "adductors", "hip_flexors", "rotator_cuff", "neck")
GROUPS: Final = AUDITED_GROUPS + WATCHED_GROUPS

EXPERIENCES: Final = ("novice", "intermediate", "advanced")
SKILLS: Final = ("basic", "intermediate", "advanced")
ROLES: Final = ("main", "secondary", "isolation", "trunk", "carry")
PRIORITIES: Final = ("keep", "usual", "more")
LIMBS: Final = ("two", "one")
REP_UNITS: Final = ("reps", "seconds", "metres")
SIDES: Final = ("left", "right", "both")

# How the number that is typed for a load is meant.
LOAD_ENTRIES: Final = (
    "total",  # everything that moves: bar and plates together, or the one implement
    "per_hand",  # one of the two implements
    "stack",  # what the pin says, in the stack's own unit
    "added",  # on top of bodyweight, or plates on a machine whose own weight is not counted
    "assisted",  # help taken off bodyweight: more is easier
    "numbered_setting",  # a pin hole without a unit
    "band",  # a band of an ordered list
    "none",
)

SET_KINDS: Final = ("work", "warm_up", "back_off", "drop", "open_ended", "check")

JOINT_TAGS: Final = (
    "shoulder_overhead",
    "shoulder_extension",
    "lumbar_shear",
    "lumbar_compression",
    "knee_deep_flexion",
    "wrist_extension",
    "elbow",
    "grip",
)

PATTERNS: Final = (
    "horizontal_push",
    "incline_push",
    "decline_push",
    "chest_fly",
    "vertical_push",
    "shoulder_abduction",
    "shoulder_flexion",
    "rear_delt_raise",
    "shoulder_external_rotation",
    "vertical_pull",
    "shoulder_extension",
    "horizontal_pull",
    "scapular_elevation",
    "scapular_upward_rotation",
    "elbow_flexion",
    "elbow_extension",
    "wrist_flexion",
    "wrist_extension",
    "grip",
    "carry",
    "squat",
    "lunge",
    "knee_extension",
    "hinge",
    "trunk_extension",
    "hip_extension",
    "hip_bridge",
    "knee_flexion",
    "hip_abduction",
    "hip_adduction",
    "hip_flexion",
    "calf_raise",
    "trunk_flexion",
    "trunk_anti_extension",
    "trunk_lateral",
    "trunk_rotation",
    "neck",
)

# Stations: one piece of equipment of a place. Loaded kinds carry the load that is logged; the others
# are only needed to be there (a bench is an implement too). "bodyweight" and "floor" are everywhere.
LOADED_STATIONS: Final = (
    "barbell",
    "trap_bar",
    "curl_bar",
    "safety_squat_bar",
    "neutral_grip_bar",
    "smith_machine",
    "dumbbell",
    "kettlebell",
    "plate",
    "sandbag",
    "medicine_ball",
    "cable",
    "band",
    "chest_press_machine",
    "shoulder_press_machine",
    "chest_fly_machine",
    "lateral_raise_machine",
    "assisted_pull_up_machine",
    "assisted_dip_machine",
    "row_machine",
    "t_bar_row",
    "leg_press",
    "hack_squat",
    "belt_squat",
    "leg_extension_machine",
    "seated_leg_curl",
    "lying_leg_curl",
    "hip_abduction_machine",
    "hip_adduction_machine",
    "standing_calf_machine",
    "seated_calf_machine",
    "pulldown_machine",
    "pullover_machine",
    "arm_curl_machine",
    "triceps_extension_machine",
    "trunk_flexion_machine",
    "back_extension_machine",
    "hip_extension_machine",
    "hip_thrust_machine",
    "sled",
)
APPARATUS: Final = (
    "flat_bench",
    "incline_bench",
    "decline_bench",
    "preacher_bench",
    "squat_stand",
    "bar_anchor",
    "pull_up_bar",
    "low_bar",
    "parallel_bars",
    "box",
    "low_bench_or_step",
    "back_extension_bench",
    "glute_ham_bench",
    "stability_ball",
    "ab_wheel",
    "foot_anchor",
    "dip_belt",
    "space_to_walk",
    "suspension_straps",
    "band_anchor",
    "second_pulley",
    "chair",
)
EVERYWHERE: Final = ("bodyweight",)
STATION_KINDS: Final = LOADED_STATIONS + APPARATUS
# Loads on these are built from plates on a bar or sled.
PLATE_LOADED: Final = frozenset(
    {
        "barbell",
        "trap_bar",
        "curl_bar",
        "safety_squat_bar",
        "neutral_grip_bar",
        "smith_machine",
        "t_bar_row",
        "leg_press",
        "hack_squat",
        "belt_squat",
        "seated_calf_machine",
        "row_machine",
        "hip_thrust_machine",
        "sled",
    }
)
# Anything else that is loaded is a machine with a weight, a ratio or a path of its own: its figures hold there alone.
SAME_ANYWHERE: Final = frozenset(
    {
        "barbell",
        "trap_bar",
        "curl_bar",
        "safety_squat_bar",
        "neutral_grip_bar",
        "dumbbell",
        "kettlebell",
        "plate",
        "sandbag",
        "medicine_ball",
        "band",
        "bodyweight",
    }
)
