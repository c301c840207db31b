"""What steering a block asks for: one small form for each act."""

from collections.abc import Callable, Iterable
from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.cycles import WEEK_DAYS, is_rolling, round_title
from clients.forms.block_changes import not_past
from clients.forms.fields import DayField
from clients.reads.blocks import day_words
from clients.reads.steering import Asked, Course, Round

MOST_DAYS = 182


class SteerForm(forms.Form):
    """``asked()`` of a valid form is what is wanted. ``act`` names it in the address."""

    act = ""
    beside = False  # whether its fields are short enough to stand side by side

    def __init__(self, *args: Any, course: Course, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.course = course
        self.rolling = is_rolling(course.block.cycle_days)

    def asked(self) -> Asked:
        return Asked(self.act, **self.cleaned_data)

    def choose_from(self, name: str, rounds: Iterable[Round], *, more: Iterable[tuple[int, str]] = ()) -> None:
        choices = [(one.number, round_choice(one, self.course)) for one in rounds]
        field: Any = self.fields[name]
        field.choices = [*choices, *more]
        field.error_messages["invalid_choice"] = _("Choose one from the list: it may have changed in between.")

    @property
    def nothing_to_choose(self) -> bool:
        return any(not getattr(field, "choices", True) for field in self.fields.values())


def round_choice(one: Round, course: Course) -> str:
    """ "Week 3: Mon 16 Mar – Thu 19 Mar, 1 of 2 trained"."""
    title = round_title(one.number, course.block.cycle_days)
    said = []
    if one.first is not None:
        said.append(
            f"{day_words(one.first)} – {day_words(one.last)}" if one.last != one.first else day_words(one.first)
        )
    if one.done:
        said.append(_("%(done)d of %(sessions)d trained") % {"done": one.done, "sessions": one.sessions})
    if one.easy:
        said.append(_("easier"))
    return f"{title}: {', '.join(said)}" if said else title


class SinceForm(SteerForm):
    since = DayField(label=gettext_lazy("From"))

    def clean_since(self) -> date:
        self.today = self.course.today
        return not_past(self, self.cleaned_data["since"])


class ShiftForm(SinceForm):
    act = "shift"
    beside = True
    many = forms.IntegerField(
        label=gettext_lazy("By how much"),
        min_value=1,
        max_value=MOST_DAYS,
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value"), gettext_lazy("A whole number: 1 to 182 days, or 1 to 26 weeks.")
        ),
    )
    way = forms.ChoiceField(
        label=gettext_lazy("Which way"),
        choices=[
            ("weeks_later", gettext_lazy("weeks later")),
            ("days_later", gettext_lazy("days later")),
            ("weeks_earlier", gettext_lazy("weeks earlier")),
            ("days_earlier", gettext_lazy("days earlier")),
        ],
    )

    field_order = ("many", "way", "since")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["many"].width = "short"  # type: ignore[attr-defined]
        self.fields["since"].help_text = _("What lies before stays.")
        if not self.course.dated and not self.rolling:  # without dates, sessions move by whole rounds
            way: Any = self.fields["way"]
            way.choices = [(value, words) for value, words in way.choices if value.startswith("weeks")]

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        many, in_weeks = data.get("many"), data.get("way", "").startswith("weeks")
        if many is not None and in_weeks and many * WEEK_DAYS > MOST_DAYS:
            self.add_error("many", self.fields["many"].error_messages["max_value"])
        return data

    def asked(self) -> Asked:
        data = self.cleaned_data
        unit, _line, way = data["way"].partition("_")
        days = data["many"] * (WEEK_DAYS if unit == "weeks" else 1)
        return Asked(self.act, since=data["since"], days=-days if way == "earlier" else days)


class AgainForm(SteerForm):
    act = "again"
    round = forms.TypedChoiceField(label=gettext_lazy("Which"), coerce=int)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.choose_from("round", self.course.rounds)
        self.fields["round"].help_text = _("It comes right behind, or as soon as what was begun since lets it.")


class InsertForm(SteerForm):
    act = "insert"
    round = forms.TypedChoiceField(label=gettext_lazy("Ahead of"), coerce=int)
    easy = forms.TypedChoiceField(
        label=gettext_lazy("How hard"),
        choices=[(0, gettext_lazy("as usual")), (1, gettext_lazy("easier: a deload"))],
        coerce=lambda value: value == "1",
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ahead, last = self.course.ahead, self.course.running.last_round
        end = [(last + 1, _("the end of the block"))]
        self.choose_from("round", (one for one in self.course.rounds if one.number >= ahead), more=end)
        self.fields["round"].help_text = _("It is like the last ordinary one before it.")


class DropForm(SteerForm):
    act = "drop"
    round = forms.TypedChoiceField(label=gettext_lazy("Which"), coerce=int)
    forward = forms.TypedChoiceField(
        label=gettext_lazy("What lies behind"),
        choices=[
            (1, gettext_lazy("comes earlier: the block ends sooner")),
            (0, gettext_lazy("stays where it is: the days are free")),
        ],
        coerce=lambda value: value == "1",
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.choose_from("round", (one for one in self.course.rounds if one.to_come))


class EaseForm(SteerForm):
    act = "ease"
    round = forms.TypedChoiceField(label=gettext_lazy("Which"), coerce=int)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.choose_from("round", (one for one in self.course.rounds if one.to_come and not one.easy))
        self.fields["round"].help_text = _("What is still to come of it: half of the sets, less load, more in reserve.")


class EndForm(SinceForm):
    act = "end"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["since"].label = _("Leave out from")
        self.fields["since"].help_text = _("What lies before that day stays. Sessions without a date are left out too.")


FORMS: dict[str, Callable[..., SteerForm]] = {
    form.act: form for form in (ShiftForm, AgainForm, InsertForm, DropForm, EaseForm, EndForm)
}


def usual(act: str, course: Course) -> dict[str, Any]:
    """What a form shows before anything is asked: what is most often meant today."""
    present = next((one.number for one in course.rounds if one.to_come), 0)
    begun = [one.number for one in course.rounds if one.done]
    easable = [one.number for one in course.rounds if one.to_come and not one.easy]
    begun_now = any(one.done for one in course.rounds if one.number == present)
    found: dict[str, dict[str, Any]] = {
        "shift": {"many": 1, "way": "weeks_later", "since": course.today},
        "again": {"round": begun[-1] if begun else present},
        "insert": {"round": course.ahead, "easy": 0},
        "drop": {"round": present, "forward": 0 if begun_now else 1},
        "ease": {"round": easable[0] if easable else 0},
        "end": {"since": course.today},
    }
    return found[act]
