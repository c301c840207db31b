"""What an illness leads to; in words for the health page alone."""

from datetime import date, timedelta

from django.utils.translation import gettext as _

from clients.models import Illness
from programs.engine.progress import Illness as Ill
from programs.engine.progress import illness_stage
from programs.engine.progress.returning import ILL_LOAD, ILL_RIR, ILL_SESSIONS, ILL_SETS, PROFESSIONAL_FROM_DAYS


def illness_term(row: Illness, today: date) -> Ill:
    """As the engine knows it: the kind and its days; a clearance counts from its day on.

    One that is not over and has not lasted long is not taken to last until whatever day is planned.
    """
    cleared = row.cleared_on is not None and row.cleared_on <= today
    short = row.well_on is None and (today - row.since).days < PROFESSIONAL_FROM_DAYS
    known_on = row.since + timedelta(days=PROFESSIONAL_FROM_DAYS - 1) if short else None
    return Ill(row.kind, row.since, row.well_on, cleared, known_on)


def is_ill(row: Illness, on: date) -> bool:
    """Whether it keeps the client from training as usual on a day, or is waited for."""
    return row.since <= on and illness_stage(illness_term(row, on), on) in ("professional", "rest", "easy")


def keeps_from_training(row: Illness, on: date) -> bool:
    """Whether nothing is to be trained on that day: rest, or a professional first."""
    return row.since <= on and illness_stage(illness_term(row, on), on) in ("professional", "rest")


def illness_words(row: Illness, on: date) -> str:
    """What follows from it on a day."""
    eased = {
        "sessions": ILL_SESSIONS,
        "sets": round(100 * ILL_SETS),
        "load": round(100 * ILL_LOAD),
        "rir": round(ILL_RIR),
    }
    return {
        "professional": _("A professional first: nothing is trained until they have said that it may go on."),
        "easy": _("At most %(sets)d %% of the sets, %(rir)d left in reserve, if at all.") % eased,
        "rest": _("No training until a day without fever and without medicine against it."),
        "after": _(
            "The first %(sessions)d sessions after it have %(sets)d %% of the sets and about %(load)d %% of the load."
        )
        % eased,
        "over": _("Over: nothing follows from it any more."),
    }[illness_stage(illness_term(row, on), on)]
