"""What a client types at the gym, read: one set, a pain report, what is said around a session.

Numbers come with comma or point; nothing is guessed: what can be read in two ways is asked about, and an empty
box stays unknown.
"""

import re
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.clock import now_for
from clients.labels import BODY_PARTS
from clients.models import Client, LoggedPart, Original
from clients.phone.labels import ALARMS, EFFORTS, ENERGY, SLEEP
from clients.receiving import Arrival, PartValues, SetValues
from clients.receiving.values import MOST_METRES, MOST_REPS, MOST_SECONDS, too_much
from programs.labels import SIDES
from programs.units import Load, read_number

KEY = re.compile(r"^[A-Za-z0-9_-]{8,64}$")
CLOCK = re.compile(r"^(\d{1,3}):([0-5]\d)$")
TWO_READINGS = re.compile(r"^\d{1,3}[.,]\d00$|^\d{1,3}[.,]\d{2}0$")
OLDEST = timedelta(days=60)
AHEAD = timedelta(minutes=10)  # clocks of phones differ a little


class KeyField(forms.CharField):
    """The key made where the thing was typed."""

    def clean(self, value: Any) -> str:
        text = super().clean(value)
        if not KEY.match(text):
            raise ValidationError(_("This page is too old. Load it again and send once more."))
        return str(text)


class SetForm(forms.Form):
    """One set. ``values`` and ``arrival`` are there once it is valid; ``exercise`` names a swap or is empty."""

    key = KeyField()
    load = forms.CharField(required=False, max_length=20)
    amount = forms.CharField(required=False, max_length=10)
    rir = forms.CharField(required=False, max_length=3)
    left = forms.CharField(required=False, max_length=4)
    right = forms.CharField(required=False, max_length=4)
    shown = forms.CharField(required=False, max_length=60)
    exercise = forms.CharField(required=False, max_length=40)
    day = forms.DateField(required=False)
    at = forms.CharField(required=False, max_length=40)

    def __init__(self, data: Any, *, client: Client, line: Mapping[str, Any], place_unit: str, finding: bool) -> None:
        super().__init__(data)
        self.client, self.line, self.finding = client, line, finding
        self.place_unit = place_unit

    @property
    def swapped(self) -> Mapping[str, Any] | None:
        """The facts of the stand-in that was done; None for the line's own exercise."""
        wanted = self.cleaned_data.get("exercise", "")
        return next((swap["exercise"] for swap in self.line["swaps"] if swap["exercise"]["id"] == wanted), None)

    def clean_exercise(self) -> str:
        wanted = str(self.cleaned_data["exercise"])
        known = {swap["exercise"]["id"] for swap in self.line["swaps"]} | {self.line["exercise"]["id"], ""}
        if wanted not in known:
            raise ValidationError(_("That exercise is no swap of this one. Load the page again."))
        return wanted

    def clean_rir(self) -> Decimal | None:
        text = self.cleaned_data["rir"]
        if text in ("", "?"):
            return None
        number = read_number(text.rstrip("+"))
        if number is None or not 0 <= number <= 5:
            raise ValidationError(_("Reps in reserve are 0, 1, 2, 3 or 4+."))
        return number

    def clean_left(self) -> int | None:
        return self._side("left")

    def clean_right(self) -> int | None:
        return self._side("right")

    def _side(self, name: str) -> int | None:
        text = self.cleaned_data[name].strip()
        return _whole(text, MOST_REPS, _reps_message()) if text else None

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or {}
        facts = self.swapped or self.line["exercise"]
        self._check("load", lambda: self._load(facts, cleaned.get("load", "")))
        sides = (cleaned.get("left"), cleaned.get("right"))
        if None in sides and sides != (None, None):
            self.add_error("left" if sides[0] is None else "right", _("Give the reps of both sides, or of neither."))
        elif sides != (None, None):
            # Both sides are one set; the weaker side is what the set is judged by.
            cleaned["amount"] = str(min(side for side in sides if side is not None))
        self._check("amount", lambda: _read_amount(facts["rep_unit"], cleaned.get("amount", "")))
        if self.finding and not self.errors and cleaned.get("rir") is None:
            self.add_error("rir", _("Say how many more you could have done, so that the load can be found."))
        return cleaned

    def _check(self, name: str, read: Any) -> None:
        if name in self.errors:
            return
        try:
            self.cleaned_data[name] = read()
        except ValidationError as wrong:
            self.add_error(name, wrong)

    def _load(self, facts: Mapping[str, Any], text: str) -> Load | None:
        entry = facts["load_entry"]
        text = text.strip()
        if entry == "none":
            return None
        swapped = facts is not self.line["exercise"]
        unit = self.place_unit if swapped else self.line["unit"]
        if entry in ("numbered_setting", "band"):
            unit = "setting" if entry == "numbered_setting" else "band"
        if not text:
            if swapped:
                return None
            raise ValidationError(_("Type the load that was lifted, 0 for none."))
        if TWO_READINGS.match(text):
            short = text.rstrip("0").rstrip(".,")
            long = re.sub(r"[.,]", "", text)
            raise ValidationError(
                _("%(typed)s can be read in two ways. Type %(short)s or %(long)s.")
                % {"typed": text, "short": short, "long": long}
            )
        number = read_number(text)
        if number is None or number < 0:
            raise ValidationError(_("Loads are numbers such as 62.5 or 62,5."))
        if unit in ("setting", "band") and number != number.to_integral_value():
            raise ValidationError(_("Settings and bands are whole numbers."))
        load = Load(number, unit, text)
        if too_much(load):
            raise ValidationError(_("That is more than anybody lifts. Look at the load again."))
        return load

    def values(self, kind: str) -> SetValues:
        cleaned = self.cleaned_data
        unit = (self.swapped or self.line["exercise"])["rep_unit"]
        parts: tuple[PartValues, ...] = ()
        if cleaned.get("left") is not None:
            parts = (
                PartValues(LoggedPart.Sort.LEFT, cleaned["left"]),
                PartValues(LoggedPart.Sort.RIGHT, cleaned["right"]),
            )
        typed = "|".join(self.data.get(name, "") for name in ("load", "amount", "rir"))
        return SetValues(
            reps=cleaned["amount"] if unit == "reps" else None,
            seconds=cleaned["amount"] if unit == "seconds" else None,
            metres=cleaned["amount"] if unit == "metres" else None,
            load=cleaned["load"],
            rir=cleaned["rir"] if unit == "reps" else None,
            kind=kind,
            parts=parts,
            as_planned=bool(cleaned["shown"]) and typed == cleaned["shown"] and not parts,
        )

    def arrival(self, exercise: Any) -> Arrival:
        at, on = when(self.client, self.cleaned_data["at"], self.cleaned_data["day"])
        return Arrival(way=Original.Way.PHONE, performed_on=on, performed_at=at, exercise=exercise)


def when(client: Client, at_text: str, day: date | None) -> tuple[datetime | None, date]:
    """When something was done, on the client's clock: the phone's time stamp, or the day they say it was.

    A stamp from the future or from long ago is a phone's wrong clock: the time of arrival counts then. A day other
    than the stamp's carries no time.
    """
    now = now_for(client)
    at = parse_datetime(at_text) if at_text else None
    if at is None or timezone.is_naive(at) or not now - OLDEST <= at <= now + AHEAD:
        at = now
    at = at.astimezone(now.tzinfo)
    if day is None or day == at.date() or not (now - OLDEST).date() <= day <= now.date():
        return at, at.date()
    return None, day


def _read_amount(unit: str, text: str) -> int:
    text = text.strip()
    if unit == "seconds":
        if match := CLOCK.match(text):
            text = str(int(match[1]) * 60 + int(match[2]))
        return _whole(text, MOST_SECONDS, _("Seconds are whole numbers, or minutes and seconds such as 1:30."))
    if unit == "metres":
        return _whole(text, MOST_METRES, _("Metres are whole numbers, 0 to 10000."))
    return _whole(text, MOST_REPS, _reps_message())


def _whole(text: str, most: int, message: str) -> int:
    if not re.fullmatch(r"\d{1,5}", text) or int(text) > most:
        raise ValidationError(message)
    return int(text)


def _reps_message() -> str:
    return _("Reps are whole numbers, 0 to 100.")


class PainForm(forms.Form):
    """Pain, 0 to 10, and where. Soreness is not pain, and the page says so."""

    key = KeyField(widget=forms.HiddenInput)
    score = forms.TypedChoiceField(
        label=gettext_lazy("How much, 0 to 10?"),
        coerce=int,
        choices=[(number, str(number)) for number in range(11)],
        widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Choose a number from 0 to 10.")},
    )
    body_part = forms.ChoiceField(
        label=gettext_lazy("Where?"),
        choices=[("", gettext_lazy("Choose a place")), *BODY_PARTS.items()],
        error_messages={"required": gettext_lazy("Choose where it hurts.")},
    )
    side = forms.ChoiceField(
        label=gettext_lazy("Which side?"), choices=list(SIDES.items()), widget=forms.RadioSelect, initial="both"
    )
    alarms = forms.MultipleChoiceField(
        label=gettext_lazy("Is any of this true?"),
        required=False,
        choices=list(ALARMS.items()),
        widget=forms.CheckboxSelectMultiple,
    )
    note = forms.CharField(
        label=gettext_lazy("In your words"), required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 3})
    )
    line = forms.IntegerField(required=False, widget=forms.HiddenInput)
    at = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)


class NoteForm(forms.Form):
    """What is said around a session; each field may come alone, and what does not come stays as it was."""

    sleep = forms.TypedChoiceField(required=False, coerce=int, choices=list(SLEEP.items()), empty_value=None)
    energy = forms.TypedChoiceField(required=False, coerce=int, choices=list(ENERGY.items()), empty_value=None)
    effort = forms.TypedChoiceField(required=False, coerce=int, choices=list(EFFORTS.items()), empty_value=None)
    text = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=4000, widget=forms.Textarea)
    about = forms.IntegerField(required=False, min_value=1, max_value=99)
    tick = forms.IntegerField(required=False, min_value=1, max_value=99)
    ticked = forms.BooleanField(required=False)
    at = forms.CharField(required=False, max_length=40)


class BodyweightForm(forms.Form):
    weight = forms.CharField(max_length=8)
    at = forms.CharField(required=False, max_length=40)

    def __init__(self, data: Any, *, unit: str) -> None:
        super().__init__(data)
        self.unit = unit

    def clean_weight(self) -> Decimal:
        number = read_number(self.cleaned_data["weight"])
        low, high = (Decimal(25), Decimal(350)) if self.unit == "kg" else (Decimal(55), Decimal(770))
        if number is None or not low <= number <= high:
            raise ValidationError(
                _("Bodyweight is a number from %(low)s to %(high)s %(unit)s.")
                % {"low": low, "high": high, "unit": self.unit}
            )
        return number.quantize(Decimal("0.01"))
