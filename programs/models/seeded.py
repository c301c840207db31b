"""Rows that came from the seed files and may since have been edited by a coach."""

from typing import Any, ClassVar

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models


class Seeded(models.Model):
    """``seed_key`` names the entry of the seed files ("" for a practice's own row); seeding again touches only
    fields that are not in ``edited_fields``."""

    seed_key = models.SlugField(max_length=80, blank=True, default="")
    seed_version = models.PositiveIntegerField(default=0)
    edited_fields = models.JSONField(default=list, blank=True, encoder=DjangoJSONEncoder)

    never_seeded: ClassVar[frozenset[str]] = frozenset()

    class Meta:
        abstract = True

    def mark_edited(self, *names: str) -> None:
        """Remembers that a coach changed these fields, so that seeding leaves them alone."""
        self.edited_fields = sorted({*self.edited_fields, *names})

    def seed(self, values: dict[str, Any], version: int) -> list[str]:
        """Sets untouched fields from the seed files and returns the names of those that changed (unsaved)."""
        changed = []
        for name, value in values.items():
            if name in self.edited_fields or getattr(self, name) == value:
                continue
            setattr(self, name, value)
            changed.append(name)
        if self.seed_version != version:
            self.seed_version = version
            changed.append("seed_version")
        return changed
