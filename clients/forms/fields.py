"""Fields that the forms about clients share: dates as people say them, exercises by name, rows of a table."""

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import cache, cached_property
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.forms.utils import ErrorDict
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coachdesk.practice.forms import time_zone_choices
from coachdesk.practice.models import Practice
from programs.engine.shorthand import same_name
from programs.models import Exercise

YEAR = re.compile(r"^(19|20)\d\d$")
MONTH = re.compile(r"^((?:19|20)\d\d)-(\d{1,2})$|^(\d{1,2})[./]((?:19|20)\d\d)$")
FIRST_YEAR, LAST_YEAR = 1800, 2199
_YEARS = {"first": FIRST_YEAR, "last": LAST_YEAR}
MOST_ROWS = 60
MORE_ROWS = 4


class DayField(forms.DateField):
    """A date, with the browser's own calendar where it has one. ``latest`` refuses days after it.

    A year that nobody means, such as a slip of the fingers leaves, is refused: weeks can be reckoned from every other.
    """

    def __init__(self, *, latest: date | None = None, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        kwargs.setdefault("error_messages", {"invalid": gettext_lazy("Write the date as 2026-03-31.")})
        super().__init__(**kwargs)
        self.latest = latest
        self.width = "medium"

    def validate(self, value: date | None) -> None:
        super().validate(value)
        if value is not None and not FIRST_YEAR <= value.year <= LAST_YEAR:
            raise ValidationError(_("Look at the year again: it lies between %(first)d and %(last)d.") % _YEARS)
        if value is not None and self.latest is not None and value > self.latest:
            raise ValidationError(_("This day is still to come."))


class SinceField(forms.CharField):
    """When something began, as exactly as it is known: a year, a month or a day. Gives a date or None."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off", "maxlength": 10}))
        super().__init__(**kwargs)
        self.width = "medium"

    def clean(self, value: Any) -> date | None:
        text = super().clean(value)
        if not text:
            return None
        if YEAR.match(text):
            return date(int(text), 1, 1)
        month = MONTH.match(text)
        try:
            if month:
                year, number = (month[1], month[2]) if month[1] else (month[4], month[3])
                return date(int(year), int(number), 1)
            return forms.DateField().to_python(text)
        except (ValueError, ValidationError):
            raise ValidationError(_("Write a year, a month or a day: 2019, 2019-03 or 2019-03-31.")) from None


class ExerciseNames:
    """The practice's exercises by name and alias: one query, asked when first needed."""

    def __init__(self, practice: Practice) -> None:
        self._practice = practice

    @cached_property
    def rows(self) -> list[Exercise]:
        shown = Exercise.objects.for_practice(self._practice).shown()
        return list(
            shown.only(
                "pk", "public_id", "name", "aliases", "load_entry", "rep_unit", "practice_id", "bodyweight_fraction"
            )
        )

    @cached_property
    def _by_name(self) -> dict[str, Exercise]:
        named = {same_name(alias): row for row in self.rows for alias in row.aliases}
        return named | {same_name(row.name): row for row in self.rows}

    def find(self, text: str) -> Exercise | None:
        return self._by_name.get(same_name(text))

    def close(self, text: str) -> list[str]:
        """Up to three names much like it."""
        found = difflib.get_close_matches(same_name(text), self._by_name, n=3, cutoff=0.5)
        return list(dict.fromkeys(self._by_name[name].name for name in found))

    def datalist(self, element_id: str = "exercises") -> SafeString:
        """The names for a box that offers them while one types."""
        options = format_html_join("", '<option value="{}"></option>', ((row.name,) for row in self.rows))
        return format_html('<datalist id="{}">{}</datalist>', element_id, options)


class ExerciseField(forms.CharField):
    """An exercise by its name or an alias; an unknown name is answered with the likest ones."""

    names: ExerciseNames

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"list": "exercises", "autocomplete": "off"}))
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        return value.name if isinstance(value, Exercise) else value

    def clean(self, value: Any) -> Exercise | None:
        text = super().clean(value)
        if not text:
            return None
        found = self.names.find(text)
        if found is None:
            close = self.names.close(text)
            if close:
                raise ValidationError(_("Not in the library. Is it one of these: %s?") % ", ".join(close))
            raise ValidationError(_("Not in the library. Choose a name from the list."))
        return found


class TimeZoneField(forms.CharField):
    """A zone by its name, offered while one types."""

    def __init__(self, **kwargs: Any) -> None:
        attrs = {"list": "time-zones", "autocomplete": "off", "spellcheck": "false"}
        kwargs.setdefault("widget", forms.TextInput(attrs=attrs))
        super().__init__(**kwargs)
        self.width = "medium"


@cache
def time_zone_datalist() -> SafeString:
    options = format_html_join("", '<option value="{}"></option>', ((name,) for name, _word in time_zone_choices()))
    return format_html('<datalist id="time-zones">{}</datalist>', options)


class RowForm(forms.Form):
    """One row of a table of rows. A row in which nothing of ``tells`` was typed is no row at all."""

    tells: ClassVar[Sequence[str]] = ()
    needs: ClassVar[Sequence[str]] = ()

    def __init__(self, *args: Any, names: ExerciseNames | None = None, **kwargs: Any) -> None:
        kwargs.setdefault("empty_permitted", True)
        kwargs["use_required_attribute"] = False
        super().__init__(*args, **kwargs)
        self.names = names
        row = str(self.prefix or "").rpartition("-")[2]
        for field in self.fields.values():
            field.required = False
            # The head of the column names the boxes to the eye; each box names itself to the ear.
            number = int(row) + 1 if row.isdigit() else ""
            field.widget.attrs["aria-label"] = f"{field.label} {number}".strip()
            if isinstance(field, ExerciseField) and names is not None:
                field.names = names

    def has_changed(self) -> bool:
        # Whether a row counts is decided by what stands in it, never by what stood there before.
        return True

    @property
    def blank(self) -> bool:
        """Nothing typed; read from the raw data, so that a wrong value still makes it a row."""
        if not self.is_bound:
            return not any(self.initial.get(name) for name in self.tells)
        return not any(str(self.data.get(self.add_prefix(name)) or "").strip() for name in self.tells)

    def full_clean(self) -> None:
        if self.is_bound and self.blank:
            self._errors = ErrorDict()
            self.cleaned_data = {}
            return
        super().full_clean()

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for name in self.needs:
            if data.get(name) in (None, "") and name not in self.errors:
                self.add_error(name, _("Fill this in, or empty the row."))
        return data


class Rows(forms.BaseFormSet):
    """A table of rows; ``filled`` are those with something in them."""

    def __init__(self, *args: Any, names: ExerciseNames | None = None, **kwargs: Any) -> None:
        kwargs["form_kwargs"] = {**kwargs.get("form_kwargs", {}), **({"names": names} if names else {})}
        super().__init__(*args, **kwargs)

    @property
    def filled(self) -> list[RowForm]:
        return [form for form in self.forms if not form.blank]


def rows_of(row: type[RowForm], spare: int = 3) -> type[Rows]:
    """The formset class for a kind of row, with some empty rows at its end."""
    return forms.formset_factory(  # type: ignore[return-value]
        row, formset=Rows, extra=spare, max_num=MOST_ROWS, absolute_max=MOST_ROWS + MORE_ROWS
    )


def with_more_rows(data: Mapping[str, Any], prefixes: Iterable[str]) -> Any:
    """The same posted data with room for more rows in each of the tables."""
    wider = data.copy()  # type: ignore[attr-defined]
    for prefix in prefixes:
        key = f"{prefix}-TOTAL_FORMS"
        try:
            present = int(wider.get(key, 0))
        except ValueError:
            present = 0
        wider[key] = str(min(max(present, 0) + MORE_ROWS, MOST_ROWS))
    return wider


def unchecked(form: Any) -> None:
    """Shows what was typed, in a form or a table of rows, without judging it yet."""
    for each in form.forms if isinstance(form, forms.BaseFormSet) else [form]:
        each._errors = ErrorDict()


def problems(forms_shown: Iterable[Any]) -> list[dict[str, str]]:
    """What is wrong in forms and tables of rows, for the summary: text, and the label and id of the box."""
    found: list[dict[str, str]] = []
    for form in forms_shown:
        if isinstance(form, forms.BaseFormSet):
            found.extend({"text": str(text), "label": "", "id": ""} for text in form.non_form_errors())
            for number, row in enumerate(form.forms, start=1):
                found.extend(_problems_of(row, _("row %d, ") % number))
        else:
            found.extend(_problems_of(form, ""))
    return found


def _problems_of(form: forms.BaseForm, where: str) -> list[dict[str, str]]:
    whole = [{"text": str(text), "label": "", "id": ""} for text in form.non_field_errors()]
    return whole + [
        {"text": str(text), "label": f"{where}{field.label}", "id": field.auto_id}
        for field in form
        for text in field.errors
    ]
