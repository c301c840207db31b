"""The form of what the coach looks for in the library."""

from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from django import forms
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from programs import labels
from programs.engine import vocabulary
from programs.forms import any_of, regions_by_group


@lru_cache(maxsize=16)
def _offered(language: str | None) -> dict[str, list[tuple[Any, Any]]]:
    """What the filters of the library offer in the language that is spoken: sorted once, not for every page."""
    loaded = (*vocabulary.LOADED_STATIONS, *vocabulary.EVERYWHERE)
    return {
        "group": [("", _("any")), *((group, labels.GROUPS[group]) for group in vocabulary.GROUPS)],
        "region": regions_by_group(_("any")),
        "pattern": any_of(labels.PATTERNS, _("any")),
        "implement": any_of({kind: labels.STATIONS[kind] for kind in loaded}, _("any")),
    }


class LibraryFilter(forms.Form):
    """What the coach looks for. Values that are not on offer are left aside, so that an old address still works."""

    q = forms.CharField(
        label=_("Name, region or implement"),
        required=False,
        max_length=80,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )
    group = forms.ChoiceField(label=_("Muscle group"), required=False, widget=forms.RadioSelect)
    region = forms.ChoiceField(label=_("Single region"), required=False)
    pattern = forms.ChoiceField(label=_("Pattern"), required=False)
    implement = forms.ChoiceField(label=_("Implement"), required=False)
    place = forms.ChoiceField(label=_("Place has it"), required=False)
    client = forms.ChoiceField(label=_("Client can do it"), required=False)
    spare = forms.MultipleChoiceField(
        label=_("Spare"),
        required=False,
        choices=labels.choices(vocabulary.JOINT_TAGS),
        widget=forms.CheckboxSelectMultiple,
    )
    skill = forms.ChoiceField(
        label=_("Skill"),
        required=False,
        widget=forms.RadioSelect,
        choices=[("", _("any")), ("basic", _("basic")), ("intermediate", _("up to intermediate"))],
    )
    favourites = forms.BooleanField(label=_("Favourites only"), required=False)
    hidden = forms.BooleanField(label=_("Hidden ones too"), required=False)

    def __init__(
        self, data: Any, *, places: Iterable[tuple[str, str]], clients: Iterable[tuple[str, str]], **kwargs: Any
    ) -> None:
        super().__init__(data, **kwargs)
        for name, choices in _offered(get_language()).items():
            self.fields[name].choices = choices  # type: ignore[attr-defined]
        self.fields["place"].choices = [("", _("anywhere")), *places]  # type: ignore[attr-defined]
        self.fields["client"].choices = [("", _("anybody")), *clients]  # type: ignore[attr-defined]

    def wanted(self) -> dict[str, Any]:
        """What was asked for and makes sense, empty values left out."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value}
