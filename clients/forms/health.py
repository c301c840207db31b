"""The forms of the health pages."""

from datetime import date
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients import labels
from clients.forms.fields import DayField
from clients.models import Clearance, Illness
from clients.reads.leaving import KEPT_FOR
from programs.engine import cautions
from programs.engine.cautions.screening import CLEARANCE_LASTS

YES, NO, OPEN = "yes", "no", ""
ANSWERS = [(YES, gettext_lazy("yes")), (NO, gettext_lazy("no")), (OPEN, gettext_lazy("leave open"))]
SAID: dict[str, bool | None] = {YES: True, NO: False, OPEN: None}
WORDS = {True: YES, False: NO, None: OPEN}


class QuestionsForm(forms.Form):
    """All health questions, each answered yes or no or left open."""

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for code in cautions.SCREENING:
            self.fields[code] = forms.ChoiceField(
                label=labels.QUESTIONS[code],  # type: ignore[arg-type]  # the stubs know only their own lazy text
                choices=ANSWERS,
                required=False,
                initial=OPEN,
                widget=forms.RadioSelect,
            )
        self.fields["details"] = forms.CharField(
            label=gettext_lazy("In their words"),
            required=False,
            widget=forms.Textarea,
            help_text=gettext_lazy("What lies behind a yes, medicines, what a professional said."),
        )
        self.fields["answered_on"] = DayField(label=gettext_lazy("Answered on"), latest=today, initial=today)

    @property
    def groups(self) -> list[tuple[Any, list[forms.BoundField]]]:
        return [(title, [self[code] for code in codes]) for title, codes in labels.QUESTION_GROUPS]

    @property
    def answers(self) -> dict[str, bool | None]:
        return {code: SAID[self.cleaned_data[code]] for code in cautions.SCREENING}

    @property
    def anything_said(self) -> bool:
        return any(answer is not None for answer in self.answers.values()) or bool(self.cleaned_data["details"])


class ClearanceForm(forms.Form):
    """A professional's word, as the coach got it."""

    given_by = forms.CharField(
        label=gettext_lazy("Given by"), max_length=120, help_text=gettext_lazy("Name and profession.")
    )
    scope = forms.ChoiceField(
        label=gettext_lazy("It covers"), choices=Clearance.Scope.choices, widget=forms.RadioSelect
    )
    given_on = DayField(label=gettext_lazy("Given on"))
    expires_on = DayField(
        label=gettext_lazy("Valid until"),
        required=False,
        help_text=gettext_lazy("Empty: twelve months, which is the longest."),
    )
    note = forms.CharField(label=gettext_lazy("Limits the professional set"), required=False, widget=forms.Textarea)

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["given_on"].latest = today  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        given, expires = data.get("given_on"), data.get("expires_on")
        if given is None or "expires_on" in self.errors:
            return data
        if expires is None:
            data["expires_on"] = given + CLEARANCE_LASTS
        elif expires < given:
            self.add_error("expires_on", _("It ends before it was given."))
        elif expires > given + CLEARANCE_LASTS:
            self.add_error("expires_on", _("A clearance counts for twelve months at most; ask again then."))
        return data


class ConditionForm(forms.Form):
    """Something known that changes how this person trains."""

    CODES: ClassVar = (*cautions.CONDITIONS, *cautions.NEEDS_LIMITS)

    code = forms.ChoiceField(label=gettext_lazy("What"), choices=[(code, labels.CONDITIONS[code]) for code in CODES])
    since = DayField(label=gettext_lazy("Since"), required=False)
    until = DayField(label=gettext_lazy("Until"), required=False)
    details = forms.CharField(label=gettext_lazy("Details"), required=False, widget=forms.Textarea)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        since, until = data.get("since"), data.get("until")
        if since and until and until < since:
            self.add_error("until", _("It ends before it starts."))
        return data


class IllnessForm(forms.Form):
    """An illness: its kind, from when, and how it went on."""

    kind = forms.ChoiceField(label=gettext_lazy("What kind"), choices=Illness.Kind.choices, widget=forms.RadioSelect)
    since = DayField(label=gettext_lazy("Since"))
    well_on = DayField(
        label=gettext_lazy("Well since"),
        required=False,
        help_text=gettext_lazy("The first day without fever, and without medicine against it. Empty: still ill."),
    )
    cleared_on = DayField(
        label=gettext_lazy("Cleared by a professional on"),
        required=False,
        help_text=gettext_lazy(
            "Asked for after chest pain, breathlessness or fainting, and after more than seven days ill."
        ),
    )
    details = forms.CharField(label=gettext_lazy("Details"), required=False, widget=forms.Textarea, max_length=2000)

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("since", "well_on", "cleared_on"):
            self.fields[name].latest = today  # type: ignore[attr-defined]
        if not self.initial.get("since"):
            self.initial["since"] = today

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        since, well, cleared = data.get("since"), data.get("well_on"), data.get("cleared_on")
        if since and well and well < since:
            self.add_error("well_on", _("It ends before it starts."))
        if since and cleared and cleared < since:
            self.add_error("cleared_on", _("This is before the illness."))
        return data


class PainAnswerForm(forms.Form):
    """The coach's decision on a pain report."""

    answer = forms.CharField(
        label=gettext_lazy("What you decide"),
        widget=forms.Textarea,
        max_length=1000,
        help_text=gettext_lazy("What was paused goes on as the sheets then say. Change the limits first where needed."),
    )


class HealthNoteForm(forms.Form):
    """A note on health, kept until the day given."""

    text = forms.CharField(label=gettext_lazy("Note"), widget=forms.Textarea, max_length=5000)
    keep_until = DayField(
        label=gettext_lazy("Keep until"),
        required=False,
        help_text=gettext_lazy("A reminder for you of when it has served its purpose. You remove it yourself."),
    )

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["keep_until"].initial = today + KEPT_FOR

    def clean_keep_until(self) -> date | None:
        day = self.cleaned_data["keep_until"]
        if day is not None and day < self.today:
            raise ValidationError(_("This day has passed."))
        return day
