"""A client pauses, leaves, comes back or changes coach: each is shown first, named row by row, then done as shown."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Max
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients import leaving_words as words
from clients.clock import today_for
from clients.forms.leaving import AwaitForm, CoachForm, LeaveForm, PauseForm, ReturnForm
from clients.models import Client, TrainingSession
from clients.reads import leaving as reads
from clients.reads.health import standing_of
from clients.reads.people import client_head, status_words
from clients.services import leaving
from clients.services.sheets import kept_back
from clients.views.common import own_client
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.models import Coach, JournalEntry
from coachdesk.practice.toasts import undoable

Status = Client.Status


@dataclass(frozen=True)
class Act:
    """One page: what is typed, what stands before it, what that comes to, and how it is done."""

    name: str
    allowed: tuple[str, ...]
    title: str
    verb: str
    lead: str
    done: str
    form: forms.Form
    gather: Callable[[dict[str, Any]], reads.Before]
    tell: Callable[[reads.Before, dict[str, Any]], tuple[list[words.Said], list[words.Said]]]
    do: Callable[[str, dict[str, Any]], JournalEntry | None]
    # Whether something typed in changes what is shown, so that it can be shown anew.
    shows_anew: bool = True


def _typed(form: forms.Form) -> dict[str, Any]:
    """What counts: as typed where that is right, else as the form begins."""
    first = {name: form.get_initial_for_field(field, name) for name, field in form.fields.items()}
    return {**first, **form.cleaned_data} if form.is_bound and form.is_valid() else first


def _not_now(request: CoachRequest, client: Client) -> HttpResponse:
    messages.error(request, _("%(name)s: %(status)s.") % {"name": client.name, "status": status_words(client)})
    return redirect("client", client.public_id)


def _page(request: CoachRequest, client: Client, act: Act, **more: Any) -> HttpResponse:
    if client.status not in act.allowed:
        return _not_now(request, client)
    data = _typed(act.form)
    found = act.gather(data)
    status, changed = 200, False
    if act.form.is_bound:
        if act.form.errors:
            status = 422
        elif request.POST.get("go") == "do":
            try:
                entry = act.do(request.POST.get("digest", ""), data)
            except leaving.NotNow:
                client.refresh_from_db()
                return _not_now(request, client)
            except leaving.Otherwise:
                status, changed = 409, True
            else:
                undoable(request, act.done, entry, onward=reverse("client", args=[client.public_id]))
                return redirect("client", client.public_id)
    happens, stays = act.tell(found, data)
    context = {
        **client_head(client, "client", request.user),
        "act": act,
        "form": act.form,
        "happens": happens,
        "stays": stays,
        "digest": found.digest,
        "changed": changed,
        **more,
    }
    return render(request, "clients/leaving.html", context, status=status)


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def client_pause(request: CoachRequest, public_id: str) -> HttpResponse:
    """For a while: the block stays, nothing is sent or missed."""
    client = own_client(request, public_id)
    form = PauseForm(request.POST or None, client=client, today=today_for(client))
    act = Act(
        name="pause",
        allowed=(Status.ACTIVE, Status.ENQUIRY),
        title=_("Pause"),
        verb=_("Pause %s") % client.name,
        lead=_("For a while: the block stays as it is, and until the return nothing is sent, due or missed."),
        done=_("%s pauses.") % client.name,
        form=form,
        gather=lambda data: reads.before(client, data["day"]),
        tell=lambda found, data: words.pausing(found, until=data["until"], close=bool(data["close"])),
        do=lambda digest, data: leaving.pause(
            client, request.user, data["day"], digest, until=data["until"], close=data["close"]
        ),
    )
    return _page(request, client, act)


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def client_wait(request: CoachRequest, public_id: str) -> HttpResponse:
    """Somebody who pauses means to be back on another day than was said."""
    client = own_client(request, public_id)
    today = today_for(client)
    form = AwaitForm(request.POST or None, client=client, today=today)
    act = Act(
        name="wait",
        allowed=(Status.PAUSED,),
        title=_("Back another day"),
        verb=_("Save the day"),
        lead=_("The pause goes on; only the day changes on which it is meant to end."),
        done=_("%s is expected on another day.") % client.name,
        form=form,
        gather=lambda data: reads.before(client, today),
        tell=lambda found, data: words.awaiting(found, until=data["until"]),
        do=lambda digest, data: leaving.wait_until(client, request.user, today, digest, until=data["until"]),
    )
    return _page(request, client, act)


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def client_leave(request: CoachRequest, public_id: str) -> HttpResponse:
    """For good, or for nobody knows how long: everything closed, and handed over what is theirs."""
    client = own_client(request, public_id)
    form = LeaveForm(request.POST or None, client=client, today=today_for(client))
    act = Act(
        name="leave",
        allowed=(Status.ACTIVE, Status.ENQUIRY, Status.PAUSED),
        title=_("Leave"),
        verb=_("Let %s leave") % client.name,
        lead=_("The coaching ends. What was logged stays with you until the day you name."),
        done=_("%s has left.") % client.name,
        form=form,
        gather=lambda data: reads.before(client, data["day"]),
        tell=lambda found, data: words.leaving(found, keep_until=data["keep_until"]),
        do=lambda digest, data: leaving.leave(client, request.user, data["day"], digest, keep_until=data["keep_until"]),
    )
    return _page(request, client, act, hands_over=True)


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def client_return(request: CoachRequest, public_id: str) -> HttpResponse:
    """Back from a pause, or back after having left."""
    client = own_client(request, public_id)
    form = ReturnForm(request.POST or None, client=client, today=today_for(client))
    found = reads.before_return(client, form.asked_day())
    ways = [(way.code, words.way_words(way, found)) for way in found.ways]
    form.offer([(code, f"{name}. {text}") for code, (name, text) in ways])
    last = TrainingSession.objects.for_client(client).aggregate(last=Max("trained_on"))["last"]
    act = Act(
        name="return",
        allowed=(Status.PAUSED, Status.LEFT),
        title=_("Come back"),
        verb=_("Take %s back") % client.name,
        lead=_("Active again, with the old history. Health questions come before the first sheet."),
        done=_("%s is back. Next come the health questions.") % client.name,
        form=form,
        gather=lambda data: found,
        tell=lambda _before, data: words.returning(found, last=last),
        do=lambda digest, data: leaving.come_back(client, request.user, data["day"], digest, way=data.get("way", "")),
    )
    return _page(request, client, act)


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def client_coach(request: CoachRequest, public_id: str) -> HttpResponse:
    """Somebody else of the practice is responsible from now on."""
    client = own_client(request, public_id)
    others = reads.other_coaches(client)
    if not others:
        context = {**client_head(client, "client", request.user), "act": None}
        return render(request, "clients/leaving.html", context)
    form = CoachForm(request.POST or None, others=others)
    today = today_for(client)
    chosen = _coach(form, others)
    new_ones = not kept_back(client, standing_of(client, today))
    act = Act(
        name="coach",
        allowed=tuple(Status.values),
        title=_("Change coach"),
        verb=_("Hand over to %s") % chosen.name,
        lead=_("Who is responsible changes; the client’s training does not."),
        done=_("%(coach)s coaches %(name)s from now on.") % {"coach": chosen.name, "name": client.name},
        form=form,
        gather=lambda data: reads.before(client, today, str(chosen.pk)),
        tell=lambda found, data: words.changing_coach(found, client, chosen, new_ones=new_ones),
        do=lambda digest, data: leaving.change_coach(
            client, request.user, chosen, digest, day=today, note=data["note"]
        ),
        shows_anew=len(others) > 1,
    )
    return _page(request, client, act)


def _coach(form: CoachForm, others: list[Coach]) -> Coach:
    typed = form.data.get("coach") if form.is_bound else None
    return next((coach for coach in others if str(coach.pk) == typed), others[0])


urlpatterns = [
    path("clients/<uuid:public_id>/pause/", client_pause, name="client-pause"),
    path("clients/<uuid:public_id>/pause/on/", client_wait, name="client-wait"),
    path("clients/<uuid:public_id>/leave/", client_leave, name="client-leave"),
    path("clients/<uuid:public_id>/return/", client_return, name="client-return"),
    path("clients/<uuid:public_id>/coach/", client_coach, name="client-coach"),
]
