"""The forms for pausing, leaving, coming back and another coach: what is decided beside what is shown."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.forms.fields import DayField
from clients.models import Client
from clients.reads.leaving import KEPT_FOR
from coachdesk.practice.models import Coach

FARTHEST_BACK = timedelta(days=366)
FARTHEST_AHEAD = timedelta(days=60)
LONGEST_PAUSE = timedelta(days=2 * 366)  # whoever is away for longer has left; a later year is mistyped


class _FromDay(forms.Form):
    """Since when; a day that has come."""

    day = DayField(label=gettext_lazy("From"))

    def __init__(self, *args: Any, client: Client, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.client, self.today = client, today
        self.fields["day"].initial = today

    def clean_day(self) -> date:
        day: date = self.cleaned_data["day"]
        if day > self.today:
            raise ValidationError(_("This day is still to come."))
        if day < self.today - FARTHEST_BACK:
            raise ValidationError(_("That is more than a year ago."))
        return day


class PauseForm(_FromDay):
    until = DayField(
        label=gettext_lazy("Back on"), required=False, help_text=gettext_lazy("Empty where it is not known yet.")
    )
    close = forms.BooleanField(label=gettext_lazy("Close the links too"), required=False)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        day, until = data.get("day"), data.get("until")
        if day and until and until <= day:
            self.add_error("until", _("It ends before it starts."))
        return data

    def clean_until(self) -> date | None:
        return _not_too_late(self.cleaned_data["until"], self.today)


def _not_too_late(day: date | None, today: date) -> date | None:
    if day is not None and day > today + LONGEST_PAUSE:
        raise ValidationError(_("That is more than two years ahead; whoever is away for so long has left."))
    return day


class AwaitForm(forms.Form):
    """Another day to be back on, for somebody who pauses already."""

    until = DayField(
        label=gettext_lazy("Back on"), required=False, help_text=gettext_lazy("Empty where it is not known any more.")
    )

    def __init__(self, *args: Any, client: Client, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["until"].initial = client.paused_until

    def clean_until(self) -> date | None:
        day: date | None = self.cleaned_data["until"]
        if day is not None and day < self.today:
            raise ValidationError(_("This day has passed."))
        return _not_too_late(day, self.today)


class LeaveForm(_FromDay):
    keep_until = DayField(
        label=gettext_lazy("Keep the data until"),
        help_text=gettext_lazy("As your law and your agreement say; three years is only where this starts."),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["keep_until"].initial = self.today + KEPT_FOR

    def clean_keep_until(self) -> date:
        day: date = self.cleaned_data["keep_until"]
        if day < self.today:
            raise ValidationError(_("This day has passed."))
        return day


class ReturnForm(_FromDay):
    """From when, and what becomes of a block on hold once ``offer`` says what may."""

    def offer(self, ways: Sequence[tuple[str, str]]) -> None:
        """``ways`` are (code, words); without any nothing is asked."""
        if ways:
            self.fields["way"] = forms.ChoiceField(
                label=_("The block on hold"), widget=forms.RadioSelect, choices=list(ways), initial=ways[0][0]
            )

    def clean_day(self) -> date:
        return self._possible(self.cleaned_data["day"])

    def asked_day(self) -> date:
        """The day as typed where that can be, else the one that the form begins with. What is offered hangs on it, so
        it is looked at before the rest."""
        if self.is_bound:
            try:
                return self._possible(self.fields["day"].clean(self.data.get("day")))
            except ValidationError:
                pass
        return self.today

    def _possible(self, day: date) -> date:
        since = self.client.status_since
        if since is not None and day < since:
            raise ValidationError(_("That is before they went."))
        if day > self.today + FARTHEST_AHEAD:
            raise ValidationError(_("That is too far ahead: come back to this nearer the day."))
        return day


class CoachForm(forms.Form):
    """Who takes over, and what they should know."""

    coach = forms.ModelChoiceField(
        label=gettext_lazy("Takes over"), queryset=Coach.objects.none(), widget=forms.RadioSelect, empty_label=None
    )
    note = forms.CharField(
        label=gettext_lazy("To hand over"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text=gettext_lazy(
            "Put at the head of the notes for coaches, with the day and both names. Nothing on health: that has a page "
            "of its own."
        ),
    )

    def __init__(self, *args: Any, others: Sequence[Coach], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["coach"]
        field.queryset = Coach.objects.filter(pk__in=[coach.pk for coach in others]).order_by("name", "pk")
        field.initial = others[0] if others else None


class WordsForm(forms.Form):
    """What the coach says at the head of a report."""

    words = forms.CharField(
        label=gettext_lazy("A word from you"),
        required=False,
        max_length=1500,
        widget=forms.Textarea(attrs={"rows": 6}),
        help_text=gettext_lazy(
            "What went well, what comes next. It stands at the head of the PDF and is kept nowhere."
        ),
    )
