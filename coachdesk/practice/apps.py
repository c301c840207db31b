from django import forms
from django.apps import AppConfig
from django.core import validators
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext_lazy


class PracticeConfig(AppConfig):
    name = "coachdesk.practice"
    label = "practice"
    verbose_name = _("Practice")
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        # An error says what to do, not what is the case.
        forms.Field.default_error_messages["required"] = _("Fill this in.")
        validators.MinValueValidator.message = _("Write %(limit_value)s or more.")
        validators.MaxValueValidator.message = _("Write %(limit_value)s or less.")
        validators.MaxLengthValidator.message = ngettext_lazy(
            "Write at most %(limit_value)d character; this is %(show_value)d long.",
            "Write at most %(limit_value)d characters; this is %(show_value)d long.",
            "limit_value",
        )
