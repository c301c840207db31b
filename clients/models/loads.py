"""The columns of a load, and how they always fit each other."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from programs.units import Load

LOAD_UNITS = [("kg", _("kg")), ("lb", _("lb")), ("setting", _("setting")), ("band", _("band"))]


class WithLoad(models.Model):
    """Typed value, unit and raw text, kept for ever; grams derived beside them. No value is not zero."""

    load_value = models.DecimalField(_("load"), max_digits=8, decimal_places=3, null=True, blank=True)
    load_unit = models.CharField(_("unit"), max_length=8, choices=LOAD_UNITS, blank=True, default="")
    load_text = models.CharField(max_length=40, blank=True, default="")
    load_grams = models.BigIntegerField(null=True, blank=True, editable=False)

    class Meta:
        abstract = True

    @property
    def load(self) -> Load | None:
        if self.load_value is None:
            return None
        return Load(self.load_value, self.load_unit, self.load_text)

    @staticmethod
    def load_constraints(prefix: str) -> list[models.CheckConstraint]:
        """A value has a unit, a weighable one has grams, and nothing else has either."""
        return [
            models.CheckConstraint(
                name=f"{prefix}_load_whole",
                condition=models.Q(load_value__isnull=True, load_unit="", load_grams__isnull=True)
                | models.Q(load_value__isnull=False, load_unit__in=["kg", "lb"], load_grams__isnull=False)
                | models.Q(load_value__isnull=False, load_unit__in=["setting", "band"], load_grams__isnull=True),
            )
        ]
