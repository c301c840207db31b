from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class ClientsConfig(AppConfig):
    name = "clients"
    verbose_name = _("Clients")
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from clients.demo.newcomers import fill_new_practice
        from clients.labels import health_sentence
        from clients.reads.placed import placed
        from clients.services import logs, proposals
        from coachdesk.practice.journal import follows_undo
        from coachdesk.practice.newcomers import fills_new_practice
        from programs.placed import keeps_places
        from programs.reasons import speaks_also

        keeps_places(placed)
        follows_undo(proposals.follow_undo)
        follows_undo(logs.follow_undo)
        fills_new_practice(fill_new_practice)
        speaks_also(health_sentence)
