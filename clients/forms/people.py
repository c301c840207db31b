"""The forms of one client: who they are, how they train, what to spare, what they lifted lately."""

import re
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import get_language, gettext_lazy, ngettext
from django.utils.translation import gettext as _

from clients.forms.fields import DayField, ExerciseField, RowForm, SinceField, TimeZoneField, rows_of
from clients.models import Client, Place
from coachdesk.practice.models import Coach, Practice
from coachdesk.practice.models.people import valid_time_zone
from programs import labels
from programs.engine import shorthand, vocabulary
from programs.models import Exercise
from programs.units import Load, load_of, read_number

OLDEST = 120
MOST_MORE = 3  # every group that gets more takes from the others
MOST_REPS = 100
MOST_RIR = 5
WEEKDAYS = (
    gettext_lazy("Monday"),
    gettext_lazy("Tuesday"),
    gettext_lazy("Wednesday"),
    gettext_lazy("Thursday"),
    gettext_lazy("Friday"),
    gettext_lazy("Saturday"),
    gettext_lazy("Sunday"),
)
LOAD = re.compile(r"^\s*([+\-−]?[\d.,]+)\s*(kgs?|kilos?|lbs?|pounds?)?\s*$", re.IGNORECASE)
UNKNOWN = ("", "?", "-", "–", "unknown", "unbekannt")


class WhoForm(forms.Form):
    """Name, contact, language, and the guardian of a minor."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=80, widget=forms.TextInput({"autocomplete": "off"}))
    date_of_birth = DayField(
        label=gettext_lazy("Date of birth"),
        required=False,
        help_text=gettext_lazy("Age bounds effort and loads for minors and from 65."),
    )
    coach = forms.ModelChoiceField(label=gettext_lazy("Responsible coach"), queryset=Coach.objects.none())
    email = forms.EmailField(
        label=gettext_lazy("Email address"), required=False, widget=forms.EmailInput({"autocomplete": "off"})
    )
    phone = forms.CharField(
        label=gettext_lazy("Phone"), required=False, max_length=40, widget=forms.TextInput({"autocomplete": "off"})
    )
    language = forms.ChoiceField(
        label=gettext_lazy("Language"), choices=settings.LANGUAGES, help_text=gettext_lazy("Sheets are written in it.")
    )
    unit = forms.ChoiceField(label=gettext_lazy("Loads in"), choices=Practice.Unit.choices)
    time_zone = TimeZoneField(label=gettext_lazy("Time zone"), validators=[valid_time_zone])
    by_paper = forms.BooleanField(label=gettext_lazy("Trains from paper, without a phone"), required=False)
    large_print = forms.BooleanField(label=gettext_lazy("Large print"), required=False)
    guardian_name = forms.CharField(label=gettext_lazy("Guardian"), required=False, max_length=80)
    guardian_contact = forms.CharField(label=gettext_lazy("Guardian’s contact"), required=False, max_length=120)
    guardian_consent_on = DayField(
        label=gettext_lazy("Consent given on"),
        required=False,
        help_text=gettext_lazy("Without it a client under 18 gets no sheet."),
    )

    GUARDIAN: ClassVar = ("guardian_name", "guardian_contact", "guardian_consent_on")

    def __init__(self, *args: Any, practice: Practice, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["coach"].queryset = Coach.objects.filter(practice=practice, is_active=True).order_by("name")  # type: ignore[attr-defined]
        for name in ("date_of_birth", "guardian_consent_on"):
            self.fields[name].latest = today  # type: ignore[attr-defined]

    def clean_name(self) -> str:
        return " ".join(self.cleaned_data["name"].split())

    def clean_date_of_birth(self) -> date | None:
        born = self.cleaned_data["date_of_birth"]
        if born is not None and self.today.year - born.year > OLDEST:
            raise ValidationError(_("That is more than %d years ago.") % OLDEST)
        return born

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        minor = Client(date_of_birth=data.get("date_of_birth")).is_minor_on(self.today)
        if minor and not data.get("guardian_name") and "guardian_name" not in self.errors:
            self.add_error("guardian_name", _("A client under 18 needs a guardian. Write the name."))
        return data


class TrainingForm(forms.Form):
    """Experience, days and minutes, where, and what for."""

    experience = forms.ChoiceField(
        label=gettext_lazy("Experience"),
        choices=labels.choices(vocabulary.EXPERIENCES),
        widget=forms.RadioSelect,
        help_text=gettext_lazy("Novice: loads rise every session or two. Advanced: they rise over months."),
    )
    training_since = SinceField(
        label=gettext_lazy("Training since"),
        required=False,
        help_text=gettext_lazy("A year, a month or a day: 2019, 2019-03. The first weeks are planned without failure."),
    )
    advanced_skills = forms.BooleanField(label=gettext_lazy("May learn advanced lifts"), required=False)
    sessions_per_week = forms.IntegerField(
        label=gettext_lazy("Sessions a week"), validators=[MinValueValidator(1), MaxValueValidator(7)]
    )
    minutes = forms.IntegerField(
        label=gettext_lazy("Minutes a session"), validators=[MinValueValidator(15), MaxValueValidator(180)]
    )
    days = forms.TypedMultipleChoiceField(
        label=gettext_lazy("Training days"),
        required=False,
        coerce=int,
        choices=list(enumerate(WEEKDAYS)),
        widget=forms.CheckboxSelectMultiple,
    )
    days_liked = forms.TypedMultipleChoiceField(
        label=gettext_lazy("Days they like best"),
        required=False,
        coerce=int,
        choices=list(enumerate(WEEKDAYS)),
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("Taken first where recovery leaves a choice."),
    )
    days_never = forms.TypedMultipleChoiceField(
        label=gettext_lazy("Days that are impossible"),
        required=False,
        coerce=int,
        choices=list(enumerate(WEEKDAYS)),
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("Nothing is ever planned on them."),
    )
    order_mode = forms.ChoiceField(
        label=gettext_lazy("How sessions follow each other"),
        choices=Client.OrderMode.choices,
        widget=forms.RadioSelect,
    )
    week_minimum = forms.IntegerField(
        label=gettext_lazy("Enough for a week"),
        required=False,
        validators=[MinValueValidator(1), MaxValueValidator(7)],
        help_text=gettext_lazy("For a list of sessions on any days: so many make a week complete."),
    )
    place = forms.ModelChoiceField(
        label=gettext_lazy("Place"),
        queryset=Place.objects.none(),
        required=False,
        empty_label=gettext_lazy("not decided yet"),
        help_text=gettext_lazy("Loads and exercises are chosen from what is there."),
    )
    goal = forms.CharField(label=gettext_lazy("What they want"), required=False, max_length=240)

    def __init__(self, *args: Any, practice: Practice, client: Client | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("sessions_per_week", "minutes", "week_minimum"):
            self.fields[name].width = "short"  # type: ignore[attr-defined]
        places = Place.objects.for_practice(practice).select_related("owner")
        owners = {None} | ({client.pk} if client is not None and client.pk else set())
        self.fields["place"].queryset = places  # type: ignore[attr-defined]
        shown = [place for place in places if place.owner_id in owners]
        self.fields["place"].choices = [("", gettext_lazy("not decided yet")), *((p.pk, p.name) for p in shown)]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        days, sessions = data.get("days") or [], data.get("sessions_per_week")
        if data.get("order_mode") == Client.OrderMode.FIXED and "days" not in self.errors:
            if not days:
                self.add_error("days", _("Choose the days, or let sessions follow another way."))
            elif sessions and sessions > len(days):
                self.add_error(
                    "days",
                    ngettext(
                        "%(sessions)d sessions don’t fit on one day.",
                        "%(sessions)d sessions don’t fit on %(days)d days.",
                        len(days),
                    )
                    % {"sessions": sessions, "days": len(days)},
                )
        self._check_days(data)
        return data

    def _check_days(self, data: dict[str, Any]) -> None:
        never = set(data.get("days_never") or [])
        both = never & {*(data.get("days") or []), *(data.get("days_liked") or [])}
        if both:
            names = ", ".join(str(WEEKDAYS[day]) for day in sorted(both))
            self.add_error("days_never", _("Chosen above as well: %(days)s.") % {"days": names})
        elif len(never) == len(WEEKDAYS):
            self.add_error("days_never", _("One day at least has to be possible."))
        minimum, sessions = data.get("week_minimum"), data.get("sessions_per_week")
        if minimum and sessions and minimum > sessions:
            self.add_error("week_minimum", _("No more than there are sessions a week."))


class LimitRow(RowForm):
    """A joint or movement, or one exercise, to avoid or go easy on."""

    tells = ("joint", "exercise", "until")

    joint = forms.ChoiceField(
        label=gettext_lazy("joint or movement"), choices=[("", "–"), *labels.choices(vocabulary.JOINT_TAGS)]
    )
    exercise = ExerciseField(label=gettext_lazy("or one exercise"))
    side = forms.ChoiceField(
        label=gettext_lazy("side"), choices=labels.choices(("both", "left", "right")), initial="both"
    )
    strict = forms.TypedChoiceField(
        label=gettext_lazy("how strictly"),
        choices=[("1", gettext_lazy("avoid")), ("0", gettext_lazy("go easy"))],
        coerce=lambda value: value == "1",
        initial="1",
    )
    since = DayField(label=gettext_lazy("since"))
    until = DayField(label=gettext_lazy("until"))

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        joint, exercise = data.get("joint"), data.get("exercise")
        if not joint and not exercise and not self.errors:
            self.add_error("joint", _("Say which joint or movement, or which exercise."))
        if joint and exercise:
            self.add_error("exercise", _("One or the other: use a row of its own for the exercise."))
        if not data.get("since") and "since" not in self.errors:
            data["since"] = self.today
        since, until = data.get("since"), data.get("until")
        if since and until and until < since:
            self.add_error("until", _("It ends before it starts; without a day it starts today."))
        data["side"] = data.get("side") or "both"
        return data


class TasteRow(RowForm):
    """An exercise that the client likes or dislikes."""

    tells = ("exercise",)

    exercise = ExerciseField(label=gettext_lazy("exercise"))
    likes = forms.TypedChoiceField(
        label=gettext_lazy("likes it"),
        choices=[("1", gettext_lazy("likes it")), ("0", gettext_lazy("would rather not"))],
        coerce=lambda value: value == "1",
        initial="1",
    )


class PrioritiesForm(forms.Form):
    """How much each group matters; at most three get more."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for group in vocabulary.AUDITED_GROUPS:
            self.fields[group] = forms.ChoiceField(
                label=labels.GROUPS[group],  # type: ignore[arg-type]  # the stubs know only their own lazy text
                choices=labels.choices(vocabulary.PRIORITIES),
                initial="usual",
                widget=forms.RadioSelect,
            )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        more = [group for group in vocabulary.AUDITED_GROUPS if data.get(group) == "more"]
        if len(more) > MOST_MORE:
            words = {"most": MOST_MORE, "groups": ", ".join(str(labels.GROUPS[group]) for group in more)}
            raise ValidationError(_("At most %(most)d groups can get more; now it is %(groups)s.") % words)
        return data


class RecentRow(RowForm):
    """Sets of one lift: either load, reps and reserve in their boxes, or all in the first, such as 60 x 8, 8, 7.

    ``cleaned_data["sets"]`` is [(Load or None, reps, rir or None)].
    """

    tells = ("exercise", "load", "reps")
    needs = ("exercise", "done_on")

    exercise = ExerciseField(label=gettext_lazy("exercise"))
    load = forms.CharField(
        label=gettext_lazy("load"), max_length=40, widget=forms.TextInput({"autocomplete": "off", "inputmode": "text"})
    )
    reps = forms.CharField(
        label=gettext_lazy("reps"),
        max_length=12,
        widget=forms.TextInput({"autocomplete": "off", "inputmode": "numeric"}),
    )
    rir = forms.CharField(
        label=gettext_lazy("left in reserve"),
        max_length=8,
        widget=forms.TextInput({"autocomplete": "off", "inputmode": "text"}),
    )
    done_on = DayField(label=gettext_lazy("when"))

    def __init__(self, *args: Any, unit: str, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = unit
        self.fields["done_on"].latest = today  # type: ignore[attr-defined]

    @property
    def load_means(self) -> str:
        """How the load of the row's exercise is meant, once the exercise is known."""
        if self.is_bound or not isinstance(self.initial.get("exercise"), Exercise):
            return ""
        return str(labels.LOAD_ENTRIES[self.initial["exercise"].load_entry])

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        exercise = data.get("exercise")
        if exercise is None or "load" in self.errors:
            return data
        if exercise.rep_unit != "reps":
            self.add_error("exercise", _("Only lifts counted in reps give a first load."))
            return data
        typed = data.get("load", "").strip()
        if typed and not LOAD.match(typed) and not data.get("reps"):
            data["sets"] = self._from_shorthand(typed, exercise)
        else:
            data["sets"] = self._from_boxes(typed, exercise, data)
        return data

    def _from_boxes(
        self, typed: str, exercise: Exercise, data: dict[str, Any]
    ) -> list[tuple[Load | None, int, Decimal | None]]:
        load = self._load(typed, exercise)
        reps = self._reps(data.get("reps", ""))
        rir = self._rir(data.get("rir", ""))
        if self.errors or reps is None:
            return []
        return [(load, reps, rir)]

    def _load(self, typed: str, exercise: Exercise) -> Load | None:
        if exercise.load_entry == "none":
            if typed:
                self.add_error("load", _("This exercise has no load. Leave it empty."))
            return None
        if not typed:
            if exercise.bodyweight_fraction == 0:
                self.add_error("load", _("Write what was lifted, such as 60 or 135 lb."))
            return None
        match = LOAD.match(typed)
        value = read_number(match[1]) if match else None
        if match is None or value is None:
            self.add_error("load", _("Write a number and, if it is not the usual one, its unit: 62.5 or 135 lb."))
            return None
        if value < 0:
            self.add_error("load", _("Help and load are written without a minus here."))
            return None
        return Load(value, self._unit(exercise, match[2]), typed)

    def _unit(self, exercise: Exercise, written: str | None) -> str:
        own = {"numbered_setting": "setting", "band": "band"}.get(exercise.load_entry)
        if own:
            return own
        if written:
            return "lb" if written.lower().startswith(("lb", "p")) else "kg"
        return self.unit

    def _reps(self, typed: str) -> int | None:
        number = read_number(typed)
        if number is None or number != int(number) or not 1 <= number <= MOST_REPS:
            self.add_error("reps", _("Reps are whole numbers, 1 to %d.") % MOST_REPS)
            return None
        return int(number)

    def _rir(self, typed: str) -> Decimal | None:
        if typed.strip().lower() in UNKNOWN:
            return None
        number = read_number(typed)
        if number is None or not 0 <= number <= MOST_RIR:
            self.add_error("rir", _("Reps left in reserve are 0 to %d, or ? when nobody knows.") % MOST_RIR)
            return None
        return number

    def _from_shorthand(self, typed: str, exercise: Exercise) -> list[tuple[Load | None, int, Decimal | None]]:
        read = shorthand.parse(typed, self.unit, get_language() or "en", exercise.load_entry)
        found = [one for one in read.sets if one.reps and one.kind == "work"]
        if read.doubts or not found:
            readings = [reading for doubt in read.doubts for reading in doubt.readings]
            example = ", ".join(readings[:2]) or "60 x 8"
            self.add_error("load", _("This can be read in more than one way. Write it like this: %s.") % example)
            return []
        box = self._rir(self.cleaned_data.get("rir", ""))
        sets: list[tuple[Load | None, int, Decimal | None]] = []
        for one in found:
            load = None
            if one.load is not None and exercise.load_entry != "none":
                load = load_of(one.load, self._unit(exercise, one.unit), one.text)
            rir = Decimal(str(one.rir)) if one.rir is not None else box
            if one.reps is not None and one.reps <= MOST_REPS:
                sets.append((load, one.reps, rir))
        return sets


class StatusForm(forms.Form):
    """Enquiry or active, and since when. Pausing, leaving and coming back have pages of their own."""

    SIMPLE: ClassVar = (Client.Status.ENQUIRY, Client.Status.ACTIVE)

    status = forms.ChoiceField(
        label=gettext_lazy("Status"),
        choices=[(one.value, one.label) for one in SIMPLE],
        widget=forms.RadioSelect,
    )
    status_since = DayField(label=gettext_lazy("Since"))

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["status_since"].latest = today + timedelta(days=366)  # type: ignore[attr-defined]


class NoteForm(forms.Form):
    """What coaches want to remember about a client, apart from health."""

    note = forms.CharField(
        label=gettext_lazy("Notes for coaches"),
        required=False,
        widget=forms.Textarea,
        help_text=gettext_lazy("Every coach of the practice reads them. What concerns health has a page of its own."),
    )


LimitRows = rows_of(LimitRow, spare=2)
TasteRows = rows_of(TasteRow, spare=2)
RecentRows = rows_of(RecentRow, spare=4)
