"""A small week to compose in tests: one day type twice a week, three slots, three exercises and more for each."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import Any

from clients.models import Block, Client, Draft, Place
from clients.services.drafts import start_draft
from programs.models import Exercise, Outline
from programs.units import load_of
from tests.factories import (
    MONDAY,
    BarbellFactory,
    ExerciseFactory,
    LoggedSetFactory,
    OutlineDayFactory,
    OutlineFactory,
    OutlineSlotFactory,
    PlaceFactory,
    SlotCandidateFactory,
    StationFactory,
)

PRESS = {"pec_stern": 4, "delt_ant": 2, "tri_latmed": 2}
ROW = {"rhomb": 4, "lat": 2, "biceps": 2}
SQUAT = {"vasti": 4, "glute_max": 2}


@dataclass
class SmallWeek:
    outline: Outline
    place: Place
    exercises: dict[str, Exercise]

    def key(self, name: str) -> str:
        return self.exercises[name].key


def small_week(client: Client, *, slots: int = 3) -> SmallWeek:
    """The template and the place; exercises are named "press 0" to "press 3", "row 0", "squat 0" and so on.

    ``slots`` beyond three are more press slots with exercises of their own.
    """
    practice = client.practice
    place = PlaceFactory(practice=practice, name="Loft")
    StationFactory(place=place)
    BarbellFactory(place=place)
    outline = OutlineFactory(practice=practice, order=["full", "full"], name="Twice the whole")
    day = OutlineDayFactory(outline=outline)
    exercises: dict[str, Exercise] = {}
    plans: list[tuple[str, dict[str, int], str]] = [
        ("press", PRESS, "horizontal_push"),
        ("row", ROW, "horizontal_pull"),
        ("squat", SQUAT, "squat"),
    ]
    plans += [(f"press-{n}", PRESS, "incline_push") for n in range(3, slots)]
    for position, (kind, regions, pattern) in enumerate(plans[:slots]):
        slot = OutlineSlotFactory(
            day=day, key=kind, position=position, title=kind.title(), region=next(iter(regions)), patterns=[]
        )
        for number in range(4):
            implement = "barbell" if number % 2 else "dumbbell"
            row = ExerciseFactory(
                practice=practice,
                name=f"{kind} {number}",
                regions=regions,
                pattern=pattern,
                implement=implement,
                load_entry="total" if number % 2 else "per_hand",
            )
            exercises[row.name] = row
            for occurrence in range(2):
                rank = (number + 2 * occurrence) % 4
                SlotCandidateFactory(slot=slot, exercise=row, occurrence=occurrence, rank=rank)
    return SmallWeek(outline, place, exercises)


def draft_for(client: Client, coach: Any, week: SmallWeek | None = None, **changes: Any) -> tuple[Draft, SmallWeek]:
    week = week or small_week(client)
    asked: dict[str, Any] = {"starts_on": MONDAY, "weeks": 4, "deload_weeks": [4], **changes}
    return start_draft(client, coach, outline=week.outline, place=week.place, **asked), week


def pick(draft: Draft, slot: str, occurrence: int) -> dict[str, Any]:
    """The stored row of one place."""
    return next(row for row in draft.document["picks"] if (row["slot"], row["occurrence"]) == (slot, occurrence))


def train_block(client: Client, week: SmallWeek, block: Block, *, stalled: Collection[str] = ()) -> None:
    """Twice a week for as long as the block lasts: loads rise, except where they stalled."""
    for session in block.sessions.all():
        for row in session.prescriptions.select_related("exercise"):
            load = 40 if row.exercise.name in stalled else 40 + 2.5 * session.cycle
            LoggedSetFactory(
                client=client,
                session=session,
                exercise=row.exercise,
                place=week.place,
                slot_key=row.slot_key,
                occurrence=session.occurrence,
                performed_on=session.planned_on,
                load=load_of(load, "kg"),
            )


NEXT_MONDAY = date(2026, 3, 9)
