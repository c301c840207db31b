"""Rows for tests. Ana coaches Ben; Cleo coaches in another practice. All are invented."""

from datetime import date
from typing import Any

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory

from clients.models import (
    Block,
    Client,
    ClientLink,
    Draft,
    HealthAnswers,
    Limit,
    LoggedSet,
    Place,
    Prescription,
    Proposal,
    RecentSet,
    Station,
    TargetSet,
    TrainingSession,
)
from clients.models.links import client_link_end
from coachdesk.practice.models import Coach, Practice
from programs.engine import cautions
from programs.models import (
    Exercise,
    ExerciseJoint,
    ExerciseRegion,
    Outline,
    OutlineDay,
    OutlineSlot,
    Photo,
    SlotCandidate,
)
from programs.units import columns, load_of

MONDAY = date(2026, 3, 2)


class PracticeFactory(DjangoModelFactory):
    class Meta:
        model = Practice

    name = factory.Sequence(lambda n: f"Room {n}")
    time_zone = "Europe/Helsinki"


class CoachFactory(DjangoModelFactory):
    class Meta:
        model = Coach
        skip_postgeneration_save = True

    practice = factory.SubFactory(PracticeFactory)
    name = factory.Sequence(lambda n: f"Coach {n}")
    email = factory.Sequence(lambda n: f"coach{n}@example.org")
    sees_health = True


class PlaceFactory(DjangoModelFactory):
    class Meta:
        model = Place

    practice = factory.SubFactory(PracticeFactory)
    name = factory.Sequence(lambda n: f"Place {n}")


class StationFactory(DjangoModelFactory):
    class Meta:
        model = Station

    place = factory.SubFactory(PlaceFactory)
    kind = "dumbbell"
    loads = factory.LazyFunction(lambda: {"list": [str(n) for n in range(2, 42, 2)]})


class BarbellFactory(StationFactory):
    kind = "barbell"
    loads = factory.LazyFunction(
        lambda: {
            "bars": [{"name": "bar", "weight": "20", "unit": "kg"}],
            "plates": [
                {"weight": weight, "unit": "kg", "count": 4} for weight in ("20", "15", "10", "5", "2.5", "1.25")
            ],
            "collars": "0",
        }
    )


class ClientFactory(DjangoModelFactory):
    class Meta:
        model = Client

    practice = factory.SubFactory(PracticeFactory)
    coach = factory.SubFactory(CoachFactory, practice=factory.SelfAttribute("..practice"))
    name = factory.Sequence(lambda n: f"Client Number{n}")
    date_of_birth = date(1990, 5, 1)
    experience = "intermediate"
    time_zone = "Europe/Helsinki"
    days = factory.LazyFunction(lambda: [0, 3])


class PhotoFactory(DjangoModelFactory):
    class Meta:
        model = Photo

    practice = factory.SubFactory(PracticeFactory)
    image = b"\xff\xd8 a picture"
    width = 640
    height = 480
    shows = "Start: elbows under the bar"


class ExerciseFactory(DjangoModelFactory):
    class Meta:
        model = Exercise
        skip_postgeneration_save = True

    practice = factory.SubFactory(PracticeFactory)
    name = factory.Sequence(lambda n: f"Dumbbell press {n}")
    pattern = "horizontal_push"
    role = "main"
    implement = "dumbbell"
    load_entry = "per_hand"
    rep_unit = "reps"
    rep_low = 6
    rep_high = 12
    rest_s = 120

    @factory.post_generation
    def regions(obj: Exercise, create: bool, extracted: dict[str, int] | None, **kwargs: Any) -> None:  # noqa: N805
        for region, quarters in ({"pec_stern": 4, "delt_ant": 2} if extracted is None else extracted).items():
            ExerciseRegion.objects.create(exercise=obj, region=region, quarters=quarters)

    @factory.post_generation
    def joints(obj: Exercise, create: bool, extracted: dict[str, int] | None, **kwargs: Any) -> None:  # noqa: N805
        for joint, severity in (extracted or {}).items():
            ExerciseJoint.objects.create(exercise=obj, joint=joint, severity=severity)


class OutlineFactory(DjangoModelFactory):
    class Meta:
        model = Outline
        skip_postgeneration_save = True

    practice = factory.SubFactory(PracticeFactory)
    name = factory.Sequence(lambda n: f"Template {n}")
    serves = factory.LazyFunction(lambda: ["novice", "intermediate"])
    order = factory.LazyFunction(lambda: ["full", "full"])


class OutlineDayFactory(DjangoModelFactory):
    class Meta:
        model = OutlineDay

    outline = factory.SubFactory(OutlineFactory)
    key = "full"
    name = "Full body"
    position = 0


class OutlineSlotFactory(DjangoModelFactory):
    class Meta:
        model = OutlineSlot

    day = factory.SubFactory(OutlineDayFactory)
    key = factory.Sequence(lambda n: f"slot-{n}")
    position = factory.LazyAttribute(lambda slot: slot.day.slots.count())
    title = "Chest, press"
    region = "pec_stern"
    role = "main"
    sets = factory.LazyFunction(lambda: {"novice": [2, 3], "intermediate": [3, 4], "advanced": [3, 5]})
    reps = factory.LazyFunction(lambda: [[6, 8], [8, 12]])
    rir = 2
    rest_s = 150


class SlotCandidateFactory(DjangoModelFactory):
    class Meta:
        model = SlotCandidate

    slot = factory.SubFactory(OutlineSlotFactory)
    exercise = factory.SubFactory(ExerciseFactory, practice=factory.SelfAttribute("..slot.day.outline.practice"))
    occurrence = 0
    rank = factory.Sequence(lambda n: n)


class DraftFactory(DjangoModelFactory):
    class Meta:
        model = Draft

    client = factory.SubFactory(ClientFactory)
    outline = factory.SubFactory(OutlineFactory, practice=factory.SelfAttribute("..client.practice"))
    place = factory.SubFactory(PlaceFactory, practice=factory.SelfAttribute("..client.practice"))
    starts_on = MONDAY


class BlockFactory(DjangoModelFactory):
    class Meta:
        model = Block

    client = factory.SubFactory(ClientFactory)
    outline = factory.SubFactory(OutlineFactory, practice=factory.SelfAttribute("..client.practice"))
    place = factory.SubFactory(PlaceFactory, practice=factory.SelfAttribute("..client.practice"))
    number = factory.Sequence(lambda n: n + 1)
    starts_on = MONDAY
    weeks = 6


class TrainingSessionFactory(DjangoModelFactory):
    class Meta:
        model = TrainingSession

    block = factory.SubFactory(BlockFactory)
    cycle = 1
    position = factory.Sequence(lambda n: n)
    day_key = "full"
    occurrence = 0
    name = "Full body A"
    planned_on = MONDAY


class TargetSetFactory(DjangoModelFactory):
    class Meta:
        model = TargetSet

    number = factory.Sequence(lambda n: n + 1)
    reps_low = 6
    reps_high = 8
    rir = 2
    rest_s = 150

    @classmethod
    def _create(cls, model_class: type[TargetSet], *args: Any, **kwargs: Any) -> TargetSet:
        load = kwargs.pop("load", load_of(20, "kg"))
        return super()._create(model_class, *args, **{**columns(load), **kwargs})


class PrescriptionFactory(DjangoModelFactory):
    class Meta:
        model = Prescription
        skip_postgeneration_save = True

    session = factory.SubFactory(TrainingSessionFactory)
    exercise = factory.SubFactory(ExerciseFactory, practice=factory.SelfAttribute("..session.block.client.practice"))
    position = factory.Sequence(lambda n: n)
    slot_key = factory.Sequence(lambda n: f"slot-{n}")
    slot_title = "Chest, press"
    role = "main"
    target_sets = factory.RelatedFactoryList(TargetSetFactory, "prescription", size=3)


class LimitFactory(DjangoModelFactory):
    class Meta:
        model = Limit

    client = factory.SubFactory(ClientFactory)
    joint = "shoulder_overhead"
    since = MONDAY


class RecentSetFactory(DjangoModelFactory):
    class Meta:
        model = RecentSet

    client = factory.SubFactory(ClientFactory)
    exercise = factory.SubFactory(ExerciseFactory, practice=factory.SelfAttribute("..client.practice"))
    reps = 8
    rir = 2
    done_on = MONDAY

    @classmethod
    def _create(cls, model_class: type[RecentSet], *args: Any, **kwargs: Any) -> RecentSet:
        load = kwargs.pop("load", load_of(20, "kg"))
        return super()._create(model_class, *args, **{**columns(load), **kwargs})


class LoggedSetFactory(DjangoModelFactory):
    class Meta:
        model = LoggedSet

    client = factory.SubFactory(ClientFactory)
    key = factory.Sequence(lambda n: f"key-{n}")
    exercise = factory.SubFactory(ExerciseFactory, practice=factory.SelfAttribute("..client.practice"))
    reps = 8
    rir = 2
    performed_on = MONDAY
    way = "paper"

    @classmethod
    def _create(cls, model_class: type[LoggedSet], *args: Any, **kwargs: Any) -> LoggedSet:
        load = kwargs.pop("load", load_of(20, "kg"))
        return super()._create(model_class, *args, **{**columns(load), **kwargs})


class ProposalFactory(DjangoModelFactory):
    class Meta:
        model = Proposal

    client = factory.SubFactory(ClientFactory)
    session = factory.SubFactory(TrainingSessionFactory, block__client=factory.SelfAttribute("...client"))
    slot_key = factory.Sequence(lambda n: f"slot-{n}")
    exercise = factory.SubFactory(ExerciseFactory, practice=factory.SelfAttribute("..client.practice"))
    kind = "step_up"
    digest = "0" * 64


class ClientLinkFactory(DjangoModelFactory):
    class Meta:
        model = ClientLink

    client = factory.SubFactory(ClientFactory)
    expires_at = factory.LazyFunction(lambda: timezone.now() + client_link_end())

    @classmethod
    def _create(cls, model_class: type[ClientLink], *args: Any, **kwargs: Any) -> ClientLink:
        link = model_class(*args, **kwargs)
        link.seal()
        link.save()
        return link


class HealthAnswersFactory(DjangoModelFactory):
    """Active, nothing known: cleared for a year."""

    class Meta:
        model = HealthAnswers

    client = factory.SubFactory(ClientFactory)
    answers = factory.LazyFunction(lambda: {code: code == "active" for code in cautions.SCREENING})
    result = "cleared"
    answered_on = MONDAY
