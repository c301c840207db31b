"""What the progress page says of the log itself: effort as said and as shown, habits, and left against right.

For coaches alone. It tells what the log shows, never why.
"""

from collections.abc import Mapping
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from clients.progress_page import figure
from clients.reads.health import Standing
from clients.reads.review import Review
from clients.sheets import wording
from programs.engine.progress import check_barred
from programs.engine.progress.honesty import Checked
from programs.engine.sides import steadily_stronger
from programs.engine.terms import Because
from programs.reasons import sentence_of

Word = str | Promise
GAPS = ("ratings_read_low", "ratings_read_high")
# What a check set would tell; where one has spoken already, or the figures are only ticks, there is none to ask for.
QUESTIONS = ("check_set_suggested", "ratings_never_vary")
SIDE_SESSIONS = 6
SIDES: Mapping[str, Word] = {
    "left": gettext_lazy("%(day)s left +%(percent)s %%"),
    "right": gettext_lazy("%(day)s right +%(percent)s %%"),
    "": gettext_lazy("%(day)s level"),
}
STEADY: Mapping[str, Word] = {
    "left": gettext_lazy("the left clearly more, three sessions running"),
    "right": gettext_lazy("the right clearly more, three sessions running"),
    "": gettext_lazy("no steady difference"),
}


def may_check(standing: Standing) -> bool:
    """Whether going near failure to find out is offered at all: not where the client's effort is bounded."""
    return check_barred(standing.effort, "isolation", machine=True) is None


def effort(review: Review, *, may_check: bool) -> dict[str, Any]:
    """Reps in reserve against what the next set showed, and how many sets were only confirmed."""
    said = review.effort
    confirmed, sets = review.as_planned
    return {
        "pairs": said.pairs,
        "easier": ngettext("%d set easier than said", "%d sets easier than said", said.too_easy) % said.too_easy,
        "harder": ngettext("%d harder", "%d harder", said.too_hard) % said.too_hard,
        "check": said.worth_a_check and may_check,
        "confirmed": _("%(confirmed)d of %(sets)d sets confirmed as planned, the rest typed.")
        % {"confirmed": confirmed, "sets": sets}
        if sets
        else "",
    }


def logging_habits(review: Review, *, may_check: bool) -> list[dict[str, Any]]:
    """How lifts are logged where that is worth a question, and what the last check set of each showed."""
    rows = []
    for lift in review.lifts:
        told = lift.habits if may_check else [_without_check(reason) for reason in lift.habits]
        said = [sentence_of(reason, None, review.unit) for reason in told]
        if lift.checked is not None and not any(reason.code in GAPS for reason in lift.habits):
            said.append(check_words(lift.checked))
        if said:
            rows.append(
                {
                    "exercise": lift.exercise,
                    "name": lift.exercise.name,
                    "said": said,
                    "ask": may_check and any(reason.code in QUESTIONS for reason in lift.habits),
                }
            )
    return rows


def _without_check(reason: Because) -> Because:
    """The same figures, and no check set named that would be refused."""
    return Because("ratings_contradicted", reason.params) if reason.code == "check_set_suggested" else reason


def side_rows(review: Review) -> list[dict[str, str]]:
    """One-sided lifts: by how much one side did more, session by session, and whether that is steady."""
    rows = []
    for lift in review.lifts:
        sessions = review.sides.get(lift.exercise.pk, [])[-SIDE_SESSIONS:]
        if not sessions:
            continue
        told = [
            SIDES[one.stronger] % {"day": wording.day(one.day, "j M"), "percent": figure(100 * one.share, 1)}
            for one in sessions
        ]
        steady = steadily_stronger(sessions)
        rows.append(
            {
                "name": lift.exercise.name,
                "told": "; ".join(one.replace(" ", wording.NBSP) for one in told),
                "steady": str(STEADY[steady]),
            }
        )
    return rows


def check_words(checked: Checked) -> str:
    """ "Check set on 3 Nov: 1 rep more than was said." """
    day, reps = wording.day(checked.day, "j M"), abs(checked.gap)
    if not reps:
        return _("Check set on %(day)s: as was said.") % {"day": day}
    words = {"day": day, "reps": figure(reps, 1)}
    whole = round(reps) if reps == round(reps) else 2
    if checked.gap > 0:
        return (
            ngettext(
                "Check set on %(day)s: %(reps)s rep more than was said.",
                "Check set on %(day)s: %(reps)s reps more than was said.",
                whole,
            )
            % words
        )
    return (
        ngettext(
            "Check set on %(day)s: %(reps)s rep fewer than was said.",
            "Check set on %(day)s: %(reps)s reps fewer than was said.",
            whole,
        )
        % words
    )
