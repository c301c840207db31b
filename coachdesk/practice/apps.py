from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class PracticeConfig(AppConfig):
    name = "coachdesk.practice"
    label = "practice"
    verbose_name = _("Practice")
    default_auto_field = "django.db.models.BigAutoField"
