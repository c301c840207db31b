from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class ProgramsConfig(AppConfig):
    name = "programs"
    verbose_name = _("Programs")
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from django.db.models.signals import post_migrate

        from coachdesk.practice.newcomers import fills_new_practice
        from programs.seeding import fill_new_practice
        from programs.stamps import set_up_stamps

        fills_new_practice(fill_new_practice)
        post_migrate.connect(set_up_stamps, sender=self, dispatch_uid="programs.stamps")
