from django import forms
from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class PracticeConfig(AppConfig):
    name = "coachdesk.practice"
    label = "practice"
    verbose_name = _("Practice")
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        # An error says what to do, not what is the case.
        forms.Field.default_error_messages["required"] = _("Fill this in.")
