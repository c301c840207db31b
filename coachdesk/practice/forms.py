"""Forms of the practice: first set-up, sign-in, account, coaches."""

import zoneinfo
from typing import Any

from django import forms
from django.contrib.auth import authenticate, password_validation
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from coachdesk.practice import throttle
from coachdesk.practice.models import Coach, Practice

SIGN_IN_TRIES = 8
SIGN_IN_TRIES_PER_ADDRESS = 40
SIGN_IN_WINDOW_S = 15 * 60


def time_zone_choices() -> list[tuple[str, str]]:
    names = sorted(name for name in zoneinfo.available_timezones() if "/" in name and not name.startswith("Etc/"))
    return [("UTC", "UTC"), *((name, name.replace("_", " ")) for name in names)]


class NewPasswordMixin(forms.Form):
    """One password field, shown or hidden by the browser; every rule it breaks is said at once."""

    password = forms.CharField(
        label=_("Password"),
        help_text=_("At least 10 characters; a few unrelated words are easier to remember than signs."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}, render_value=False),
        strip=False,
    )

    def check_password(self, coach: Coach) -> None:
        password = self.cleaned_data.get("password")
        if not password:
            return
        try:
            password_validation.validate_password(password, coach)
        except ValidationError as error:
            self.add_error("password", error)


class SetupForm(NewPasswordMixin, forms.ModelForm):
    """The owner's account and the practice, made together on the first run."""

    owner_name = forms.CharField(
        label=_("Your name"), max_length=80, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    email = forms.EmailField(label=_("Email address"), help_text=_("You sign in with it."))
    time_zone = forms.ChoiceField(label=_("Time zone"), choices=time_zone_choices)
    code = forms.CharField(
        label=_("Set-up code"),
        required=False,
        help_text=_("The terminal that started Coachdesk shows it."),
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autocapitalize": "characters"}),
    )
    demo = forms.BooleanField(
        label=_("Load the demo practice as well"),
        required=False,
        help_text=_("Eight invented clients with twelve weeks of logs; one click removes them again."),
    )

    field_order = ("code", "owner_name", "email", "password", "name", "unit", "language", "time_zone", "week_start")

    class Meta:
        model = Practice
        fields = ("name", "unit", "language", "time_zone", "week_start")
        labels = {
            "name": _("Practice name"),
            "unit": _("Loads in"),
            "language": _("Language"),
            "week_start": _("First day of the week"),
        }

    def __init__(self, *args: Any, code_needed: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not code_needed:
            del self.fields["code"]

    def clean_email(self) -> str:
        email = self.cleaned_data["email"].lower()
        if Coach.objects.filter(email=email).exists():
            raise ValidationError(_("Somebody signs in with this address already."))
        return email

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        self.check_password(Coach(name=data.get("owner_name", ""), email=data.get("email", "")))
        return data

    @transaction.atomic
    def save(self, commit: bool = True) -> Coach:
        practice = super().save()
        return Coach.objects.create_user(
            self.cleaned_data["email"],
            self.cleaned_data["password"],
            practice=practice,
            name=self.cleaned_data["owner_name"],
            is_owner=True,
            sees_health=True,
        )


class SignInForm(forms.Form):
    """Email and password. Tries are counted per account and per address, kept as hashes."""

    email = forms.EmailField(
        label=_("Email address"), widget=forms.EmailInput(attrs={"autocomplete": "username", "autofocus": True})
    )
    password = forms.CharField(
        label=_("Password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, request: Any = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.request = request
        self.coach: Coach | None = None

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        email, password = data.get("email"), data.get("password")
        if not email or not password:
            return data
        address = self.request.META.get("REMOTE_ADDR", "")
        if throttle.exceeded("sign-in", email, SIGN_IN_TRIES, SIGN_IN_WINDOW_S) or throttle.exceeded(
            "sign-in-address", address, SIGN_IN_TRIES_PER_ADDRESS, SIGN_IN_WINDOW_S
        ):
            raise ValidationError(_("Too many tries. Wait a quarter of an hour, then try again."), code="throttled")
        coach = authenticate(self.request, username=email, password=password)
        if coach is None:
            throttle.count("sign-in", email, SIGN_IN_WINDOW_S)
            throttle.count("sign-in-address", address, SIGN_IN_WINDOW_S)
            raise ValidationError(_("Email address and password don’t fit together."), code="wrong")
        throttle.clear("sign-in", email)
        self.coach = coach
        return data


class CoachForm(NewPasswordMixin, forms.ModelForm):
    """The owner makes an account for another coach and hands over the first password."""

    class Meta:
        model = Coach
        fields = ("name", "email", "sees_health")
        help_texts = {"sees_health": _("Health questions, conditions, clearances and pain notes.")}

    field_order = ("name", "email", "password", "sees_health")

    def clean_email(self) -> str:
        return self.cleaned_data["email"].lower()

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        self.check_password(Coach(name=data.get("name", ""), email=data.get("email", "")))
        return data

    def save(self, commit: bool = True) -> Coach:
        coach = super().save(commit=False)
        coach.set_password(self.cleaned_data["password"])
        if commit:
            coach.save()
        return coach


class PasswordForm(forms.Form):
    """A signed-in coach changes their own password."""

    old_password = forms.CharField(
        label=_("Password now"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    password = forms.CharField(
        label=_("New password"),
        strip=False,
        help_text=_("At least 10 characters."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, *args: Any, coach: Coach, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.coach = coach

    def clean_old_password(self) -> str:
        if not self.coach.check_password(self.cleaned_data["old_password"]):
            raise ValidationError(_("That is not the password you sign in with now."))
        return self.cleaned_data["old_password"]

    def clean_password(self) -> str:
        password_validation.validate_password(self.cleaned_data["password"], self.coach)
        return self.cleaned_data["password"]


class PracticeForm(forms.ModelForm):
    """The defaults of the practice; what was logged keeps the unit it was typed in."""

    time_zone = forms.ChoiceField(label=_("Time zone"), choices=time_zone_choices)

    class Meta:
        model = Practice
        fields = ("name", "unit", "language", "time_zone", "week_start", "paper")
        labels = {"name": _("Practice name"), "unit": _("Loads in")}
