"""Forms of the page on what composing weighs: a whole number a weight, and the template to try them on."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from coachdesk.practice.models import Practice
from programs import labels
from programs.engine.compose import Weights
from programs.engine.compose.weights import DEFAULTS, against, bounds
from programs.engine.vocabulary import EXPERIENCES
from programs.models import Outline
from programs.reasons import sentence_of
from programs.weighing import GROUPS, KNOWN, Group


class WeightsForm(forms.Form):
    """A field each weight; an empty one stands for what is usual."""

    def __init__(self, data: Mapping[str, Any] | None = None, *, weights: Weights) -> None:
        super().__init__(data, initial=weights.as_dict())
        for name, known in KNOWN.items():
            low, high = bounds(name)
            whole = _("Write a whole number, %(low)d to %(high)d.") % {"low": low, "high": high}
            self.fields[name] = forms.IntegerField(
                label=known.label,  # type: ignore[arg-type]
                help_text=known.about,  # type: ignore[arg-type]
                min_value=low,
                max_value=high,
                required=False,
                error_messages={"invalid": whole, "min_value": whole, "max_value": whole},
            )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not self.errors:
            for name, why in against(self._weights(data)).items():
                self.add_error(name, sentence_of(why))
        return data

    @staticmethod
    def _weights(data: Mapping[str, Any]) -> Weights:
        return Weights.of({name: value for name, value in data.items() if value is not None})

    @property
    def weights(self) -> Weights:
        """What a valid form says."""
        return self._weights(self.cleaned_data)

    def typed(self, fallback: Weights) -> Weights:
        """What stands in the fields as far as it is a weight, for telling what it comes to."""
        if not self.is_bound:
            return fallback
        said = {}
        for name in DEFAULTS:
            try:
                said[name] = self.fields[name].clean(self.data.get(name, ""))
            except forms.ValidationError:
                said[name] = getattr(fallback, name)
        return self._weights(said)


class EffectForm(forms.Form):
    """The template and the experience to try the weights on."""

    template = forms.ModelChoiceField(label=_("Template"), queryset=Outline.objects.none(), to_field_name="public_id")
    level = forms.ChoiceField(label=_("Experience"), choices=[(name, labels.EXPERIENCES[name]) for name in EXPERIENCES])

    def __init__(self, *args: Any, practice: Practice, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["template"]
        field.empty_label = None  # type: ignore[attr-defined]
        field.queryset = Outline.objects.for_practice(practice).current().order_by("name")  # type: ignore[attr-defined]
        self.initial.setdefault("level", "intermediate")


def with_usual(data: Mapping[str, str], group: Group) -> dict[str, str]:
    """What was typed, with one group's weights at what is usual."""
    return {**data, **{known.name: str(DEFAULTS[known.name]) for known in group.weights}}


def group_called(key: str) -> Group | None:
    return next((group for group in GROUPS if group.key == key), None)
