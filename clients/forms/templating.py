"""What a template made from a block is called and whom it serves."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import Block
from programs import labels
from programs.engine.vocabulary import EXPERIENCES

NAME_LENGTH = 80


class TemplateFromBlockForm(forms.Form):
    """Prefilled from the block. The client's name is refused: a template is for anybody."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=NAME_LENGTH)
    serves = forms.MultipleChoiceField(
        label=gettext_lazy("Serves"), choices=labels.choices(EXPERIENCES), widget=forms.CheckboxSelectMultiple
    )
    summary = forms.CharField(
        label=gettext_lazy("Whom it serves and why"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
    )

    def __init__(self, data: Any, *, block: Block) -> None:
        ending = _(", as trained")
        initial = {
            "name": block.outline.name[: NAME_LENGTH - len(ending)] + ending,
            "serves": [block.client.experience],
            "summary": _("Made from a block on “%(template)s”: its exercises, sets and reps as they were trained.")
            % {"template": block.outline.name},
        }
        super().__init__(data, initial=initial)
        self.client = block.client

    def clean_name(self) -> str:
        return self._nobodys("name")

    def clean_summary(self) -> str:
        return self._nobodys("summary")

    def _nobodys(self, field: str) -> str:
        text: str = self.cleaned_data[field]
        if self.client.name.casefold() in text.casefold():
            raise forms.ValidationError(_("A template is for anybody: leave out the client’s name."), code="name")
        return text
