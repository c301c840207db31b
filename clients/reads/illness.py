"""What an illness leads to, in words: for the health page alone."""

from datetime import date

from django.utils.translation import gettext as _

from clients.models import Illness
from programs.engine.progress import Illness as Ill
from programs.engine.progress import illness_stage


def illness_term(row: Illness, on: date) -> Ill:
    """As the engine knows it: the kind and its days; a clearance counts from its day on."""
    return Ill(row.kind, row.since, row.well_on, row.cleared_on is not None and row.cleared_on <= on)


def illness_words(row: Illness, on: date) -> str:
    """What follows from it on a day."""
    return {
        "professional": _("A professional first: nothing is trained until they have said that it may go on."),
        "easy": _("Half the sets with four in reserve, if at all."),
        "rest": _("No training until a day without fever and without medicine against it."),
        "after": _("The first two sessions after it have half the sets and about 85 % of the load."),
        "over": _("Over: nothing follows from it any more."),
    }[illness_stage(illness_term(row, on), on)]
