from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class ClientsConfig(AppConfig):
    name = "clients"
    verbose_name = _("Clients")
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from clients.demo.newcomers import fill_new_practice
        from clients.labels import health_sentence
        from clients.reads.doable import doable
        from clients.reads.outline_uses import outline_uses
        from clients.reads.placed import placed
        from clients.services import going_out, leaving, logs, merging, progressions, proposals
        from coachdesk.practice.journal import follows_undo
        from coachdesk.practice.newcomers import fills_new_practice
        from programs.capping import follows_caps
        from programs.doable import keeps_clients
        from programs.outline_uses import keeps_uses
        from programs.placed import keeps_places
        from programs.reasons import speaks_also

        keeps_clients(doable)
        keeps_places(placed)
        keeps_uses(outline_uses)
        follows_undo(proposals.follow_undo)
        follows_undo(logs.follow_undo)
        follows_undo(merging.follow_undo)
        follows_undo(progressions.follow_undo)
        follows_undo(leaving.follow_undo)
        follows_undo(going_out.follow_undo)
        follows_caps(progressions.review_practice)
        fills_new_practice(fill_new_practice)
        speaks_also(health_sentence)
