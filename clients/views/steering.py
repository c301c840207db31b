"""Steering a running block: the acts there are, what one would come to, then exactly that."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods

from clients.cycles import is_rolling, round_title
from clients.forms.steering import FORMS, usual
from clients.reads.blocks import day_words
from clients.reads.people import client_head
from clients.reads.steering import Asked, Change, Course, Plan, course_of_block, plan
from clients.services import missed, steering
from clients.views.block_changes import dose_row
from clients.views.common import own_client
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.toasts import undoable
from programs.engine.terms import Because
from programs.reasons import sentence_of

Word = str | Promise
SHOWN = 8  # sessions of a change that are not folded away


@dataclass(frozen=True, slots=True)
class ActWords:
    """An act by its short name, its title and what it does."""

    act: str
    name: Word
    title: Word
    said: Word


WEEKLY = (
    ActWords(
        "shift",
        gettext_lazy("Shift"),
        gettext_lazy("Shift what is to come"),
        gettext_lazy("All sessions that nobody has begun come so many days or weeks later, or earlier."),
    ),
    ActWords(
        "again",
        gettext_lazy("Do again"),
        gettext_lazy("Do a week again"),
        gettext_lazy("The same sessions once more with the loads in force; what lies behind moves along."),
    ),
    ActWords(
        "insert",
        gettext_lazy("Put in"),
        gettext_lazy("Put a week in"),
        gettext_lazy("One more week like an ordinary one, as hard or easier; what lies behind moves along."),
    ),
    ActWords(
        "drop",
        gettext_lazy("Leave out"),
        gettext_lazy("Leave a week out"),
        gettext_lazy("What is to come of a week is not trained; what lies behind comes earlier, or stays."),
    ),
    ActWords(
        "ease",
        gettext_lazy("Deload"),
        gettext_lazy("Deload now"),
        gettext_lazy("The rest of a week, or a coming one, with half the sets, less load and more in reserve."),
    ),
    ActWords(
        "end",
        gettext_lazy("End early"),
        gettext_lazy("End the block early"),
        gettext_lazy("What is still to come is left out."),
    ),
)
ROLLING = {
    "again": (
        gettext_lazy("Do a cycle again"),
        gettext_lazy("The same sessions once more with the loads in force; what lies behind moves along."),
    ),
    "insert": (
        gettext_lazy("Put a cycle in"),
        gettext_lazy("One more cycle like an ordinary one, as hard or easier; what lies behind moves along."),
    ),
    "drop": (
        gettext_lazy("Leave a cycle out"),
        gettext_lazy("What is to come of a cycle is not trained; what lies behind comes earlier, or stays."),
    ),
    "ease": (
        gettext_lazy("Deload now"),
        gettext_lazy("The rest of a cycle, or a coming one, with half the sets, less load and more in reserve."),
    ),
}
FLAGS = {"left_out": gettext_lazy("left out"), "added": gettext_lazy("added"), "eased": gettext_lazy("deload")}


SHEETS = {
    "withdrawn": gettext_lazy("its sheet is withdrawn"),
    "new_version": gettext_lazy("its sheet gets a new version"),
}


@dataclass(frozen=True, slots=True)
class ChangeWords:
    session: str
    before: str
    after: str
    flag: str
    sets: str
    sheet: str


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def client_steer(request: CoachRequest, public_id: str) -> HttpResponse:
    """``?act=`` is the act looked at; with its fields what it would come to is shown, and posted it is done."""
    client = own_client(request, public_id)
    course = course_of_block(client)
    if course is None:
        messages.info(request, _("There is no running block to steer."))
        return redirect("client-block", client.public_id)
    asked = request.POST or request.GET
    act = asked.get("act", "")
    acts = _acts(is_rolling(course.block.cycle_days))
    form, found = None, None
    if act in FORMS:
        bound = any(name != "act" for name in asked)
        form = FORMS[act](asked if bound else None, course=course, initial=usual(act, course))
        if bound and form.is_valid():
            try:
                if request.method == "POST":
                    return _done(request, client, form.asked())
            except steering.Otherwise:
                messages.error(request, _("Something changed in between. This is what would be done now."))
            shown = plan(client, form.asked())
            if isinstance(shown, Because):
                form.add_error(None, sentence_of(shown))
            else:
                found = shown
    context = {
        **client_head(client, "client-block", request.user),
        "course": course,
        "acts": acts,
        "act": next((one for one in acts if one.act == act), None),
        "form": form,
        "found": found,
        "behind": missed.behind(client),
        **(_shown(found) if found else {}),
    }
    status = 422 if form is not None and form.errors else 200
    return render(request, "clients/blocks/steer.html", context, status=status)


def _acts(rolling: bool) -> list[ActWords]:
    if not rolling:
        return list(WEEKLY)
    return [ActWords(one.act, one.name, *ROLLING.get(one.act, (one.title, one.said))) for one in WEEKLY]


def _done(request: CoachRequest, client: Any, wanted: Asked) -> HttpResponse:
    found, entry = steering.steer(client, request.user, wanted, request.POST.get("digest", ""))
    onward = reverse("client-block", args=[client.public_id])
    undoable(request, DONE[wanted.act](found), entry, onward=onward)
    return redirect(onward)


def _shifted(found: Plan) -> str:
    if not found.changes:  # a list that has not begun
        return _("The block begins on %(day)s.") % {"day": day_words(found.steered.starts_on)}
    said = ngettext("%(n)d session shifted; %(end)s.", "%(n)d sessions shifted; %(end)s.", len(found.changes))
    return said % {"n": len(found.changes), "end": _end_words(found)}


def _titled(words: Word) -> Callable[[Plan], str]:
    def said(found: Plan) -> str:
        title = round_title(found.asked.round, found.course.block.cycle_days)
        return str(words) % {"round": title, "end": _end_words(found)}

    return said


def _end_words(found: Plan) -> str:
    last = {"day": day_words(found.steered.end_after)}
    return _("the last session is on %(day)s") % last if found.course.dated else _("the block ends on %(day)s") % last


def _ended(found: Plan) -> str:
    if found.steered.ended:
        return _("Block %(number)d has ended.") % {"number": found.course.block.number}
    said = _("Block %(number)d ends early: %(end)s.")
    return said % {"number": found.course.block.number, "end": _end_words(found)}


DONE: dict[str, Callable[[Plan], str]] = {
    "shift": _shifted,
    "again": _titled(gettext_lazy("%(round)s comes again; %(end)s.")),
    "insert": _titled(gettext_lazy("A new one is put in as %(round)s; %(end)s.")),
    "drop": _titled(gettext_lazy("%(round)s is left out; %(end)s.")),
    "ease": _titled(gettext_lazy("%(round)s is a deload now.")),
    "end": _ended,
}


def _shown(found: Plan) -> dict[str, Any]:
    changes = [_words(change, found.course) for change in found.changes]
    heads = [_("Now"), _("Then")]
    steered, block = found.steered, found.course.block
    return {
        "changes": changes[:SHOWN],
        "folded": changes[SHOWN:],
        "heads": heads,
        "stops": bool(found.shifts) and not any(one.week_after for one in found.shifts),
        "dose": [dose_row([one], heads) for one in found.shifts],
        "end_before": _long(steered.end_before),
        "end_after": "" if _nothing_left(found) else _long(steered.end_after),
        "earlier": -steered.days_later,
        "easier_before": _numbers(block.deload_weeks),
        "easier_after": _numbers(steered.easier),
        "still_easier": _still_easier(found),
        "verb": _verb(found),
    }


def _nothing_left(found: Plan) -> bool:
    return found.steered.ended and found.steered.end_after < found.steered.starts_on


def _still_easier(found: Plan) -> str:
    """That deloads planned for later stay though one is made now."""
    asked, cycle_days = found.asked, found.course.block.cycle_days
    if asked.act != "ease" and not asked.easy:
        return ""
    later = [round_title(number, cycle_days) for number in found.steered.easier if number > asked.round]
    said = ngettext("%(later)s stays a deload, as planned.", "%(later)s stay deloads, as planned.", len(later))
    return said % {"later": ", ".join(later)} if later else ""


def _long(day: date) -> str:
    return date_format(day, "D j M Y")


def _numbers(numbers: Any) -> str:
    return ", ".join(map(str, numbers))


def _words(change: Change, course: Course) -> ChangeWords:
    return ChangeWords(
        session=change.name,
        before=_where(change.day_before, change.round_before, course),
        after=_where(change.day_after, change.round_after, course),
        flag=str(FLAGS.get(change.kind, "")),
        sets=_sets(change),
        sheet=str(SHEETS.get(change.sheet, "")),
    )


def _where(day: date | None, number: int | None, course: Course) -> str:
    if number is None:
        return ""
    return day_words(day) if day is not None else round_title(number, course.block.cycle_days)


def _sets(change: Change) -> str:
    if change.kind == "eased":
        return f"{change.sets_before} → {change.sets_after}"
    return str(change.sets_after or change.sets_before)


def _verb(found: Plan) -> str:
    count = len(found.changes)
    shift = ngettext("Shift %(n)d session", "Shift %(n)d sessions", count) % {"n": count}
    return {
        "shift": shift if count else _("Shift the block"),
        "again": _("Do it again"),
        "insert": _("Put it in"),
        "drop": _("Leave it out"),
        "ease": _("Make it a deload"),
        "end": _("End the block"),
    }[found.asked.act]


urlpatterns = [path("clients/<uuid:public_id>/block/steer/", client_steer, name="client-steer")]
