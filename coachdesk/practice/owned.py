"""Ground rules for rows that belong to a practice."""

import uuid
from typing import ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext as _


class Owned(models.Model):
    """A row that belongs to one practice, directly or through the row named by ``practice_path``.

    ``practice_path`` is the lookup from this model to the practice's id ("practice", "client__practice").
    No foreign key may lead to a row of another practice; ``clean`` refuses it and a test walks the tables.
    """

    practice_path: ClassVar[str] = "practice"

    class Meta:
        abstract = True

    def owning_practice(self) -> int | None:
        """The id of the practice this row belongs to."""
        target: models.Model | None = self
        *steps, last = self.practice_path.split("__")
        for step in steps:
            target = getattr(target, step) if target is not None else None
        return getattr(target, f"{last}_id") if target is not None else None

    def clean(self) -> None:
        super().clean()
        for field in self._meta.concrete_fields:
            if not isinstance(field, models.ForeignKey) or getattr(self, field.attname) is None:
                continue
            related = getattr(self, field.name, None)
            if isinstance(related, Owned) and related.owning_practice() != self.owning_practice():
                raise ValidationError({field.name: _("This belongs to another practice.")})


class PublicId(models.Model):
    """A random id for addresses, so that numbers tell a stranger nothing."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        abstract = True
