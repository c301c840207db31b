"""The words for the engine's codes, translated. One place, so that a code reads the same on every page."""

from collections.abc import Iterable

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

Word = str | Promise

REGIONS: dict[str, Word] = {
    "pec_clav": _("upper chest"),
    "pec_stern": _("mid chest"),
    "pec_abd": _("lower chest"),
    "delt_ant": _("front shoulder"),
    "delt_lat": _("side shoulder"),
    "delt_post": _("rear shoulder"),
    "rot_cuff": _("rotator cuff"),
    "lat": pgettext_lazy("region", "lats"),
    "trap_up": _("upper traps"),
    "trap_mid": _("middle traps"),
    "trap_low": _("lower traps"),
    "rhomb": _("rhomboids"),
    "biceps": _("biceps"),
    "brachialis": _("brachialis"),
    "tri_long": _("triceps, long head"),
    "tri_latmed": _("triceps, outer and deep heads"),
    "fore_flex": _("forearm, palm side and grip"),
    "fore_ext": _("forearm, back"),
    "abs": _("abdominals"),
    "obliques": _("obliques"),
    "erector": _("spinal erectors"),
    "hip_flex": _("hip flexors"),
    "glute_max": _("buttocks"),
    "glute_med": _("side of hip"),
    "adductors": _("inner thigh"),
    "rect_fem": _("front thigh, two-joint"),
    "vasti": _("front thigh, one-joint"),
    "hams": _("hamstrings"),
    "gastroc": _("calf, two-joint"),
    "soleus": _("calf, deep"),
    "neck": _("neck"),
}
GROUPS: dict[str, Word] = {
    "chest": _("Chest"),
    "upper_back": _("Upper back"),
    "lats": _("Lats"),
    "shoulders": _("Shoulders"),
    "elbow_flexors": _("Elbow flexors"),
    "triceps": _("Triceps"),
    "trunk": _("Trunk"),
    "low_back": _("Low back"),
    "glutes": _("Glutes"),
    "quads": _("Quads"),
    "hamstrings": _("Hamstrings"),
    "calves": _("Calves"),
    "forearms": _("Forearms"),
    "adductors": _("Inner thigh"),
    "hip_flexors": _("Hip flexors"),
    "rotator_cuff": _("Rotator cuff"),
    "neck": _("Neck"),
}
EXPERIENCES: dict[str, Word] = {
    "novice": _("novice"),
    "intermediate": _("intermediate"),
    "advanced": _("advanced"),
}
SKILLS: dict[str, Word] = {"basic": _("basic"), "intermediate": _("intermediate"), "advanced": _("advanced")}
ROLES: dict[str, Word] = {
    "main": _("main"),
    "secondary": _("secondary"),
    "isolation": _("isolation"),
    "trunk": pgettext_lazy("role", "trunk"),
    "carry": pgettext_lazy("role", "carry"),
}
PRIORITIES: dict[str, Word] = {"keep": _("keep"), "usual": _("usual"), "more": _("more")}
LIMBS: dict[str, Word] = {"two": _("both sides together"), "one": _("one side at a time")}
REP_UNITS: dict[str, Word] = {"reps": _("reps"), "seconds": _("seconds"), "metres": _("metres")}
SIDES: dict[str, Word] = {"left": _("left"), "right": _("right"), "both": _("both sides")}
LOAD_ENTRIES: dict[str, Word] = {
    "total": _("everything that moves, bar and plates together"),
    "per_hand": _("one implement, each hand"),
    "stack": _("what the pin says"),
    "added": _("on top of bodyweight or sled"),
    "assisted": _("help taken off bodyweight"),
    "numbered_setting": _("a numbered pin hole"),
    "band": _("a band"),
    "none": _("no load"),
}
SET_KINDS: dict[str, Word] = {
    "work": _("working set"),
    "warm_up": _("warm-up"),
    "back_off": _("back-off set"),
    "drop": _("drop part"),
    "open_ended": _("as many as possible"),
    "check": _("check set"),
}
JOINT_TAGS: dict[str, Word] = {
    "shoulder_overhead": _("shoulder, overhead"),
    "shoulder_extension": _("shoulder, arm behind the body"),
    "lumbar_shear": _("low back, shear"),
    "lumbar_compression": _("low back, compression"),
    "knee_deep_flexion": _("knee, deep bend"),
    "wrist_extension": _("wrist, bent back"),
    "elbow": _("elbow"),
    "grip": _("grip"),
}
PATTERNS: dict[str, Word] = {
    "horizontal_push": _("horizontal push"),
    "incline_push": _("incline push"),
    "decline_push": _("decline push"),
    "chest_fly": _("chest fly"),
    "vertical_push": _("vertical push"),
    "shoulder_abduction": _("shoulder abduction"),
    "shoulder_flexion": _("shoulder flexion"),
    "rear_delt_raise": _("rear shoulder raise"),
    "shoulder_external_rotation": _("shoulder external rotation"),
    "vertical_pull": _("vertical pull"),
    "shoulder_extension": _("shoulder extension"),
    "horizontal_pull": _("horizontal pull"),
    "scapular_elevation": _("shrug"),
    "scapular_upward_rotation": _("shoulder blade upward rotation"),
    "elbow_flexion": _("elbow flexion"),
    "elbow_extension": _("elbow extension"),
    "wrist_flexion": _("wrist flexion"),
    "wrist_extension": _("wrist extension"),
    "grip": pgettext_lazy("pattern", "grip"),
    "carry": pgettext_lazy("pattern", "carry"),
    "squat": _("squat"),
    "lunge": _("lunge"),
    "knee_extension": _("knee extension"),
    "hinge": _("hinge"),
    "trunk_extension": _("trunk extension"),
    "hip_extension": _("hip extension"),
    "hip_bridge": _("hip bridge"),
    "knee_flexion": _("knee flexion"),
    "hip_abduction": _("hip abduction"),
    "hip_adduction": _("hip adduction"),
    "hip_flexion": _("hip flexion"),
    "calf_raise": _("calf raise"),
    "trunk_flexion": _("trunk flexion"),
    "trunk_anti_extension": _("trunk against arching"),
    "trunk_lateral": _("trunk against side bend"),
    "trunk_rotation": _("trunk against rotation"),
    "neck": pgettext_lazy("pattern", "neck"),
}
STATIONS: dict[str, Word] = {
    "barbell": _("barbell"),
    "trap_bar": _("trap bar"),
    "curl_bar": _("curl bar"),
    "safety_squat_bar": _("padded squat bar"),
    "neutral_grip_bar": _("neutral-grip bar"),
    "smith_machine": _("Smith machine"),
    "dumbbell": _("dumbbells"),
    "kettlebell": _("kettlebells"),
    "plate": _("loose plates"),
    "sandbag": _("sandbags"),
    "medicine_ball": _("medicine balls"),
    "cable": _("cable station"),
    "band": _("bands"),
    "chest_press_machine": _("chest press machine"),
    "shoulder_press_machine": _("shoulder press machine"),
    "chest_fly_machine": _("chest fly machine"),
    "lateral_raise_machine": _("lateral raise machine"),
    "assisted_pull_up_machine": _("assisted pull-up machine"),
    "assisted_dip_machine": _("assisted dip machine"),
    "row_machine": _("row machine"),
    "t_bar_row": _("T-bar row"),
    "leg_press": _("leg press"),
    "hack_squat": _("hack squat machine"),
    "belt_squat": _("belt squat"),
    "leg_extension_machine": _("leg extension machine"),
    "seated_leg_curl": _("seated leg curl"),
    "lying_leg_curl": _("lying leg curl"),
    "hip_abduction_machine": _("hip abduction machine"),
    "hip_adduction_machine": _("hip adduction machine"),
    "standing_calf_machine": _("standing calf machine"),
    "seated_calf_machine": _("seated calf machine"),
    "pulldown_machine": _("pulldown machine"),
    "pullover_machine": _("pullover machine"),
    "arm_curl_machine": _("arm curl machine"),
    "triceps_extension_machine": _("triceps extension machine"),
    "trunk_flexion_machine": _("trunk flexion machine"),
    "back_extension_machine": _("back extension machine"),
    "hip_extension_machine": _("hip extension machine"),
    "hip_thrust_machine": _("hip thrust machine"),
    "sled": _("sled"),
    "flat_bench": _("flat bench"),
    "incline_bench": _("incline bench"),
    "decline_bench": _("decline bench"),
    "preacher_bench": _("preacher bench"),
    "squat_stand": _("squat stand"),
    "bar_anchor": _("bar anchor on the floor"),
    "pull_up_bar": _("pull-up bar"),
    "low_bar": _("low bar"),
    "parallel_bars": _("parallel bars"),
    "box": _("box"),
    "low_bench_or_step": _("low bench or step"),
    "back_extension_bench": _("back extension bench"),
    "glute_ham_bench": _("glute-ham bench"),
    "stability_ball": _("stability ball"),
    "ab_wheel": _("ab wheel"),
    "foot_anchor": _("foot anchor"),
    "dip_belt": _("dip belt"),
    "space_to_walk": _("space to walk"),
    "suspension_straps": _("suspension straps"),
    "band_anchor": _("anchor point for bands"),
    "second_pulley": _("second pulley opposite the first"),
    "chair": _("sturdy chair"),
    "bodyweight": _("bodyweight"),
}

_ALL: dict[str, Word] = (
    SKILLS | EXPERIENCES | PRIORITIES | LIMBS | REP_UNITS | SIDES | LOAD_ENTRIES | SET_KINDS | STATIONS | ROLES
)
# Codes that mean different things in different lists.
_BY_LIST: tuple[dict[str, Word], ...] = (REGIONS, GROUPS, JOINT_TAGS, PATTERNS, ROLES)


def choices(codes: Iterable[str]) -> list[tuple[str, Word]]:
    """Codes with their words, for a field's choices. All codes come from one list of the vocabulary."""
    listed = tuple(codes)
    for words in _BY_LIST:
        if all(code in words for code in listed):
            return [(code, words[code]) for code in listed]
    return [(code, _ALL[code]) for code in listed]
