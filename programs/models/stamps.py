from typing import ClassVar

from django.db import models

from coachdesk.practice.models import Practice
from coachdesk.practice.owned import Owned


class LibraryStamp(Owned):
    """A number that is another one after every change to a practice's exercises. The database writes it (see
    ``programs.stamps``), whoever changes the rows and however."""

    practice = models.OneToOneField(Practice, on_delete=models.CASCADE, primary_key=True, related_name="+")
    stamp = models.BigIntegerField()

    class Meta:
        default_permissions: ClassVar = ()

    def __str__(self) -> str:
        return f"{self.practice_id} {self.stamp}"
