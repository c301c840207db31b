"""What the next block takes over from this one, and when it begins."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from clients.forms.compose import LEAST_WEEKS, MOST_WEEKS, WeeksField, check_easier
from clients.forms.fields import DayField
from clients.models import Block
from clients.services.next_block import ALL
from programs.engine.compose.rotation import KEEP, ROTATE


class NextBlockForm(forms.Form):
    way = forms.ChoiceField(
        label=gettext_lazy("Exercises"),
        choices=[
            (ALL, gettext_lazy("all as they are")),
            (KEEP, gettext_lazy("exchange what stalled")),
            (ROTATE, gettext_lazy("exchange what stalled or was done long enough")),
        ],
        widget=forms.RadioSelect,
        help_text=gettext_lazy("What you pinned stays, unless a limit or the place rules it out by now."),
    )
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
        help_text=gettext_lazy("Numbers such as 4 or 4, 8. Left empty, a deload comes on call."),
    )

    def __init__(self, *args: Any, block: Block, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.block = block
        self.fields["weeks"].width = "short"  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        weeks, easier = data.get("weeks"), data.get("deload_weeks")
        if weeks is not None and easier:
            check_easier(self, easier, weeks, self.block.cycle_days)
        return data
