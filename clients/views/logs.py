"""What came back from a client, and the answers to what is doubtful."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_POST, require_safe

from clients.clock import today_for
from clients.doubts import doubt_sentence
from clients.models import LoggedSet, TrainingSession
from clients.reads.logs import FILTERS, counts, done_words, effort_words, lifts_of, loose_sets, sessions_of
from clients.reads.people import client_head
from clients.receiving import SetValues
from clients.services import logs
from clients.sheets import wording
from clients.views.common import back_to, own_client, undo_tag
from coachdesk.practice.access import CoachRequest, coach_required

A_PAGE = 12
FILTER_WORDS = {
    "all": gettext_lazy("all"),
    "open": gettext_lazy("to type in"),
    "doubt": gettext_lazy("to check"),
}
WAY_WORDS = {
    "phone": gettext_lazy("phone"),
    "form": gettext_lazy("PDF form"),
    "message": gettext_lazy("message"),
    "paper": gettext_lazy("typed in"),
    "import": gettext_lazy("spreadsheet"),
    "demo": gettext_lazy("demo"),
}


@coach_required
@require_safe
def client_logs(request: CoachRequest, public_id: str) -> HttpResponse:
    """All sessions that are behind or near, newest first, with what was logged."""
    client = own_client(request, public_id)
    kind = request.GET.get("show", "all")
    if kind not in FILTERS:
        raise Http404
    today = today_for(client)
    page = Paginator(sessions_of(client, today, kind), A_PAGE).get_page(request.GET.get("page"))
    found = counts(client, today)
    context = {
        **client_head(client, "client-logs", request.user),
        "rows": [_session_row(session, today) for session in page],
        "page": page,
        "filters": [
            {"code": code, "word": word, "count": found.get(code), "current": code == kind}
            for code, word in FILTER_WORDS.items()
        ],
        "loose": [
            {"row": row, "words": done_words([row]), "effort": effort_words([row])}
            for row in (loose_sets(client) if kind == "all" else [])
        ],
        "kind": kind,
    }
    return render(request, "clients/logs.html", context)


def _session_row(session: TrainingSession, today: date) -> dict[str, Any]:
    rows = list(session.logged_sets.all())
    state = TrainingSession.State
    planned = session.state == state.PLANNED
    past = planned and session.planned_on is not None and session.planned_on < today
    flags = []
    asked = sum(row.state == LoggedSet.State.ASKED for row in rows)
    if asked:
        flags.append(("doubt", ngettext("%d set to check", "%d sets to check", asked) % asked))
    if session.state == state.MISSED or past:
        flags.append(("absence", _("missed") if session.state == state.MISSED else _("nothing came back")))
    elif session.state == state.DROPPED:
        flags.append(("absence", _("left out")))
    elif planned:
        flags.append(("waiting", _("planned")))
    said = getattr(session, "said", None)
    return {
        "session": session,
        "on": session.trained_on or session.planned_on,
        "url": reverse("session-log", args=[session.public_id]),
        "flags": flags,
        "lifts": lifts_of(rows),
        "ways": sorted({str(WAY_WORDS[row.way]) for row in rows}),
        "said": said,
        "planned": planned,
        "past": past,
        "verb": _("Open") if rows else _("Type in"),
    }


def doubt_row(row: LoggedSet) -> dict[str, Any]:
    """A set to be checked: what it says, why it is asked about, and the answers on offer."""
    unit = row.load_unit
    better = logs.offered(row)
    return {
        "row": row,
        "words": done_words([row]),
        "sentences": [doubt_sentence(doubt["code"], doubt["params"], unit) for doubt in row.doubts],
        "warm_up": logs.may_be_warm_up(row),
        "offer": offer_words(row, better) if better is not None else "",
        "url": reverse("settle-set", args=[row.public_id]),
    }


def offer_words(row: LoggedSet, better: SetValues) -> str:
    """ "47.5 kg × 10", as the doubt would have it."""
    load = better.load
    figure = f"{wording.number(load.value)}{wording.NBSP}{load.unit}" if load is not None else ""
    much = wording.done_amount({"seconds": better.seconds, "metres": better.metres, "reps": better.reps})
    return f"{figure}{wording.NBSP}{wording.TIMES}{wording.NBSP}{much}" if figure else much


def own_session(request: CoachRequest, public_id: str) -> TrainingSession:
    """The practice's session of that id; 404 for anybody else's."""
    sessions = TrainingSession.objects.for_practice(request.user.practice)
    return get_object_or_404(
        sessions.select_related("block__client__practice", "block__client__coach", "block__place", "elsewhere"),
        public_id=public_id,
    )


@coach_required
@require_POST
def settle_set(request: CoachRequest, public_id: str) -> HttpResponse:
    """Answers what was asked about a set: it counts as typed, it takes the likelier numbers, or it is taken back."""
    found = LoggedSet.objects.filter(client__practice=request.user.practice)
    logged = get_object_or_404(found.select_related("client__practice", "exercise", "session"), public_id=public_id)
    answer = request.POST.get("answer", "")
    if answer not in ("counts", "back", "offered", "warm_up"):
        raise Http404
    back = back_to(request, reverse("client-logs", args=[logged.client.public_id]))
    if logged.state != LoggedSet.State.ASKED:
        messages.error(request, _("That set was settled already."))
        return redirect(back)
    try:
        entry = logs.settle(logged, answer, request.user)
    except logs.NothingOffered:
        raise Http404 from None
    words = {
        "counts": _("%(exercise)s counts as typed."),
        "back": _("A set of %(exercise)s was taken back."),
        "offered": _("A set of %(exercise)s was corrected."),
        "warm_up": _("A set of %(exercise)s is a warm-up; the next ones like it will be."),
    }[answer]
    messages.success(request, words % {"exercise": logged.exercise.name}, extra_tags=undo_tag(entry))
    return redirect(back)


@coach_required
@require_POST
def session_state(request: CoachRequest, public_id: str) -> HttpResponse:
    """A session that was not trained: missed, left out, or planned again."""
    session = own_session(request, public_id)
    try:
        entry = logs.set_state(session, request.POST.get("state", ""), request.user)
    except ValueError:
        raise Http404 from None
    words = {
        TrainingSession.State.MISSED: _("%(name)s, %(session)s: missed."),
        TrainingSession.State.DROPPED: _("%(name)s, %(session)s: left out."),
        TrainingSession.State.PLANNED: _("%(name)s, %(session)s: planned again."),
    }[TrainingSession.State(session.state)]
    named = {"name": session.block.client.name, "session": session.name}
    messages.success(request, words % named, extra_tags=undo_tag(entry))
    return redirect(back_to(request, reverse("session-log", args=[session.public_id])))


urlpatterns = [
    path("clients/<uuid:public_id>/logs/", client_logs, name="client-logs"),
    path("sessions/<uuid:public_id>/state/", session_state, name="session-state"),
    path("sets/<uuid:public_id>/settle/", settle_set, name="settle-set"),
]
