"""Splitting an exercise: the new one's name, which part of the history it takes, and what else it gets."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from clients.forms.fields import DayField
from clients.reads.splitting import Part, Whole
from programs.engine.shorthand import same_name
from programs.models import Exercise
from programs.names import called


class TicksField(forms.TypedMultipleChoiceField):
    """Any number of boxes to tick."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, widget=forms.CheckboxSelectMultiple, **kwargs)


class SplitForm(forms.Form):
    """``one`` is the exercise to split; ``whole`` what there is of it."""

    name = forms.CharField(
        label=gettext_lazy("Name of the new one"),
        max_length=120,
        help_text=gettext_lazy("Say in a word what sets it apart. One of the other names may become its name."),
    )
    clients = TicksField(label=gettext_lazy("Whose"), coerce=int)
    since = DayField(label=gettext_lazy("From"), required=False)
    until = DayField(label=gettext_lazy("To"), required=False)
    places = TicksField(label=gettext_lazy("Where"), coerce=int)
    aliases = TicksField(label=gettext_lazy("Other names that go along"))
    outlines = TicksField(
        label=gettext_lazy("Templates that offer the new one instead"),
        coerce=int,
        help_text=gettext_lazy("All others go on with the old one."),
    )

    def __init__(self, *args: Any, one: Exercise, whole: Whole, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.one, self.whole = one, whole
        fields: Any = self.fields
        fields["clients"].choices = [(pk, _with_sets(name, count)) for pk, name, count in whole.clients]
        fields["places"].choices = [(pk, _with_sets(name, count)) for pk, name, count in whole.places]
        fields["aliases"].choices = [(alias, alias) for alias in one.aliases]
        fields["outlines"].choices = list(whole.outlines)
        for name in ("clients", "places", "aliases", "outlines"):
            if not fields[name].choices:
                del fields[name]

    def clean_name(self) -> str:
        name = self.cleaned_data["name"]
        if same_name(name) == same_name(self.one.name):
            raise ValidationError(_("This is the old one’s name. Say in a word what sets the new one apart."))
        others = called(self.one.practice, besides=[self.one.pk])
        taken = Exercise.objects.for_practice(self.one.practice).filter(name=name)
        if (whose := others.whose(name)) or taken.exists():
            raise ValidationError(
                _("%(other)s has this name already. Say in a word what sets the new one apart."),
                params={"other": whose or name},
            )
        return name

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        since, until = data.get("since"), data.get("until")
        if since and until and until < since:
            self.add_error("until", _("This is before the day it starts from."))
        if not self.errors and self.part().everything:
            raise ValidationError(_("Say whose sets go along, from when to when, or where: something has to stay."))
        return data

    def part(self) -> Part:
        """What goes along, once the form is valid."""
        data = self.cleaned_data
        return Part(
            tuple(data.get("clients") or ()), data.get("since"), data.get("until"), tuple(data.get("places") or ())
        )


def _with_sets(name: str, count: int) -> str:
    sets = ngettext("%d set", "%d sets", count) % count
    return f"{name}, {sets}"
