from django.db import models
from django.utils.translation import gettext_lazy as _

from coachdesk.practice.models import Practice
from coachdesk.practice.owned import Owned


class OwnCaps(Owned):
    """How far a load may change at once in a practice, where that is not the usual."""

    practice = models.OneToOneField(Practice, on_delete=models.CASCADE, related_name="own_caps")
    # {"rise": 0.05}: names and shares of ``programs.engine.progress.Caps``, what differs alone; and "levers", the
    # codes of what may change where a load can't rise, in the practice's own order.
    own = models.JSONField(default=dict)

    class Meta:
        verbose_name = _("own caps")
        verbose_name_plural = _("own caps")

    def __str__(self) -> str:
        return str(self.own)
