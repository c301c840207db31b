"""Where it hurts, and what loads that place.

Every part that can be chosen maps to joint tags, patterns or regions; any other word maps to everything,
so that the whole session waits until the coach has decided.
"""

from dataclasses import dataclass
from typing import Final

from programs.engine.terms import Exercise
from programs.engine.vocabulary import SIDES

LOADED_FROM_SHARE: Final = 0.5  # a region counts as loaded from this share on


@dataclass(frozen=True, slots=True)
class Affected:
    """What to spare for one place and side. ``everything`` freezes the whole session."""

    part: str
    side: str
    joints: tuple[str, ...] = ()
    patterns: tuple[str, ...] = ()
    regions: tuple[str, ...] = ()
    everything: bool = False

    def loaded_by(self, exercise: Exercise) -> bool:
        """Whether the exercise loads this place, by joint tag, by pattern or by region."""
        if self.everything or exercise.pattern in self.patterns:
            return True
        if any(stress.joint in self.joints for stress in exercise.joints):
            return True
        return any(entry.region in self.regions and entry.share >= LOADED_FROM_SHARE for entry in exercise.regions)


_PRESSES: Final = ("horizontal_push", "incline_push", "decline_push", "vertical_push")
_ROWS_AND_PULLS: Final = ("horizontal_pull", "vertical_pull")
_SHOULDER_WORK: Final = (
    *_PRESSES,
    *_ROWS_AND_PULLS,
    "chest_fly",
    "shoulder_abduction",
    "shoulder_flexion",
    "rear_delt_raise",
    "shoulder_external_rotation",
    "shoulder_extension",
    "scapular_upward_rotation",
    "scapular_elevation",
)
_BACK_WORK: Final = (
    "squat",
    "hinge",
    "trunk_extension",
    "trunk_flexion",
    "trunk_rotation",
    "trunk_lateral",
    "carry",
)
_KNEE_WORK: Final = ("squat", "lunge", "knee_extension", "knee_flexion")
_HIP_WORK: Final = (
    "squat",
    "lunge",
    "hinge",
    "hip_extension",
    "hip_bridge",
    "hip_abduction",
    "hip_adduction",
)
_STANDING_WORK: Final = ("squat", "lunge", "hinge", "carry", "calf_raise")

# part -> (joint tags, patterns, regions)
_PARTS: Final[dict[str, tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]]] = {
    "neck": ((), ("neck", "scapular_elevation", "vertical_push", "carry"), ("neck", "trap_up")),
    "shoulder": (
        ("shoulder_overhead", "shoulder_extension"),
        _SHOULDER_WORK,
        ("delt_ant", "delt_lat", "delt_post", "rot_cuff"),
    ),
    "shoulder_blade": (
        (),
        (*_ROWS_AND_PULLS, "scapular_upward_rotation", "rear_delt_raise"),
        ("trap_mid", "trap_low", "rhomb"),
    ),
    "collarbone": (
        ("shoulder_overhead", "shoulder_extension"),
        (*_PRESSES, "chest_fly"),
        ("pec_clav", "delt_ant"),
    ),
    "upper_arm_front": (("elbow",), ("elbow_flexion", *_ROWS_AND_PULLS), ("biceps", "brachialis")),
    "upper_arm_back": (("elbow",), ("elbow_extension", *_PRESSES), ("tri_long", "tri_latmed")),
    "elbow": (("elbow",), ("elbow_flexion", "elbow_extension", *_PRESSES, *_ROWS_AND_PULLS), ()),
    "forearm": (
        ("grip", "wrist_extension", "elbow"),
        ("wrist_flexion", "wrist_extension", "grip", "carry"),
        ("fore_flex", "fore_ext"),
    ),
    "wrist": (
        ("wrist_extension", "grip"),
        ("wrist_flexion", "wrist_extension", "grip", *_PRESSES, "carry"),
        (),
    ),
    "hand": (("grip", "wrist_extension"), ("grip", "carry", *_ROWS_AND_PULLS), ()),
    "chest": (("shoulder_extension",), (*_PRESSES, "chest_fly"), ("pec_clav", "pec_stern", "pec_abd")),
    "ribs": ((), (*_PRESSES, "chest_fly", "trunk_rotation", "trunk_lateral", "trunk_flexion"), ("obliques",)),
    "upper_back": (
        (),
        (*_ROWS_AND_PULLS, "scapular_elevation", "carry", "hinge"),
        ("trap_mid", "trap_low", "rhomb", "lat"),
    ),
    "lower_back": (("lumbar_shear", "lumbar_compression"), _BACK_WORK, ("erector",)),
    "belly": (
        (),
        ("trunk_flexion", "trunk_anti_extension", "trunk_rotation", "trunk_lateral"),
        ("abs", "obliques"),
    ),
    "groin": (
        ("knee_deep_flexion",),
        ("hip_adduction", "hip_flexion", "squat", "lunge"),
        ("adductors", "hip_flex"),
    ),
    "hip": (("knee_deep_flexion",), (*_HIP_WORK, "hip_flexion"), ("hip_flex", "glute_med")),
    "buttock": ((), _HIP_WORK, ("glute_max", "glute_med")),
    "thigh_front": (
        ("knee_deep_flexion",),
        ("squat", "lunge", "knee_extension", "hip_flexion"),
        ("rect_fem", "vasti"),
    ),
    "thigh_back": (("lumbar_shear",), ("hinge", "knee_flexion", "hip_extension", "hip_bridge"), ("hams",)),
    "thigh_inner": ((), ("hip_adduction", "squat", "lunge"), ("adductors",)),
    "knee": (("knee_deep_flexion",), _KNEE_WORK, ()),
    "shin": ((), ("calf_raise", "squat", "lunge", "carry"), ()),
    "calf": ((), ("calf_raise",), ("gastroc", "soleus")),
    "ankle": ((), _STANDING_WORK, ("gastroc", "soleus")),
    "foot": ((), _STANDING_WORK, ()),
}

BODY_PARTS: Final = tuple(_PARTS)
# Parts that may be chosen although nothing here can be spared for them: they stop everything.
WHOLE_BODY_PARTS: Final = ("head", "elsewhere")


def affected(part: str, side: str = "both") -> Affected:
    """What loads a body part. The map is total: a part that is not listed freezes everything.

    ``side`` is left, right or both (ValueError otherwise); tags are the same for both sides, and the side
    is kept so that one-limbed work of the other side can be offered.
    """
    if side not in SIDES:
        raise ValueError(f"unknown side: {side!r}")
    found = _PARTS.get(part)
    if found is None:
        return Affected(part, side, everything=True)
    joints, patterns, regions = found
    return Affected(part, side, joints, patterns, regions)
