"""The forms about a draft's slots: where one goes, with which neighbour it is paired, and a new one."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.forms.compose import RevisionForm
from clients.services.drafts import MOST_SETS
from programs import labels
from programs.engine import vocabulary
from programs.engine.terms import Exercise
from programs.forms import regions_by_group
from programs.outline_forms import SpanField
from programs.services.outline_slots import MOST_SLOTS, usual_slot

MOST_REPS = 600  # seconds and metres are counted here too
PREFILLED = ("title", "role", "sets", "reps")


class SlotOnlyForm(RevisionForm):
    slot = forms.SlugField(max_length=60)


class PairForm(SlotOnlyForm):
    """``act``: with the slot "above" or "below", or "alone" again."""

    act = forms.ChoiceField(choices=[(act, act) for act in ("above", "below", "alone")])


class PlaceSlotForm(SlotOnlyForm):
    to = forms.IntegerField(min_value=0, max_value=MOST_SLOTS)


def usual_role(region: str, library: Mapping[str, Exercise]) -> str:
    """The role that most exercises for a region have; isolation where none aims there."""
    roles = [exercise.role for exercise in library.values() if region in exercise.primary_regions()]
    return max(vocabulary.ROLES, key=roles.count) if roles else "isolation"


def usual_values(region: str, role: str, library: Mapping[str, Exercise], experience: str) -> dict[str, Any]:
    """What a new slot for a region asks for until the coach says otherwise."""
    role = role or usual_role(region, library)
    usual = usual_slot(role)
    words = str(labels.REGIONS[region])
    return {
        "title": words[:1].upper() + words[1:],
        "role": role,
        "sets": [max(1, count) for count in usual["sets"][experience]],
        "reps": usual["reps"][0],
        "rir": usual["rir"],
        "rest_s": usual["rest_s"],
        "priority": usual["priority"],
    }


class UsualSpanField(SpanField):
    """A range, or empty (None) for what is usual."""

    def clean(self, value: Any) -> list[int] | None:  # type: ignore[override]
        return super().clean(value) if str(value or "").strip() else None


class SlotBackForm(RevisionForm):
    removed = forms.SlugField(max_length=60)


def own_words(typed: Mapping[str, Any]) -> dict[str, str]:
    """What stands in the boxes that is not what they were prefilled with."""
    before = dict(zip(PREFILLED, str(typed.get("usual", "")).split("|"), strict=False))
    return {name: str(typed[name]) for name in PREFILLED if typed.get(name) and typed[name] != before.get(name)}


class SlotAddForm(RevisionForm):
    """A slot in a few words; what stays empty is as usual for the region and the role. ``add`` is its day type.

    ``usual`` is what the boxes were prefilled with: a box that still holds it counts as empty.
    """

    add = forms.SlugField(max_length=40)
    usual = forms.CharField(required=False, strip=False)
    region = forms.ChoiceField(
        label=gettext_lazy("Target region"),
        error_messages={"required": gettext_lazy("Choose what the slot aims at.")},
    )
    title = forms.CharField(label=gettext_lazy("Called"), max_length=60, required=False)
    role = forms.ChoiceField(label=gettext_lazy("Role"), required=False)
    sets = UsualSpanField(label=gettext_lazy("Sets"), lowest=1, highest=MOST_SETS, required=False)
    reps = UsualSpanField(label=gettext_lazy("Reps"), lowest=1, highest=MOST_REPS, required=False)

    def __init__(self, *args: Any, library: Mapping[str, Exercise], experience: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.library, self.experience = library, experience
        self.fields["region"].choices = regions_by_group(_("choose"))  # type: ignore[attr-defined]
        self.fields["role"].choices = [("", _("as usual")), *labels.choices(vocabulary.ROLES)]  # type: ignore[attr-defined]

    def values(self) -> dict[str, Any]:
        """The slot whole, once all is valid."""
        own = own_words(self.data)
        typed = {name: self.cleaned_data[name] for name in PREFILLED if name in own}
        region = self.cleaned_data["region"]
        usual = usual_values(region, typed.get("role", ""), self.library, self.experience)
        return {**usual, **typed, "region": region}
