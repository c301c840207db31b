from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class ProgramsConfig(AppConfig):
    name = "programs"
    verbose_name = _("Programs")
    default_auto_field = "django.db.models.BigAutoField"
