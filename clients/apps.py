from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class ClientsConfig(AppConfig):
    name = "clients"
    verbose_name = _("Clients")
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from clients.reads.placed import placed
        from programs.placed import keeps_places

        keeps_places(placed)
