"""The steps in which a client is taken in, and in which the profile is changed later: the same forms for both.

A step builds its forms from what is stored or posted, and writes them down when all of them hold.
"""

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, ClassVar

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from clients.forms.fields import ExerciseNames, Rows, unchecked, with_more_rows
from clients.forms.health import WORDS, QuestionsForm
from clients.forms.people import LimitRows, PrioritiesForm, RecentRows, TasteRows, TrainingForm, WhoForm
from clients.models import Client, HealthAnswers
from clients.services import health, people
from coachdesk.practice.models import Coach, JournalEntry, Practice
from programs.engine import vocabulary

Forms = dict[str, Any]
SAME_ROUND_DAYS = 14


@dataclass
class Asked:
    """Whom a step is about and who asks; ``client`` is None before the first step is saved."""

    practice: Practice
    coach: Coach
    today: date
    client: Client | None = None
    names: ExerciseNames = field(init=False)

    def __post_init__(self) -> None:
        self.names = ExerciseNames(self.practice)

    @property
    def known(self) -> Client:
        if self.client is None:
            raise ValueError("this step comes after the first")
        return self.client


class Step(ABC):
    """One step. ``tables`` names the tables of rows among its forms, by their prefix."""

    key: ClassVar[str]
    title: ClassVar[str | Promise]
    template: ClassVar[str]
    tables: ClassVar[tuple[str, ...]] = ()
    health: ClassVar[bool] = False

    @abstractmethod
    def forms(self, asked: Asked, data: Any = None) -> Forms:
        """The step's forms by name, filled with what is known or with what was sent."""

    @abstractmethod
    def save(self, asked: Asked, forms: Forms) -> JournalEntry | None:
        """Writes what valid forms hold, as one act."""

    def holds(self, forms: Forms) -> bool:
        # Every form is asked, so that all that is wrong is said at once.
        held = [form.is_valid() for form in forms.values()]
        return all(held)

    def wider(self, asked: Asked, data: Any) -> Forms:
        """The same forms as typed so far, unjudged, with more empty rows."""
        forms = self.forms(asked, with_more_rows(data, self.tables))
        for form in forms.values():
            unchecked(form)
        return forms


class Who(Step):
    key = "who"
    title = _("Who")
    template = "clients/steps/_who.html"

    def forms(self, asked: Asked, data: Any = None) -> Forms:
        practice, client = asked.practice, asked.client
        initial: dict[str, Any] = {
            "coach": asked.coach.pk,
            "language": practice.language,
            "unit": practice.unit,
            "time_zone": practice.time_zone,
        }
        if client is not None:
            initial = {name: getattr(client, name) for name in WhoForm.base_fields} | {"coach": client.coach_id}
        return {"form": WhoForm(data, initial=initial, practice=practice, today=asked.today)}

    def save(self, asked: Asked, forms: Forms) -> JournalEntry | None:
        values = forms["form"].cleaned_data
        if asked.client is None:
            asked.client = people.add_client(asked.practice, asked.coach, values, today=asked.today)
            return None
        return people.change_client(asked.client, asked.coach, values)


class Training(Step):
    key = "training"
    title = _("Training")
    template = "clients/steps/_training.html"

    def forms(self, asked: Asked, data: Any = None) -> Forms:
        client = asked.known
        initial = {name: getattr(client, name) for name in TrainingForm.base_fields} | {"place": client.place_id}
        return {"form": TrainingForm(data, initial=initial, practice=asked.practice, client=client)}

    def save(self, asked: Asked, forms: Forms) -> JournalEntry | None:
        return people.change_client(asked.known, asked.coach, forms["form"].cleaned_data)


class Spare(Step):
    key = "spare"
    title = _("Spare and priorities")
    template = "clients/steps/_spare.html"
    tables = ("limits", "tastes")

    def forms(self, asked: Asked, data: Any = None) -> Forms:
        client = asked.known
        limits = tastes = priorities = None
        if data is None:
            limits = [
                {
                    "joint": row.joint,
                    "exercise": row.exercise,
                    "side": row.side,
                    "strict": "1" if row.strict else "0",
                    "since": row.since,
                    "until": row.until,
                }
                for row in client.limits.select_related("exercise")
            ]
            tastes = [
                {"exercise": row.exercise, "likes": "1" if row.likes else "0"}
                for row in client.tastes.select_related("exercise").order_by("pk")
            ]
            priorities = {row.group: row.priority for row in client.priorities.all()}
        return {
            "limits": LimitRows(
                data, initial=limits, prefix="limits", names=asked.names, form_kwargs={"today": asked.today}
            ),
            "form": PrioritiesForm(data, initial=priorities),
            "tastes": TasteRows(data, initial=tastes, prefix="tastes", names=asked.names),
        }

    def save(self, asked: Asked, forms: Forms) -> JournalEntry | None:
        return people.set_spared(
            asked.known,
            asked.coach,
            limits=_rows(forms["limits"]),
            priorities={group: forms["form"].cleaned_data[group] for group in vocabulary.AUDITED_GROUPS},
            tastes=_rows(forms["tastes"]),
        )


class Lifts(Step):
    key = "lifts"
    title = _("Recent sets")
    template = "clients/steps/_lifts.html"
    tables = ("sets",)

    def forms(self, asked: Asked, data: Any = None) -> Forms:
        client = asked.known
        stored = None
        if data is None:
            stored = [
                {
                    "exercise": row.exercise,
                    "load": _load_words(row),
                    "reps": row.reps,
                    "rir": "?" if row.rir is None else f"{row.rir.normalize():f}",
                    "done_on": row.done_on,
                }
                for row in client.recent_sets.select_related("exercise")
            ]
        kwargs = {"unit": client.unit, "today": asked.today}
        rows = RecentRows(data, initial=stored, prefix="sets", names=asked.names, form_kwargs=kwargs)
        return {"sets": rows}

    def save(self, asked: Asked, forms: Forms) -> JournalEntry | None:
        rows = [(row["exercise"], row["done_on"], row["sets"]) for row in _rows(forms["sets"])]
        return people.set_recent_sets(asked.known, asked.coach, rows)


class Health(Step):
    key = "health"
    title = _("Health questions")
    template = "clients/steps/_health.html"
    health = True

    def forms(self, asked: Asked, data: Any = None) -> Forms:
        newest = HealthAnswers.objects.for_client(asked.known).first() if data is None else None
        return {"form": QuestionsForm(data, initial=answered(newest, asked.today), today=asked.today)}

    def save(self, asked: Asked, forms: Forms) -> JournalEntry | None:
        form = forms["form"]
        if form.anything_said:
            health.record_answers(
                asked.known,
                asked.coach,
                form.answers,
                details=form.cleaned_data["details"],
                answered_on=form.cleaned_data["answered_on"],
            )
        return None


STEPS: tuple[Step, ...] = (Who(), Training(), Spare(), Lifts(), Health())
BY_KEY: Mapping[str, Step] = {step.key: step for step in STEPS}
# The profile changes through the same forms; health answers have pages of their own.
PROFILE = {step.key: step for step in STEPS if not step.health}


def number_of(step: Step) -> int:
    return STEPS.index(step) + 1


def answered(newest: HealthAnswers | None, today: date) -> dict[str, Any]:
    """The form's initial values: those of a round of the last days, to be completed or mended.

    Older answers are asked afresh: a form full of last year's would be nodded through.
    """
    if newest is None or (today - newest.answered_on).days > SAME_ROUND_DAYS:
        return {}
    return {code: WORDS[answer] for code, answer in newest.answers.items()} | {"details": newest.details}


def _rows(table: Rows) -> list[dict[str, Any]]:
    return [form.cleaned_data for form in table.filled]


def _load_words(row: Any) -> str:
    if row.load_value is None:
        return ""
    number = f"{row.load_value.normalize():f}"
    return f"{number} {row.load_unit}" if row.load_unit in ("kg", "lb") else number
