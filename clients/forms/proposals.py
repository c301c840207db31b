"""A coach's own numbers in place of what was proposed."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import Proposal
from clients.services.proposals import Change
from clients.sheets import wording
from programs.units import Load, read_number

MOST_SETS, MOST_REPS = 12, 50


class ChangeForm(forms.Form):
    """Load, reps and sets; filled in with what is proposed. Only what the exercise counts is asked."""

    load = forms.CharField(label=gettext_lazy("Load"), required=False, max_length=12)
    sets = forms.IntegerField(
        label=gettext_lazy("Sets"),
        min_value=1,
        max_value=MOST_SETS,
        error_messages={
            "invalid": gettext_lazy("Sets are whole numbers, 1 to 12."),
            "min_value": gettext_lazy("Sets are whole numbers, 1 to 12."),
            "max_value": gettext_lazy("Sets are whole numbers, 1 to 12."),
        },
    )
    reps_low = forms.IntegerField(label=gettext_lazy("Reps from"), required=False, min_value=1, max_value=MOST_REPS)
    reps_high = forms.IntegerField(label=gettext_lazy("Reps to"), required=False, min_value=1, max_value=MOST_REPS)

    def __init__(self, data: Any = None, *, proposal: Proposal) -> None:
        new, old = proposal.new, proposal.old
        self.takes_load = proposal.exercise.load_entry != "none"
        self.counts_reps = (new.get("reps_low") or old.get("reps_low")) is not None
        self.unit = new.get("unit") or old.get("unit") or ""
        load = new.get("load") if new.get("load") is not None else old.get("load")
        super().__init__(
            data,
            initial={
                "load": "" if load is None else wording.number(load),
                "sets": new.get("sets") or old.get("sets") or 1,
                "reps_low": new.get("reps_low") or old.get("reps_low"),
                "reps_high": new.get("reps_high") or old.get("reps_high"),
            },
        )
        for name in ("reps_low", "reps_high"):
            self.fields[name].error_messages = dict.fromkeys(
                ("invalid", "min_value", "max_value"), _("Reps are whole numbers, 1 to 50.")
            )
            self.fields[name].widget.attrs["inputmode"] = "numeric"
            self.fields[name].width = "short"  # type: ignore[attr-defined]
        self.fields["load"].unit = self.unit if self.unit in ("kg", "lb") else ""  # type: ignore[attr-defined]
        self.fields["load"].widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})
        for name in ("load", "sets"):
            self.fields[name].width = "short"  # type: ignore[attr-defined]
        if not self.takes_load:
            del self.fields["load"]
        if not self.counts_reps:
            del self.fields["reps_low"], self.fields["reps_high"]

    def clean_load(self) -> Load | None:
        text = self.cleaned_data["load"].strip()
        if not text:
            return None
        number = read_number(text)
        if number is None or number < 0:
            raise ValidationError(_("Loads are numbers such as 62.5 or 62,5."))
        return Load(number, self.unit, text)

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or {}
        low, high = cleaned.get("reps_low"), cleaned.get("reps_high")
        if self.counts_reps and low is None and "reps_low" not in self.errors:
            self.add_error("reps_low", _("Say how many reps."))
        if low is not None and high is not None and high < low:
            self.add_error("reps_high", _("The upper number is the same or more."))
        return cleaned

    def change(self) -> Change:
        cleaned = self.cleaned_data
        return Change(
            load=cleaned.get("load"),
            sets=cleaned["sets"],
            reps_low=cleaned.get("reps_low"),
            reps_high=cleaned.get("reps_high"),
        )
