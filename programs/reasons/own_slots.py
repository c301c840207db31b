"""Sentences for what a coach changes about the slots of one client's week, and why some of it cannot be."""

from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

SENTENCES: Final[dict[str, str | Promise]] = {
    "pair.two_mains": _(
        "%(session)s: %(exercise)s and %(other)s are both main lifts and need their full rest, so they can’t be done "
        "in turns. Swap one for a lighter exercise first."
    ),
    "pair.same_region": _(
        "%(session)s: %(exercise)s and %(other)s both work the %(text_region)s. In turns the second would start tired. "
        "Swap one first, or pair another slot."
    ),
    "pair.low_back": _(
        "%(session)s: %(exercise)s and %(other)s both load the low back, so they can’t be done in turns. "
        "Swap one first, or pair another slot."
    ),
    "pair.grip": _(
        "%(session)s: %(exercise)s and %(other)s both tire the grip, so they can’t be done in turns. "
        "Swap one first, or pair another slot."
    ),
    "pair.nothing_there": _("There is no slot on that side of “%(slot)s” to take turns with."),
    "slot.last_one": _("“%(slot)s” is the last slot of %(day)s. Add another one before it goes."),
    "slot.day_full": _("%(day)s holds %(n_most)s slots already; remove one first."),
    "change.slot_added": _("%(day)s: slot “%(title)s” added for this client."),
    "change.slot_removed": _("%(day)s: slot “%(title)s” removed for this client."),
    "change.slot_back": _("%(day)s: slot “%(title)s” is back."),
    "change.slot_not_added": _("%(day)s: slot “%(title)s” is not added any more."),
    "change.paired": _("%(day)s: %(slot)s and %(other)s in turns."),
    "change.by_itself": _("%(day)s: %(slot)s is done by itself."),
}
