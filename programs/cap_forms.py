"""The form of the page on how far loads may change: per cent each bound, and the order of other ways."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from programs.capping import KNOWN, LEVER_WORDS, PERCENT
from programs.engine.progress import LEVERS, Caps
from programs.reasons.words import number
from programs.units import read_number

PLACES = (
    gettext_lazy("First"),
    gettext_lazy("Second"),
    gettext_lazy("Third"),
    gettext_lazy("Fourth"),
    gettext_lazy("Fifth"),
)


class PercentField(forms.CharField):
    """A share as per cent, with point or comma; empty for what is usual. Gives a share or None."""

    def __init__(self, *, low: float, high: float, **kwargs: Any) -> None:
        super().__init__(required=False, max_length=6, **kwargs)
        self.low, self.high = low, high
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})

    def clean(self, value: Any) -> float | None:
        text = super().clean(value).removesuffix("%").strip()
        if not text:
            return None
        percent = read_number(text)
        if percent is None or not Decimal(str(self.low)) <= percent <= Decimal(str(self.high)):
            said = {"low": number(self.low), "high": number(self.high)}
            raise ValidationError(_("Write a number, %(low)s to %(high)s.") % said)
        return float(percent) / PERCENT


class CapsForm(forms.Form):
    """A box each bound, and a list each place in the order of other ways."""

    def __init__(self, data: Mapping[str, Any] | None = None, *, caps: Caps, levers: tuple[str, ...]) -> None:
        initial: dict[str, Any] = {known.name: number(round(PERCENT * getattr(caps, known.name), 1)) for known in KNOWN}
        initial |= {f"lever_{place}": code for place, code in enumerate(levers)}
        super().__init__(data, initial=initial)
        for known in KNOWN:
            low, high = known.bounds
            self.fields[known.name] = PercentField(low=low, high=high, label=known.label, help_text=known.about)
        for place in range(len(LEVERS)):
            self.fields[f"lever_{place}"] = forms.ChoiceField(
                label=PLACES[place],
                choices=[(code, LEVER_WORDS[code]) for code in LEVERS],
            )

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        caps = self._caps(data)
        for name in ("rise_most", "rise_week"):
            if "rise" not in self.errors and name not in self.errors and getattr(caps, name) < caps.rise:
                least = number(round(PERCENT * caps.rise, 1))
                self.add_error(name, _("Write %(least)s or more: the usual rise fits within it.") % {"least": least})
        seen: set[str] = set()
        for place in range(len(LEVERS)):
            code = data.get(f"lever_{place}")
            if code in seen:
                self.add_error(f"lever_{place}", _("Each way once: this one stands above already."))
            seen.add(code or "")
        return data

    @staticmethod
    def _caps(data: Mapping[str, Any]) -> Caps:
        return Caps(**{known.name: data[known.name] for known in KNOWN if data.get(known.name) is not None})

    @property
    def caps(self) -> Caps:
        """What a valid form says."""
        return self._caps(self.cleaned_data)

    @property
    def levers(self) -> tuple[str, ...]:
        return tuple(self.cleaned_data[f"lever_{place}"] for place in range(len(LEVERS)))

    @property
    def lever_fields(self) -> list[forms.BoundField]:
        return [self[f"lever_{place}"] for place in range(len(LEVERS))]

    def typed(self, fallback: Caps) -> Caps:
        """What stands in the boxes as far as it is a bound, for telling what it comes to."""
        if not self.is_bound:
            return fallback
        said = {}
        for known in KNOWN:
            try:
                value = self.fields[known.name].clean(self.data.get(known.name, ""))
                said[known.name] = getattr(Caps(), known.name) if value is None else value
            except ValidationError:
                said[known.name] = getattr(fallback, known.name)
        return Caps(**said)
