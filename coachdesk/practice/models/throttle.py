from typing import ClassVar

from django.db import models


class Throttle(models.Model):
    """How often something was tried in a window. ``key`` is a hash: no address or name is kept."""

    key = models.CharField(max_length=64)
    window_start = models.DateTimeField()
    count = models.PositiveIntegerField(default=0)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["key", "window_start"], name="throttle_key_window_unique")
        ]

    def __str__(self) -> str:
        return f"{self.count} since {self.window_start:%H:%M}"
