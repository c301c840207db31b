"""Sentences for steering a block: why something cannot be done, and why a line is as it is."""

from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

SENTENCES: Final[dict[str, str | Promise]] = {
    "steer.nothing_left": _("Nothing of the block is still to come from that day on."),
    "steer.whole_rounds": _("These sessions have no dates: they move by whole rounds of %(days_days)s."),
    "steer.too_early": _("Some sessions would come before %(day)s, the day from which on they move."),
    "steer.day_taken": _("On %(day)s there is a session already, and no two fall on one day."),
    "steer.round_taken": _("There are sessions already where these would go."),
    "steer.no_such_round": _("Nothing is to come there any more."),
    "steer.begun": _("Something of it was trained or missed already, so it stays where it is. Choose what lies ahead."),
    "steer.past": _(
        "Some sessions would fall on days that are over. Settle first what is behind, or choose later ones."
    ),
    "steer.easy_already": _("It is a deload already."),
    "steer.too_long": _("The block would last longer than %(n_weeks)s weeks."),
    "steer.again": _("The same once more, with the loads in force."),
}
