"""Sentences for why a proposal is not plain: why it waits for the coach's own eye."""

from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

SENTENCES: Final[dict[str, str | Promise]] = {
    "plain.pain": _("A pain report is open."),
    "plain.touches_pain": _("It answers pain."),
    "plain.doubtful": _("%(sets)s in the log still to be checked."),
    "plain.absence": _("It follows time away."),
    "plain.ill": _("The client is not to train as usual for now."),
    "plain.cap": _("The step is bigger than usual."),
    "plain.bounded": _("Limits of this client changed it."),
    "plain.deload_due": _("An easier week is due by what was logged."),
    "plain.choice": _("There is more than one way to go on."),
    "plain.out_of_range": _(
        "%(group)s would get %(n_counted)s counted sets in the week, outside %(n_low)s to %(n_high)s."
    ),
    "plain.pinned_sets": _("It changes a number of sets that you pinned."),
    "plain.sheet_replaced": _("It was trained from a sheet that had been replaced."),
    "plain.minor": _("The client is under age."),
    "plain.older": _("The client is %(n_years)s or older."),
    "plain.age_unknown": _("The client’s date of birth is not known."),
    "plain.not_cleared": _("The client is not cleared."),
    "plain.health": _("Health answers set limits."),
    "plain.newcomer": _("The client’s first %(n_weeks)s weeks are not over."),
}
