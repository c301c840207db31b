from django.db import models
from django.utils.translation import gettext_lazy as _

from coachdesk.practice.models import Practice
from coachdesk.practice.owned import Owned


class OwnWeights(Owned):
    """What the rules of composing weigh in a practice, where that is not what they usually weigh."""

    practice = models.OneToOneField(Practice, on_delete=models.CASCADE, related_name="own_weights")
    # {"rank_step": 12}: names and whole numbers of ``programs.engine.compose.weights.Weights``, what differs alone.
    own = models.JSONField(default=dict)

    class Meta:
        verbose_name = _("own weights")
        verbose_name_plural = _("own weights")

    def __str__(self) -> str:
        return str(self.own)
