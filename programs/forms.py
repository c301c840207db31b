"""Forms of library and templates: the facts and the words of an exercise, a template's words."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import number_format
from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy as _

from programs import labels, load_steps
from programs.drawings import figures
from programs.engine import vocabulary
from programs.engine.shorthand import same_name
from programs.models import Exercise, ExerciseText, Outline
from programs.names import MOST_ALIASES, Called, added, called
from programs.services.rows import is_copy_name
from programs.units import read_number

PERCENT = 100


def any_of(words: Mapping[str, Any], first: Any) -> list[tuple[str, Any]]:
    """Codes with their words in alphabetical order, for a select; ``first`` stands for none of them."""
    return [("", first), *sorted(words.items(), key=lambda item: str(item[1]))]


def regions_by_group(first: Any) -> list[tuple[Any, Any]]:
    """Regions under the names of their groups, for a select."""
    grouped: dict[str, list[tuple[str, Any]]] = {}
    for region, group in vocabulary.GROUP_OF_REGION.items():
        grouped.setdefault(group, []).append((region, labels.REGIONS[region]))
    return [("", first), *((labels.GROUPS[group], grouped[group]) for group in vocabulary.GROUPS)]


class AnyMarkField(forms.DecimalField):
    """A number with point or comma as decimal mark, shown without zeros at its end."""

    def prepare_value(self, value: Any) -> Any:
        return number_format(f"{value:f}".rstrip("0").rstrip(".")) if isinstance(value, Decimal) else value

    def to_python(self, value: Any) -> Any:
        if isinstance(value, str) and (number := read_number(value)) is not None:
            return number
        return super().to_python(value)


class StepField(AnyMarkField):
    """A usual load step, in the unit that its limits are in."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"label": _("Usual load step"), "max_digits": 5, "decimal_places": 2, **kwargs})


class PercentField(forms.IntegerField):
    """A share from 0 to 1, typed as a whole number of per cent."""

    def prepare_value(self, value: Any) -> Any:
        return round(value * PERCENT) if isinstance(value, Decimal) else value

    def clean(self, value: Any) -> Decimal:
        return Decimal(super().clean(value) or 0) / PERCENT


class LinesField(forms.CharField):
    """A list of sentences, one a line."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, widget=forms.Textarea(attrs={"rows": 6}), **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return "\n".join(value) if isinstance(value, list) else value

    def clean(self, value: Any) -> list[str]:
        return [line.strip() for line in super().clean(value).splitlines() if line.strip()]


class NamesField(forms.CharField):
    """A list of names, commas between; semicolons where one of the names has a comma itself."""

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, list):
            return value
        if not any("," in name for name in value):
            return ", ".join(value)
        return "; ".join(value) + (";" if len(value) == 1 else "")

    def clean(self, value: Any) -> list[str]:
        text = super().clean(value)
        names = text.split(";" if ";" in text else ",")
        return list(dict.fromkeys(name.strip() for name in names if name.strip()))


class ExerciseForm(forms.ModelForm):
    """The facts of an exercise that one row holds. ``instance`` carries its practice."""

    aliases = NamesField(
        label=_("Also called"),
        required=False,
        max_length=MOST_ALIASES * 122,
        help_text=_("Commas between, or semicolons where a name has a comma. Searches and messages find these too."),
    )
    keep_name = forms.BooleanField(required=False)
    figure = forms.ChoiceField(
        label=_("Looks like"),
        required=False,
        help_text=_(
            "Two small drawings, start and end, for its page and for sheets: those of the exercise chosen here."
        ),
    )
    bodyweight_fraction = PercentField(
        label=_("Share of bodyweight moved"),
        required=False,
        min_value=0,
        max_value=100,
        help_text=_("For push-ups about 65, for pull-ups 95; 0 where bodyweight plays no part."),
    )
    clip_url = forms.URLField(
        label=_("Link to a clip"),
        required=False,
        max_length=400,
        assume_scheme="https",
        help_text=_("An address that clients may open too. It begins with https://."),
    )
    load_step = StepField(min_value=load_steps.LEAST_KG, max_value=load_steps.MOST_KG)
    rep_low = forms.IntegerField(label=_("Reps, from"), min_value=1, max_value=600)
    rep_high = forms.IntegerField(label=_("to"), min_value=1, max_value=600)
    rest_s = forms.IntegerField(label=_("Rest"), min_value=0, max_value=900)

    class Meta:
        model = Exercise
        fields = (
            "name",
            "aliases",
            "pattern",
            "angle",
            "grip",
            "limbs",
            "role",
            "skill",
            "implement",
            "load_entry",
            "rep_unit",
            "bodyweight_fraction",
            "load_step",
            "rep_low",
            "rep_high",
            "rest_s",
            "tempo",
            "figure",
            "clip_url",
        )
        help_texts = {
            "tempo": _("Four figures: lowering, pause, lifting, pause, in seconds; X for as fast as possible."),
            "load_entry": _("What the number stands for that is typed as a load."),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = self.instance.practice.unit
        if self.unit == "lb":
            self.fields["load_step"] = StepField(min_value=load_steps.LEAST_LB, max_value=load_steps.MOST_LB)
        self.initial["load_step"] = load_steps.shown(Decimal(self.instance.load_step), self.unit)
        for name, unit in (("bodyweight_fraction", "%"), ("load_step", self.unit), ("rest_s", "s")):
            self.fields[name].unit = unit  # type: ignore[attr-defined]
        for name in ("bodyweight_fraction", "load_step", "rep_low", "rep_high", "rest_s"):
            self.fields[name].width = "short"  # type: ignore[attr-defined]
        self.fields["tempo"].width = "medium"  # type: ignore[attr-defined]
        self.fields["figure"].choices = self._drawings()  # type: ignore[attr-defined]
        if self.instance.pk is None:
            del self.fields["keep_name"]
        else:
            keep = _("If the name changes, keep “%(name)s” among the other names") % {"name": self.instance.name}
            field = self.fields["keep_name"]
            # What nothing but copying called it, nobody will ever ask for.
            field.initial, field.label = not is_copy_name(self.instance.name), keep

    def clean_load_step(self) -> Decimal:
        """In kilograms; one that was left alone stays to the last place."""
        typed: Decimal = self.cleaned_data["load_step"]
        before = Decimal(self.instance.load_step)
        return before if typed == load_steps.shown(before, self.unit) else load_steps.kept(typed, self.unit)

    def _drawings(self) -> list[tuple[str, Any]]:
        """The drawings under the names that their exercises have in this practice, as they are on file without one."""
        drawn = figures.keys()
        rows = Exercise.objects.for_practice(self.instance.practice).filter(seed_key__in=drawn)
        names = {key: key.replace("-", " ").capitalize() for key in drawn}
        names |= dict(rows.values_list("seed_key", "name"))
        return any_of(names, _("no drawing"))

    @cached_property
    def _others(self) -> Called:
        return called(self.instance.practice, besides=[self.instance.pk] if self.instance.pk else [])

    def clean_name(self) -> str:
        name = self.cleaned_data["name"]
        if name == self.initial.get("name"):
            return name
        others = Exercise.objects.for_practice(self.instance.practice).exclude(pk=self.instance.pk)
        whose = self._others.whose(name)
        if others.filter(name=name).exists() or (whose and same_name(whose) == same_name(name)):
            raise ValidationError(_("Another exercise has this name. Say in a word what sets this one apart."))
        if whose:
            raise ValidationError(
                _("%(other)s is also called this. Take the name away there first, or say what sets this one apart."),
                params={"other": whose},
            )
        return name

    def clean_aliases(self) -> list[str]:
        aliases = self.cleaned_data["aliases"]
        known = set(map(same_name, self.initial.get("aliases") or ()))
        for name in aliases:
            if same_name(name) not in known and (whose := self._others.whose(name)):
                raise ValidationError(
                    _("“%(name)s” already means %(other)s: a message with it could be about either."),
                    params={"name": name, "other": whose},
                )
        return aliases

    def with_kept(self, aliases: list[str], name: str) -> list[str]:
        """Other names with one more that was given up, where the coach keeps such names, it is free, and there is
        room for it."""
        if not (name and self.keeps) or self._others.whose(name):
            return aliases
        return added(aliases, [name], own=self.cleaned_data["name"])[: max(MOST_ALIASES, len(aliases))]

    def _keep_name(self, data: dict[str, Any]) -> None:
        """Puts the name that was given up among the others, so that what comes in under it is still understood."""
        before, name, aliases = self.initial.get("name", ""), data.get("name"), data.get("aliases")
        self.keeps = data.pop("keep_name", False)
        if name is None or aliases is None:
            return
        if self.keeps and same_name(name) != same_name(before):
            if whose := self._others.whose(before):
                sentence = _("“%(name)s” also means %(other)s. Leave this out to give the old name up.")
                self.add_error("keep_name", ValidationError(sentence, params={"name": before, "other": whose}))
            aliases = added(aliases, [before], own=name)
        # The exercise's own name is no other name.
        data["aliases"] = [alias for alias in aliases if same_name(alias) != same_name(name)]
        if len(data["aliases"]) > max(MOST_ALIASES, len(self.initial.get("aliases") or ())):
            sentence = _("These are %(count)d names, and %(most)d is the most. Take out what nobody says any more.")
            params = {"count": len(data["aliases"]), "most": MOST_ALIASES}
            self.add_error("aliases", ValidationError(sentence, params=params))

    def clean_clip_url(self) -> str:
        address = self.cleaned_data["clip_url"]
        if address and not address.startswith("https://"):
            raise ValidationError(_("Clients open this address: it has to begin with https://."))
        return address

    def clean_tempo(self) -> str:
        return self.cleaned_data["tempo"].replace("-", "").upper()

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        self._keep_name(data)
        low, high = data.get("rep_low"), data.get("rep_high")
        if low is not None and high is not None and high < low:
            self.add_error("rep_high", _("The upper end is below the lower one."))
        implement, entry = data.get("implement"), data.get("load_entry")
        if implement and entry:
            if implement == "bodyweight" and entry not in ("added", "none"):
                self.add_error("load_entry", _("With bodyweight alone a load is on top of it, or there is none."))
            if (implement == "band") != (entry == "band"):
                self.add_error("load_entry", _("Bands are named, not weighed: choose “a band” with bands alone."))
        return data


class ExerciseTextForm(forms.ModelForm):
    """The words of an exercise in one language; its faults have rows of their own."""

    set_up = LinesField(label=_("Set-up"), help_text=_("One step a line."))
    execution = LinesField(label=_("Execution"), help_text=_("One cue a line."))

    class Meta:
        model = ExerciseText
        fields = (
            "name",
            "reason",
            "set_up",
            "execution",
            "range_note",
            "regression",
            "progression",
            "cautions",
            "evidence",
        )
        widgets = {
            name: forms.Textarea(attrs={"rows": 3})
            for name in ("reason", "range_note", "regression", "progression", "cautions")
        }
        help_texts = {"evidence": _("Author and year, or “coaching practice”.")}

    def __init__(self, *args: Any, named: bool, **kwargs: Any) -> None:
        """``named`` offers a name of its own in this language."""
        super().__init__(*args, **kwargs)
        if not named:
            del self.fields["name"]

    def given_up(self) -> str:
        """The name in this language that stood here before and does not any more; "" for none."""
        before = self.initial.get("name", "")
        return (
            before if "name" in self.cleaned_data and same_name(self.cleaned_data["name"]) != same_name(before) else ""
        )


class OutlineForm(forms.ModelForm):
    """What a template is called and whom it serves."""

    serves = forms.MultipleChoiceField(
        label=_("Serves"), choices=labels.choices(vocabulary.EXPERIENCES), widget=forms.CheckboxSelectMultiple
    )

    class Meta:
        model = Outline
        fields = ("name", "serves", "summary")
        labels = {"name": _("Name"), "summary": _("Whom it serves and why")}
        widgets = {"summary": forms.Textarea(attrs={"rows": 7})}
