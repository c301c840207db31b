"""Sentences for the sets over a block: steps of a ramp that were held back, rises over the weeks before."""

from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

SENTENCES: Final[dict[str, str | Promise]] = {
    "course.held_minutes": _("%(session)s: %(exercise)s stays at %(sets)s, as one more would pass %(cap)s."),
    "course.held_ceiling": _(
        "%(session)s: %(exercise)s stays at %(sets)s, as %(text_group)s should get %(n_ceiling)s a session at most."
    ),
    "course.held_range": _(
        "%(session)s: %(exercise)s stays at %(sets)s, as one more would take %(text_group)s over %(n_high)s a week."
    ),
    "course.held_guard": _(
        "%(session)s: %(exercise)s stays at %(sets)s, as %(text_group)s would rise to %(n_now)s a week "
        "after %(n_mean)s on average."
    ),
    "course.rise_warn": _("%(group)s: %(sets_now)s a week after %(n_mean)s before, %(n_percent)s %% more."),
    "course.rise_ask": _(
        "%(group)s: %(sets_now)s a week after %(n_mean)s before, %(n_percent)s %% more. Is that meant?"
    ),
    "course.rise_refuse": _(
        "%(group)s: %(sets_now)s a week after %(n_mean)s before is too much at once. Start with fewer sets."
    ),
    "course.rise_meant": _("%(group)s: %(sets_now)s a week after %(n_mean)s before, and meant so."),
    "course.rises_warn": _("20 to 30 %% more sets a week than before: %(groups)s."),
    "course.rises_ask": _("30 to 60 %% more sets a week than before: %(groups)s. Is that meant?"),
    "course.rises_refuse": _(
        "More than 60 %% more sets a week than before: %(groups)s. That is too much at once; start with fewer."
    ),
    "course.rise_from_nothing": _("Nothing was trained in the four weeks before. Start with fewer sets."),
    "change.course_flat": _("The sets are the same all through the block."),
    "change.course_ramp": _("The sets rise over the block (rounds from step to step: %(n_every)s)."),
}
