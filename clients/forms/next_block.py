"""What the next block takes over from this one, and when it begins."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from clients.forms.compose import SpanForm
from clients.models import Block
from clients.services.next_block import ALL
from programs.engine.compose.rotation import KEEP, ROTATE


class NextBlockForm(SpanForm):
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

    field_order = ("way", "starts_on", "weeks", "deload_weeks")

    def __init__(self, *args: Any, block: Block, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.block = block

    def clean(self) -> dict[str, Any]:
        return self.easier_within(super().clean() or {}, self.block.cycle_days)
