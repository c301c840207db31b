"""Starting a draft, and the small forms behind the board's buttons."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.cycles import WEEK_DAYS, is_rolling, rounds_in
from clients.forms.fields import DayField
from clients.models import Client, Place
from clients.services.drafts import MOST_SETS
from programs.engine.compose.rotation import KEEP, ROTATE
from programs.models import Outline

LEAST_WEEKS, MOST_WEEKS = 1, 26
OCCURRENCES_MOST = 6
LONGEST_CYCLE = 14


class WeeksField(forms.CharField):
    """Numbers of weeks, such as "4, 8"; gives them in order, each once."""

    width = "short"

    def clean(self, value: Any) -> list[int]:
        text = super().clean(value)
        numbers = text.replace(";", ",").replace(" ", ",").split(",")
        try:
            return sorted({int(number) for number in numbers if number})
        except ValueError:
            raise ValidationError(_("Write week numbers with a comma between them, such as 4, 8.")) from None


class OutlineChoice(forms.ModelChoiceField):
    def label_from_instance(self, obj: Outline) -> str:
        if is_rolling(obj.cycle_days):
            words = _("%(name)s (%(sessions)d in %(days)d days)")
            return words % {"name": obj.name, "sessions": len(obj.order), "days": obj.cycle_days}
        return _("%(name)s (%(days)d a week)") % {"name": obj.name, "days": obj.days_per_week}


class SpanForm(forms.Form):
    """When a block begins, how long it lasts, and which of its weeks are easier."""

    starts_on = DayField(label=gettext_lazy("Start"), help_text=gettext_lazy("The first day of the block."))
    weeks = forms.IntegerField(
        label=gettext_lazy("Weeks"),
        min_value=LEAST_WEEKS,
        max_value=MOST_WEEKS,
        error_messages={"invalid": gettext_lazy("Weeks are a whole number, 1 to 26.")},
    )
    deload_weeks = WeeksField(
        label=gettext_lazy("Easier weeks"),
        required=False,
        help_text=gettext_lazy(
            "Numbers of the weeks with half the sets, such as 4 or 4, 8. Left empty, a deload comes on call."
        ),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["weeks"].width = "short"  # type: ignore[attr-defined]

    def easier_within(self, data: dict[str, Any], cycle_days: int) -> dict[str, Any]:
        """Notes it at the field where an easier week lies beyond the block."""
        weeks, easier = data.get("weeks"), data.get("deload_weeks")
        last = rounds_in(weeks, cycle_days) if weeks is not None else 0
        if weeks is not None and easier and not all(1 <= number <= last for number in easier):
            words = _("Easier cycles lie between 1 and %(last)d.") if is_rolling(cycle_days) else ""
            words = words or _("Easier weeks lie between 1 and %(last)d.")
            self.add_error("deload_weeks", words % {"last": last})
        return data


class StartForm(SpanForm):
    """From a template to a draft: where, from when, for how long."""

    field_order = ("outline", "place", "starts_on", "weeks", "deload_weeks", "rotate")

    outline = OutlineChoice(
        label=gettext_lazy("Template"),
        queryset=Outline.objects.none(),
        empty_label=None,
        error_messages={"invalid_choice": gettext_lazy("Choose a template from the list.")},
    )
    place = forms.ModelChoiceField(
        label=gettext_lazy("Place"),
        queryset=Place.objects.none(),
        empty_label=None,
        help_text=gettext_lazy("What is there decides which exercises and loads can be chosen."),
        error_messages={"invalid_choice": gettext_lazy("Choose a place from the list.")},
    )

    rotate = forms.ChoiceField(
        label=gettext_lazy("Exercises of the last block"),
        choices=[
            (KEEP, gettext_lazy("keep what still serves")),
            (ROTATE, gettext_lazy("rotate everything due")),
        ],
        initial=KEEP,
        required=False,
        widget=forms.RadioSelect,
        help_text=gettext_lazy(
            "What stalled gives way to another in either case. Due: done for four weeks, main lifts for eight."
        ),
    )

    def __init__(self, *args: Any, client: Client, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not client.blocks.exists():
            del self.fields["rotate"]
        outlines = Outline.objects.for_practice(client.practice).current()
        self.fields["outline"].queryset = outlines.order_by("name")  # type: ignore[attr-defined]
        places = Place.objects.for_practice(client.practice)
        self.fields["place"].queryset = places.filter(owner=None) | places.filter(owner=client)  # type: ignore[attr-defined]
        # What a rolling template makes of the client's days is said as soon as it is chosen.
        for name in ("outline", "weeks"):
            self.fields[name].widget.attrs.update(
                {
                    "hx-get": reverse("compose-start", args=[client.public_id]),
                    "hx-include": "#id_outline, #id_weeks",
                    "hx-select": "#rhythm",
                    "hx-target": "#rhythm",
                    "hx-swap": "outerHTML",
                }
            )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        data["rotate"] = data.get("rotate") or KEEP
        outline = data.get("outline")
        return self.easier_within(data, outline.cycle_days if outline is not None else WEEK_DAYS)


def usual_start(today: date, week_start: int, block_ends: date | None) -> date:
    """The first day of the next week; of the week after a running block ends, where that is later."""
    earliest = max(today, block_ends + timedelta(days=1)) if block_ends else today
    return earliest + timedelta(days=(week_start - earliest.weekday()) % 7)


class RevisionForm(forms.Form):
    """Every edit names the revision that was on screen."""

    revision = forms.IntegerField(min_value=1)


class PlaceForm(RevisionForm):
    slot = forms.SlugField(max_length=60)
    occurrence = forms.IntegerField(min_value=0, max_value=OCCURRENCES_MOST)


class SwapForm(PlaceForm):
    exercise = forms.UUIDField()


class SetsForm(PlaceForm):
    sets = forms.IntegerField(min_value=0, max_value=MOST_SETS)


class PinForm(PlaceForm):
    """``act``: pin, release, or put back what was left out; without it the opposite of what is."""

    act = forms.ChoiceField(choices=[(act, act) for act in ("pin", "release", "back")], required=False)


class MoveForm(RevisionForm):
    day = forms.SlugField(max_length=40)
    slot = forms.SlugField(max_length=60)
    by = forms.TypedChoiceField(choices=[(-1, "-1"), (1, "1")], coerce=int)


class DayForm(RevisionForm):
    day = forms.SlugField(max_length=40)
    occurrence = forms.IntegerField(min_value=0, max_value=OCCURRENCES_MOST)
    on = forms.IntegerField(min_value=0, max_value=LONGEST_CYCLE - 1)  # weekday, or day of a rolling cycle


class RecomposeForm(RevisionForm):
    digest = forms.CharField(max_length=64)


class WayForm(RevisionForm):
    """A way out by its key; ``agreed``: the coach has agreed with client or clinician to load what is to be spared."""

    way = forms.SlugField(max_length=16)
    agreed = forms.BooleanField(required=False)


class AllowanceForm(RevisionForm):
    number = forms.IntegerField(min_value=0)
