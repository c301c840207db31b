"""The forms of the template editor: a template's words and round, its day types, slots, lines and candidates."""

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from programs import labels
from programs.engine import vocabulary
from programs.engine.calendar import WEEK_DAYS
from programs.engine.vocabulary import EXPERIENCES
from programs.forms import AnyMarkField, any_of, regions_by_group
from programs.models import Outline, OutlineDay, OutlineLine, OutlineSlot
from programs.services.outline_slots import MOST_SETS

LETTERS = "ABCDEFG"
MOST_REPS = 600  # seconds and metres are counted here too
MOST_ALSO, MOST_PATTERNS = 2, 3
PRIORITIES = [
    (1, gettext_lazy("longest")),
    (2, gettext_lazy("usual")),
    (3, gettext_lazy("leave out first")),
]
SLOT_COLUMNS = ("title", "region", "role", "rir", "rest_s", "tempo", "technique", "priority", "reason")
SPAN = re.compile(r"(\d+)(?:\s*(?:-|–|—|to|…|\.\.)\s*(\d+))?")


class SpanField(forms.CharField):
    """A range of whole numbers in one box: "6–8", "6-8", "6 to 8", or "5" for five and no other."""

    def __init__(self, *, lowest: int, highest: int, **kwargs: Any) -> None:
        super().__init__(max_length=16, **kwargs)
        self.lowest, self.highest = lowest, highest
        self.widget.attrs.update(inputmode="text", autocomplete="off")

    def prepare_value(self, value: Any) -> Any:
        return span_text(value) if isinstance(value, list | tuple) else value

    def clean(self, value: Any) -> list[int]:
        text = super().clean(value)
        found = SPAN.fullmatch(text)
        if found is None:
            raise ValidationError(_("Write a range of whole numbers, such as 6–8, or one number."))
        low = int(found[1])
        high = int(found[2] or low)
        if low > high:
            low, high = high, low
        if low < self.lowest or high > self.highest:
            limits = {"lowest": self.lowest, "highest": self.highest}
            raise ValidationError(_("Between %(lowest)d and %(highest)d.") % limits)
        return [low, high]


class TempoField(forms.CharField):
    """Four figures, with or without strokes between: 3-1-X-0."""

    def clean(self, value: Any) -> str:
        return str(super().clean(str(value or "").replace("-", "").replace(" ", "").upper()))


class RestField(forms.CharField):
    """Minutes and seconds, "2:30", or seconds alone, "150"."""

    MOST = 900

    def prepare_value(self, value: Any) -> Any:
        return f"{value // 60}:{value % 60:02}" if isinstance(value, int) else value

    def clean(self, value: Any) -> int:
        minutes, colon, seconds = str(super().clean(value)).strip().rpartition(":")
        if not seconds.isdecimal() or (colon and not minutes.isdecimal()):
            raise ValidationError(_("Write the rest as 2:30, or in seconds as 150."))
        rest = 60 * int(minutes or 0) + int(seconds)
        if rest > self.MOST:
            raise ValidationError(_("At most 15:00."))
        return rest


def span_text(span: Sequence[int]) -> str:
    low, high = span
    return str(low) if low == high else f"{low}–{high}"


class NewOutlineForm(forms.Form):
    """The first three things that a template is."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=80)
    days = forms.IntegerField(
        label=gettext_lazy("Sessions a week"),
        min_value=1,
        max_value=WEEK_DAYS,
        help_text=gettext_lazy(
            "Up to three start as one full-body day type, more as upper and lower in turns. All of it can be changed."
        ),
    )
    serves = forms.MultipleChoiceField(
        label=gettext_lazy("Serves"), choices=labels.choices(EXPERIENCES), widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["days"].width = "short"  # type: ignore[attr-defined]


class CycleForm(forms.Form):
    """A week on the client's own days, or a round of another length with days of its own."""

    cycle_days = forms.IntegerField(
        label=gettext_lazy("Days in the cycle"),
        min_value=2,
        max_value=14,
        help_text=gettext_lazy("7 is a week on the client’s own days. Any other cycle rolls on past the week’s end."),
    )
    on = forms.CharField(
        label=gettext_lazy("Sessions on days"),
        required=False,
        max_length=60,
        help_text=gettext_lazy("For a cycle that rolls, such as 1, 3, 5, 7. Empty spreads them evenly."),
    )

    def __init__(self, *args: Any, sessions: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sessions = sessions
        self.fields["cycle_days"].width = "short"  # type: ignore[attr-defined]
        self.fields["on"].width = "medium"  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        days, text = data.get("cycle_days"), data.get("on", "")
        data["offsets"] = []
        if days is None or days == WEEK_DAYS or not text.strip():
            return data
        parts = [part for part in re.split(r"[\s,;]+", text) if part]
        if not all(part.isdecimal() for part in parts):
            self.add_error("on", _("Write day numbers with a comma between them, such as 1, 3, 5."))
            return data
        found = [int(part) for part in parts]
        if found != sorted(set(found)) or not all(1 <= day <= days for day in found):
            self.add_error("on", _("Days run from 1 to %(days)d, each once and in order.") % {"days": days})
        elif len(found) != self.sessions:
            self.add_error("on", _("Give one day for each of the %(n)d sessions.") % {"n": self.sessions})
        data["offsets"] = [day - 1 for day in found]
        return data


class DayForm(forms.ModelForm):
    class Meta:
        model = OutlineDay
        fields = ("name",)
        labels = {"name": gettext_lazy("Name of the day type")}


class SlotAddForm(forms.Form):
    """The least a slot needs; the rest starts as its role usually has it."""

    region = forms.ChoiceField(label=gettext_lazy("Target region"))
    role = forms.ChoiceField(label=gettext_lazy("Role"), choices=labels.choices(vocabulary.ROLES))
    title = forms.CharField(label=gettext_lazy("Called"), max_length=60, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["region"].choices = regions_by_group(_("choose"))  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("region") and not data.get("title"):
            words = str(labels.REGIONS[data["region"]])
            data["title"] = words[:1].upper() + words[1:]
        return data


class SlotForm(forms.ModelForm):
    """All of a slot but its place, its superset and its candidates. Rep ranges are one box an occurrence."""

    rest_s = RestField(label=gettext_lazy("Rest"), max_length=6)
    tempo = TempoField(label=gettext_lazy("Tempo"), required=False, max_length=4)
    rir = AnyMarkField(
        label=gettext_lazy("RIR"), min_value=Decimal(0), max_value=Decimal(5), max_digits=3, decimal_places=1
    )
    priority = forms.TypedChoiceField(label=gettext_lazy("When minutes are short"), choices=PRIORITIES, coerce=int)

    class Meta:
        model = OutlineSlot
        fields = SLOT_COLUMNS
        labels = {"title": gettext_lazy("Called"), "region": gettext_lazy("Target region")}
        help_texts = {"technique": gettext_lazy("Such as: pause on the chest.")}
        widgets = {name: forms.Textarea(attrs={"rows": 2}) for name in ("technique", "reason")}

    def __init__(self, *args: Any, occurrences: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        slot = self.instance
        self.occurrences = occurrences
        regions, patterns = regions_by_group("–"), any_of(labels.PATTERNS, "–")
        self.fields["region"].choices = regions[1:]  # type: ignore[attr-defined]
        self.also_count = max(MOST_ALSO, len(slot.also_regions))
        self.pattern_count = max(MOST_PATTERNS, len(slot.patterns))
        for name, count, choices, label, present in (
            ("also", self.also_count, regions, _("Or region"), slot.also_regions),
            ("pattern", self.pattern_count, patterns, _("Pattern"), slot.patterns),
        ):
            for number in range(count):
                self.fields[f"{name}_{number}"] = forms.ChoiceField(
                    label=f"{label} {number + 1}",
                    required=False,
                    choices=choices,
                    initial=present[number] if number < len(present) else "",
                )
        for level in EXPERIENCES:
            self.fields[f"sets_{level}"] = SpanField(
                label=labels.EXPERIENCES[level], lowest=1, highest=MOST_SETS, initial=slot.sets.get(level, [2, 3])
            )
        for number in range(occurrences):
            self.fields[f"reps_{number}"] = SpanField(
                label=LETTERS[number % len(LETTERS)],
                lowest=1,
                highest=MOST_REPS,
                initial=slot.reps[number % len(slot.reps)],
            )

    def some(self, prefix: str) -> list[Any]:
        """The bound fields of one kind: "also", "pattern", "sets" or "reps"."""
        return [self[name] for name in self.fields if name.startswith(f"{prefix}_")]

    @property
    def also(self) -> list[Any]:
        return self.some("also")

    @property
    def patterns(self) -> list[Any]:
        return self.some("pattern")

    @property
    def sets(self) -> list[Any]:
        return self.some("sets")

    @property
    def reps(self) -> list[Any]:
        return self.some("reps")

    @property
    def effort(self) -> list[Any]:
        return [self["rir"], self["rest_s"], self["tempo"]]

    def values(self) -> dict[str, Any]:
        """The slot's columns as they were typed, once all is valid."""
        data = self.cleaned_data
        values = {name: data[name] for name in SLOT_COLUMNS}
        also = [data[f"also_{number}"] for number in range(self.also_count)]
        patterns = [data[f"pattern_{number}"] for number in range(self.pattern_count)]
        return {
            **values,
            "also_regions": [region for region in dict.fromkeys(also) if region and region != data["region"]],
            "patterns": [pattern for pattern in dict.fromkeys(patterns) if pattern],
            "sets": {level: data[f"sets_{level}"] for level in EXPERIENCES},
            "reps": [data[f"reps_{number}"] for number in range(self.occurrences)],
        }


class LineForm(forms.ModelForm):
    """A line without dose. It stands before the exercises or after them."""

    at_start = forms.TypedChoiceField(
        label=gettext_lazy("Where"),
        choices=[("1", gettext_lazy("before the exercises")), ("0", gettext_lazy("after the exercises"))],
        coerce=lambda value: value == "1",
    )
    minutes = forms.IntegerField(label=gettext_lazy("Minutes"), min_value=0, max_value=90)

    class Meta:
        model = OutlineLine
        fields = ("text", "minutes", "at_start")
        labels = {"text": gettext_lazy("What to do")}
        widgets = {"text": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["at_start"] = "1" if self.instance.at_start else "0"


def occurrences_of(outline: Outline, day: OutlineDay) -> int:
    """How often a day type comes round; a day type that stands in no session yet counts as once."""
    return max(1, list(outline.order).count(day.key))
