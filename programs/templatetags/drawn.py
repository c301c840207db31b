"""Small drawings beside words."""

from django import template
from django.utils.safestring import SafeString, mark_safe

from programs.drawings.marks import legend_mark

register = template.Library()


@register.simple_tag
def legend(kind: str) -> SafeString:
    """A legend's sample; its words stand beside it."""
    return mark_safe(legend_mark(kind))  # noqa: S308  numbers and tokens only
