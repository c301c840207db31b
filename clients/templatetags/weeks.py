"""The course of a draft or a block in words."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django import template
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from clients.cycles import cycle_days_of, is_rolling
from clients.models import Block, Draft
from clients.reads.course import plan_of
from programs import labels
from programs.reasons.words import in_text

register = template.Library()


@register.filter
def course_words(draft: Draft | Block) -> str:
    """ "Sets flat, easier week 6", "A set more every 2 weeks from one less on, deload on call"."""
    rolling = is_rolling(cycle_days_of(draft.document))
    plan = plan_of(draft.document)
    if plan.kind == "flat":
        sets = _("Sets flat")
    elif rolling:
        sets = ngettext("A set more every cycle", "A set more every %(n)d cycles", plan.every) % {"n": plan.every}
    else:
        sets = ngettext("A set more every week", "A set more every %(n)d weeks", plan.every) % {"n": plan.every}
    if plan.below:
        sets = _("%(course)s from one less on") % {"course": sets}
    return f"{sets}, {_deload_words(draft.deload_weeks, rolling=rolling)}"


@register.filter
def pinned_rises(document: Mapping[str, Any]) -> str:
    """ "Meant: chest and lats rise steeply. “Back from a camp” (Ana, 25 Nov 2026)", or nothing."""
    kept = document.get("rises")
    if not kept:
        return ""
    groups = [in_text(labels.GROUPS[group]) for group in kept["groups"]]
    words = _("Meant, though steep: %(groups)s. “%(reason)s” (%(coach)s, %(day)s)")
    day = date_format(date.fromisoformat(kept["on"]), "j M Y")
    return words % {"groups": ", ".join(groups), "reason": kept["reason"], "coach": kept["by"], "day": day}


def _deload_words(numbers: list[int], *, rolling: bool) -> str:
    if not numbers:
        return _("deload on call")
    listed = {"numbers": ", ".join(map(str, numbers))}
    if rolling:
        return ngettext("easier cycle %(numbers)s", "easier cycles %(numbers)s", len(numbers)) % listed
    return ngettext("easier week %(numbers)s", "easier weeks %(numbers)s", len(numbers)) % listed
