"""A client's session with its sheet handed out, as the tests of phone pages and PDFs need it."""

from typing import Any

from clients.clock import today_for
from clients.models import Client, Prescription, SheetVersion, TrainingSession
from clients.services import sheets
from programs.models import Exercise, ExerciseText
from programs.units import load_of
from tests.factories import (
    BarbellFactory,
    BlockFactory,
    ExerciseFactory,
    HealthAnswersFactory,
    OutlineDayFactory,
    OutlineSlotFactory,
    PlaceFactory,
    StationFactory,
    TargetSetFactory,
    TrainingSessionFactory,
)

SET_UP = [
    "Set the bar at breastbone height and the safety arms just below your lowest point.",
    "Step under until the bar lies on the muscle across the shoulder blades, not on the neck.",
    "Grip just outside the shoulders and pull the elbows under the bar.",
    "Take two short steps back; feet about hip width or wider, toes slightly out.",
]
EXECUTION = [
    "Breathe in, tighten the waist and bend hips and knees together.",
    "Let the knees travel over the toes, in the direction the toes point.",
    "Go down until the hip crease is level with the knee, or as deep as the back stays flat.",
    "Push the floor away and let chest and hips rise at the same speed.",
]
SQUAT = {
    "name": "Barbell back squat",
    "pattern": "squat",
    "implement": "barbell",
    "load_entry": "total",
    "regions": {"vasti": 4, "glute_max": 4, "erector": 2},
    "joints": {"knee_deep_flexion": 2, "lumbar_compression": 3},
    "figure": "barbell-back-squat",
}


def session_for(client: Client, **more: Any) -> TrainingSession:
    """An empty session today, in a place with a barbell and dumbbells; the client is cleared."""
    if not client.health_answers.exists():
        HealthAnswersFactory(client=client, answered_on=today_for(client))
    block = client.blocks.active().first()
    if block is None:
        place = PlaceFactory(practice=client.practice)
        BarbellFactory(place=place)
        StationFactory(place=place)
        day = OutlineDayFactory(outline__practice=client.practice)
        block = BlockFactory(client=client, place=place, outline=day.outline, starts_on=today_for(client))
    session: TrainingSession = TrainingSessionFactory(
        **{"block": block, "planned_on": today_for(client), "minutes": 60, "name": "Lower A", **more}
    )
    return session


def add_line(
    session: TrainingSession,
    exercise: Exercise | None = None,
    *,
    sets: int = 3,
    load: Any = (75, "kg"),
    text: bool = True,
    finds_load: bool = False,
    superset: str = "",
    reason: str = "Thighs first, while you are fresh.",
    **target: Any,
) -> Prescription:
    """One more line of the session; ``load`` is (value, unit) or None."""
    practice = session.block.client.practice
    known = Exercise.objects.filter(practice=practice, name=SQUAT["name"]).first()
    exercise = exercise or known or ExerciseFactory(practice=practice, **SQUAT)
    if text and not exercise.texts.exists():
        ExerciseText.objects.create(
            exercise=exercise,
            language="en",
            name=exercise.name,
            set_up=SET_UP,
            execution=EXECUTION,
            cautions="Always with safety arms or spotters.",
        )
    position = session.prescriptions.count()
    key = f"slot-{position}"
    day = session.block.outline.days.first()
    if day is not None and not day.slots.filter(key=key).exists():
        OutlineSlotFactory(day=day, key=key, position=position)
    line = Prescription.objects.create(
        session=session,
        position=position,
        slot_key=key,
        slot_title="Thighs",
        role="main",
        exercise=exercise,
        finds_load=finds_load,
        superset=superset,
        reason_text=reason,
    )
    for number in range(1, sets + 1):
        TargetSetFactory(
            prescription=line,
            number=number,
            load=load_of(*load) if load is not None else None,
            **{"reps_low": 6, "reps_high": 8, "rir": 2, "rest_s": 150, "tempo": "3110", **target},
        )
    return line


def handed_out(session: TrainingSession) -> SheetVersion:
    """The session's standing sheet, freshly issued."""
    return sheets.issue_sheet(session, session.block.client.coach).version


def six_exercises(client: Client) -> SheetVersion:
    """A sheet of six exercises of different kinds: plates, dumbbells, one side at a time, a hold, a load to find."""
    practice = client.practice
    session = session_for(client)
    add_line(session)
    deadlift = ExerciseFactory(
        practice=practice, **{**SQUAT, "name": "Barbell Romanian deadlift", "figure": "barbell-romanian-deadlift"}
    )
    add_line(session, deadlift, load=(70, "kg"))
    split = ExerciseFactory(
        practice=practice,
        name="Rear-foot-elevated split squat",
        pattern="lunge",
        limbs="one",
        figure="rear-foot-elevated-split-squat",
    )
    add_line(session, split, load=(14, "kg"))
    press = ExerciseFactory(practice=practice, name="Dumbbell bench press")
    add_line(session, press, load=(24, "kg"), superset="A")
    curl = ExerciseFactory(practice=practice, name="Incline dumbbell curl", pattern="elbow_flexion")
    add_line(session, curl, load=None, finds_load=True, superset="A")
    plank = ExerciseFactory(
        practice=practice,
        name="Front plank",
        pattern="trunk_anti_extension",
        implement="bodyweight",
        load_entry="none",
        rep_unit="seconds",
        regions={"abs": 4},
        figure="front-plank",
    )
    add_line(session, plank, load=None, reps_low=None, reps_high=None, seconds=45, rir=None)
    return handed_out(session)
