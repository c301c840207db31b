"""{% sentence reason %}: a reason in words."""

from collections.abc import Mapping
from typing import Any

from django import template

from programs.engine.terms import Because
from programs.reasons import sentence_of

register = template.Library()


@register.simple_tag
def sentence(reason: Because | Mapping[str, Any], names: Mapping[str, str] | None = None, unit: str = "") -> str:
    """A reason as the engine gives it or as it is stored. Needs ``names`` for the keys that it mentions."""
    return sentence_of(reason, names, unit)
