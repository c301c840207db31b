"""Weeks and rolling cycles in templates, worded by ``clients.cycles``; a sheet's by ``clients.sheets.wording``."""

from collections.abc import Mapping
from typing import Any

from django import template

from clients import cycles
from clients.sheets import wording

register = template.Library()

register.filter("round_words", cycles.round_words)
register.filter("round_title", cycles.round_title)
register.filter("easier_words", cycles.easier_words)


@register.filter
def in_block(session: Mapping[str, Any]) -> str:
    """A sheet's session as "week 2 of 6"."""
    return wording.week_words(session)
