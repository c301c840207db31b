"""The block tab, a session's page, and the calendar."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_POST, require_safe

from clients.board.weeks import asked_week, weeks_of_block
from clients.clock import today_for
from clients.cycles import round_of_words
from clients.forms.fields import DayField
from clients.models import Block, Client, TrainingSession
from clients.reads import fatigue
from clients.reads.blocks import blocks_of, calendar_of, day_words, lines_of
from clients.reads.lengths import length_of, lengths_of
from clients.reads.lists import listed_week
from clients.reads.people import client_head
from clients.services import missed
from clients.services.blocks import last_day
from clients.services.calendar import AlreadyOver, move_session
from clients.views.common import back_to, own_client
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.toasts import undoable
from programs.reasons import sentence_of


class MoveSessionForm(forms.Form):
    planned_on = DayField(label=gettext_lazy("On"), required=False)


@coach_required
@require_safe
def client_block(request: CoachRequest, public_id: str) -> HttpResponse:
    """Weeks and sessions of the running block, else of the newest; ``?block=`` shows an older one."""
    client = own_client(request, public_id)
    blocks = blocks_of(client)
    wanted = request.GET.get("block", "")
    shown = next((block for block in blocks if str(block.number) == wanted), None)
    shown = shown or next((block for block in blocks if block.state == Block.State.ACTIVE), None)
    shown = shown or (blocks[0] if blocks else None)
    context = {
        **client_head(client, "client-block", request.user),
        "shown": shown,
        "blocks": blocks,
        "weeks": weeks_of_block(shown, asked_week(request.GET)) if shown else None,
        "last_day": last_day(shown) if shown else None,
        "draft": client.drafts.filter(state="open").first(),
        "easier": [sentence_of(reason) for reason in fatigue.told(client)],
    }
    return render(request, "clients/blocks/block.html", context)


@coach_required
@require_safe
def session(request: CoachRequest, public_id: str) -> HttpResponse:
    """What one session asks for, line by line."""
    return _session(request, _own_session(request, public_id), None)


@coach_required
@require_safe
def client_calendar(request: CoachRequest, public_id: str) -> HttpResponse:
    """The sessions of the running block by calendar week."""
    client = own_client(request, public_id)
    rows = TrainingSession.objects.for_client(client).select_related("block")
    sessions = list(rows.filter(block__state=Block.State.ACTIVE))
    context = {
        **client_head(client, "client-calendar", request.user),
        "weeks": calendar_of(sessions, lengths_of(sessions), client.practice.week_start),
        "today": today_for(client),
        "behind": missed.behind(client),
        "listed": listed_week(client, today_for(client)),
        "next_first": client.order_mode == Client.OrderMode.NEXT,
    }
    return render(request, "clients/blocks/calendar.html", context)


class BehindForm(forms.Form):
    """What becomes of missed sessions; ``end`` is the last day of the block that was on screen."""

    way = forms.ChoiceField(choices=[(way, way) for way in ("next", "missed")])
    end = forms.DateField()


@coach_required
@require_POST
def client_behind(request: CoachRequest, public_id: str) -> HttpResponse:
    """Does next what was missed, everything behind it moving along, or leaves it as missed."""
    client = own_client(request, public_id)
    onward = reverse("client-calendar", args=[client.public_id])
    form = BehindForm(request.POST)
    if not form.is_valid():
        raise Http404
    end = form.cleaned_data["end"]
    try:
        if form.cleaned_data["way"] == "missed":
            count, entry = missed.leave_out(client, request.user, end)
            said = ngettext("%(n)d session marked as missed.", "%(n)d sessions marked as missed.", count)
            undoable(request, said % {"n": count}, entry, onward=onward)
            return redirect(onward)
        count, entry = missed.do_next(client, request.user, end)
    except missed.Otherwise:
        messages.error(request, _("The sessions changed in between. This is how they stand now."))
        return redirect(onward)
    said = ngettext(
        "%(n)d missed session comes next; the last one is on %(day)s.",
        "%(n)d missed sessions come next; the last one is on %(day)s.",
        count,
    )
    undoable(request, said % {"n": count, "day": day_words(end)}, entry, onward=onward)
    return redirect(onward)


@coach_required
@require_POST
def session_move(request: CoachRequest, public_id: str) -> HttpResponse:
    """Another date for a session that is still to come; an empty one leaves it to any day."""
    found = _own_session(request, public_id)
    form = MoveSessionForm(request.POST)
    if not form.is_valid():
        return _session(request, found, form)
    onward = back_to(request, reverse("session", args=[found.public_id]))
    try:
        entry = move_session(found, request.user, form.cleaned_data["planned_on"])
    except AlreadyOver:
        messages.error(request, _("%(session)s is over; its date stays.") % {"session": found.name})
        return redirect(onward)
    if entry is not None:
        text = _("%(session)s moved to %(day)s.")
        undoable(request, text % {"session": found.name, "day": day_words(found.planned_on)}, entry, onward=onward)
    return redirect(onward)


def _own_session(request: CoachRequest, public_id: str) -> TrainingSession:
    rows = TrainingSession.objects.for_practice(request.user.practice).with_lines()
    return get_object_or_404(rows, public_id=public_id)


def _session(request: CoachRequest, found: TrainingSession, form: MoveSessionForm | None) -> HttpResponse:
    block = found.block
    cells: list[dict[str, Any]] = [
        {"label": _("Client"), "value": block.client.name, "who": True},
        {"label": _("Session"), "value": found.name},
        {
            "label": _("Block %(number)d") % {"number": block.number},
            "value": round_of_words(found.cycle, max(found.cycle, block.rounds), block.cycle_days)
            if not found.only_kept
            else _("done later"),
        },
        {"label": _("On"), "value": day_words(found.planned_on)},
        {"label": _("Minutes"), "value": length_of(found) or "–"},
        {"label": _("Place"), "value": found.place.name},
        {"label": _("State"), "value": found.get_state_display()},
    ]
    form = form or MoveSessionForm(initial={"planned_on": found.planned_on})
    context = {
        "session": found,
        "client": block.client,
        "cells": cells,
        "lines": lines_of(found),
        "form": form,
        "movable": found.state == TrainingSession.State.PLANNED,
    }
    return render(request, "clients/blocks/session.html", context, status=422 if form.is_bound else 200)


urlpatterns = [
    path("clients/<uuid:public_id>/block/", client_block, name="client-block"),
    path("clients/<uuid:public_id>/calendar/", client_calendar, name="client-calendar"),
    path("clients/<uuid:public_id>/behind/", client_behind, name="client-behind"),
    path("sessions/<uuid:public_id>/", session, name="session"),
    path("sessions/<uuid:public_id>/move/", session_move, name="session-move"),
]
