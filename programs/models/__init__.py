"""The practice's exercises and its reusable program outlines (called templates on the pages)."""

from programs.models.caps import OwnCaps
from programs.models.exercises import (
    Exercise,
    ExerciseJoint,
    ExerciseRegion,
    ExerciseText,
    FavouriteExercise,
    Photo,
)
from programs.models.outlines import Outline, OutlineDay, OutlineLine, OutlineSlot, SlotCandidate
from programs.models.stamps import LibraryStamp
from programs.models.uploads import Upload
from programs.models.weights import OwnWeights

__all__ = [
    "Exercise",
    "ExerciseJoint",
    "ExerciseRegion",
    "ExerciseText",
    "FavouriteExercise",
    "LibraryStamp",
    "Outline",
    "OutlineDay",
    "OutlineLine",
    "OutlineSlot",
    "OwnCaps",
    "OwnWeights",
    "Photo",
    "SlotCandidate",
    "Upload",
]
