from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class ProgramsConfig(AppConfig):
    name = "programs"
    verbose_name = _("Programs")
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from coachdesk.practice.newcomers import fills_new_practice
        from programs.seeding import fill_new_practice

        fills_new_practice(fill_new_practice)
