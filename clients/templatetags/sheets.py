"""A sheet's values in templates, worded by ``clients.sheets.wording``."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django import template
from django.utils.translation import ngettext

from clients.sheets import wording

register = template.Library()


@register.filter
def short_day(value: date | str | None) -> str:
    """A plain date as "Tue 14 Oct"; an en dash for a session without a date."""
    return wording.day(value) or wording.RANGE


@register.filter
def about_minutes(minutes: int | None) -> str:
    return wording.minutes_words(minutes)


@register.filter
def exercise_count(document: Mapping[str, Any]) -> str:
    count = sum(1 for line in document["lines"] if not line["free"])
    return ngettext("%(n)d exercise", "%(n)d exercises", count) % {"n": count}
