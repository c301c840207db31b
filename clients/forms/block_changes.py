"""Changing what is left of a block: other days, another place for a while, a joint to spare."""

from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.forms.fields import DayField
from clients.forms.people import WEEKDAYS
from clients.models import Client, Place
from programs import labels
from programs.engine import vocabulary
from programs.models import Outline

NO_PLACE = gettext_lazy("where it is planned")


class OtherDaysForm(forms.Form):
    """From when, and on which weekdays."""

    since = DayField(label=gettext_lazy("From"), help_text=gettext_lazy("What lies before it stays as it is."))
    days = forms.TypedMultipleChoiceField(
        label=gettext_lazy("Days from then on"),
        coerce=int,
        choices=list(enumerate(WEEKDAYS)),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": gettext_lazy("Choose the days that are left.")},
    )
    outline = forms.ModelChoiceField(
        queryset=Outline.objects.none(), required=False, widget=forms.HiddenInput, label=gettext_lazy("Template")
    )

    def __init__(self, *args: Any, client: Client, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["outline"].queryset = Outline.objects.for_practice(client.practice).current()  # type: ignore[attr-defined]

    def clean_since(self) -> date:
        since: date = self.cleaned_data["since"]
        return not_past(self, since)


class PartForm(forms.Form):
    """From when until when; another place, a joint to spare, or both."""

    since = DayField(label=gettext_lazy("From"))
    until = DayField(
        label=gettext_lazy("Until"), required=False, help_text=gettext_lazy("Empty: to the end of the block.")
    )
    place = forms.ModelChoiceField(
        label=gettext_lazy("Place"),
        queryset=Place.objects.none(),
        required=False,
        empty_label=NO_PLACE,
        help_text=gettext_lazy("The block’s own place brings sessions back."),
        error_messages={"invalid_choice": gettext_lazy("Choose a place from the list.")},
    )
    joints = forms.MultipleChoiceField(
        label=gettext_lazy("Spare"),
        choices=labels.choices(vocabulary.JOINT_TAGS),
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    side = forms.ChoiceField(
        label=gettext_lazy("Side"), choices=labels.choices(("both", "left", "right")), initial="both", required=False
    )
    strict = forms.TypedChoiceField(
        label=gettext_lazy("How strictly"),
        choices=[("1", gettext_lazy("avoid")), ("0", gettext_lazy("go easy"))],
        coerce=lambda value: value == "1",
        initial="1",
    )

    def __init__(self, *args: Any, client: Client, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        for name in ("since", "until"):
            self.fields[name].width = ""  # type: ignore[attr-defined]
        places = Place.objects.for_practice(client.practice)
        self.fields["place"].queryset = places.filter(owner=None) | places.filter(owner=client)  # type: ignore[attr-defined]

    def clean_since(self) -> date:
        since: date = self.cleaned_data["since"]
        return not_past(self, since)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        since, until = data.get("since"), data.get("until")
        if since and until and until < since:
            self.add_error("until", _("That is before the first day."))
        if not self.errors and not data.get("place") and not data.get("joints"):
            self.add_error("place", _("Choose another place, or something to spare."))
        data["side"] = data.get("side") or "both"
        data["joints"] = tuple(data.get("joints") or ())
        return data


def not_past(form: Any, since: date) -> date:
    if since < form.today:
        form.add_error("since", _("That day is over."))
    return since
