"""One exercise's page of forms: its facts, and rows for what it needs, works, asks of joints and goes wrong with."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.utils import ErrorDict, ErrorList
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from programs import labels
from programs.engine import vocabulary
from programs.forms import ExerciseForm, ExerciseTextForm, any_of, regions_by_group
from programs.models import Exercise, ExerciseText
from programs.services.exercises import ExerciseContent

BLANK_ROWS = 3
NOTHING = [("", "–")]
WHOLE_SET = 4


class RegionForm(forms.Form):
    region = forms.ChoiceField(label=_("Region"), required=False)
    quarters = forms.TypedChoiceField(
        label=_("One set counts as"), coerce=int, choices=[(4, _("1 set")), (2, "½"), (1, "¼")]
    )
    stretched = forms.BooleanField(label=_("loaded while long"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["region"].choices = regions_by_group("–")  # type: ignore[attr-defined]


class JointForm(forms.Form):
    joint = forms.ChoiceField(
        label=_("Joint or movement"), required=False, choices=[*NOTHING, *labels.choices(vocabulary.JOINT_TAGS)]
    )
    severity = forms.TypedChoiceField(
        label=_("Asks of it"),
        coerce=int,
        choices=[(1, _("some")), (2, _("clearly")), (3, _("much"))],
    )


class NeedForm(forms.Form):
    """One thing that must be there; of several in a row one will do."""

    first = forms.ChoiceField(label=_("Needs"), required=False)
    second = forms.ChoiceField(label=pgettext_lazy("in a list", "or"), required=False)
    third = forms.ChoiceField(label=pgettext_lazy("in a list", "or"), required=False)
    fourth = forms.ChoiceField(label=pgettext_lazy("in a list", "or"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        stations = {kind: labels.STATIONS[kind] for kind in vocabulary.STATION_KINDS}
        for field in self.fields.values():
            field.choices = any_of(stations, "–")  # type: ignore[attr-defined]

    def kinds(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(kind for kind in self.cleaned_data.values() if kind))


class FaultForm(forms.Form):
    fault = forms.CharField(label=_("Fault"), required=False, max_length=120)
    correction = forms.CharField(label=_("What to say or change"), required=False, max_length=240)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("correction") and not data.get("fault"):
            self.add_error("fault", _("Name the fault that this corrects."))
        return data


class Rows(forms.BaseFormSet):
    """Rows that work without script: some blank ones at the end, more on asking, an emptied one is gone."""

    key_field = ""

    def filled(self) -> list[dict[str, Any]]:
        """The rows that name something, as far as they make sense."""
        rows = [getattr(form, "cleaned_data", {}) for form in self.forms]
        return [row for row in rows if row.get(self.key_field)]

    def clean(self) -> None:
        keys = [row[self.key_field] for row in self.filled()]
        if len(keys) != len(set(keys)):
            raise ValidationError(_("One of these stands in two rows. Keep one of them."))


class RegionRows(Rows):
    key_field = "region"

    def clean(self) -> None:
        super().clean()
        if not any(row.get("quarters") == WHOLE_SET for row in self.filled()):
            raise ValidationError(_("Name at least one region for which a set counts whole."))

    def values(self) -> dict[str, tuple[int, bool]]:
        """Region to quarters and whether it is loaded while long."""
        return {row["region"]: (row["quarters"], row["stretched"]) for row in self.filled()}


class JointRows(Rows):
    key_field = "joint"

    def values(self) -> dict[str, int]:
        return {row["joint"]: row["severity"] for row in self.filled()}


class NeedRows(Rows):
    def clean(self) -> None:
        """Nothing to compare: the same thing may be one way out of two needs."""

    def values(self) -> tuple[list[str], list[list[str]]]:
        """What must all be there, and lists of which one each must be."""
        rows = [form.kinds() for form in self.forms]
        every = dict.fromkeys(kinds[0] for kinds in rows if len(kinds) == 1)
        return list(every), [list(kinds) for kinds in rows if len(kinds) > 1]


class FaultRows(Rows):
    key_field = "fault"

    def clean(self) -> None:
        """Two rows may name the same fault with different corrections."""

    def values(self) -> list[list[str]]:
        return [[row["fault"], row["correction"]] for row in self.filled()]


RegionFormSet: Any = forms.formset_factory(RegionForm, formset=RegionRows, extra=BLANK_ROWS)
JointFormSet: Any = forms.formset_factory(JointForm, formset=JointRows, extra=BLANK_ROWS - 1)
NeedFormSet: Any = forms.formset_factory(NeedForm, formset=NeedRows, extra=BLANK_ROWS - 1)
FaultFormSet: Any = forms.formset_factory(FaultForm, formset=FaultRows, extra=BLANK_ROWS - 1)


class ExerciseEditor:
    """All forms of one exercise's page as one: facts, needs, regions, joints, words and faults in one language."""

    def __init__(self, data: Any, exercise: Exercise, text: ExerciseText, *, named: bool) -> None:
        """``exercise`` may be new; ``text`` is its row in the language at hand, saved or not."""
        made = exercise.pk is not None
        needs = [(kind,) for kind in exercise.needs_all] + [tuple(kinds) for kinds in exercise.needs_one]
        names = tuple(NeedForm.base_fields)
        self.facts = ExerciseForm(data, instance=exercise)
        self.needs = NeedFormSet(
            data, prefix="needs", initial=[dict(zip(names, kinds, strict=False)) for kinds in needs]
        )
        self.regions = RegionFormSet(
            data,
            prefix="regions",
            initial=[
                {"region": row.region, "quarters": row.quarters, "stretched": row.stretched}
                for row in (exercise.regions.all() if made else ())
            ],
        )
        self.joints = JointFormSet(
            data,
            prefix="joints",
            initial=[{"joint": row.joint, "severity": row.severity} for row in (exercise.joints.all() if made else ())],
        )
        self.words = ExerciseTextForm(data, instance=text, prefix="words", named=named)
        self.faults = FaultFormSet(
            data, prefix="faults", initial=[{"fault": fault, "correction": cue} for fault, cue in text.faults]
        )

    @property
    def row_sets(self) -> Sequence[Rows]:
        return (self.needs, self.regions, self.joints, self.faults)

    def is_valid(self) -> bool:
        return all(rows.is_valid() for rows in self.row_sets) and self.facts.is_valid() and self.words.is_valid()

    def content(self) -> ExerciseContent:
        """What was typed, once it is valid."""
        needs_all, needs_one = self.needs.values()
        facts = self.facts.cleaned_data
        # A name that is given up in another language is one of the other names from then on.
        aliases = self.facts.with_kept(facts["aliases"], self.words.given_up())
        return ExerciseContent(
            facts={**facts, "aliases": aliases, "needs_all": needs_all, "needs_one": needs_one},
            regions=self.regions.values(),
            joints=self.joints.values(),
            language=self.words.instance.language,
            words={**self.words.cleaned_data, "faults": self.faults.values()},
        )

    def problems(self) -> list[tuple[str, Any, Any]]:
        """Everything that is wrong: the id of its field (or of the rows' heading), the label, the sentence."""
        found: list[tuple[str, Any, Any]] = []
        rows = [form for rows in self.row_sets for form in rows.forms]
        for form in (self.facts, *rows, self.words):
            found += [("", "", error) for error in form.non_field_errors()]
            found += [(field.auto_id, field.label, error) for field in form for error in field.errors]
        for rows_ in self.row_sets:
            found += [(f"{rows_.prefix}-rows", "", error) for error in rows_.non_form_errors()]
        return found

    def quiet(self) -> None:
        """Shows what was typed without judging it: a coach who asks for more rows is not done yet."""
        for rows in self.row_sets:
            rows._errors, rows._non_form_errors = [], ErrorList()  # type: ignore[attr-defined]
            for form in rows.forms:
                form._errors = ErrorDict()
        self.facts._errors = self.words._errors = ErrorDict()  # type: ignore[attr-defined]


def with_more_rows(data: Any, prefix: str) -> Any:
    """Posted data with blank rows added to one set of rows."""
    more = data.copy()
    total = f"{prefix}-TOTAL_FORMS"
    if more.get(total, "").isdigit():
        more[total] = str(int(more[total]) + BLANK_ROWS)
    return more
