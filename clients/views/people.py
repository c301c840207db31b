"""The list of clients, taking a new one in, and the profile."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients import intake
from clients.clock import today_for
from clients.forms.fields import problems, time_zone_datalist
from clients.forms.people import WEEKDAYS, StatusForm
from clients.labels import health_sentence
from clients.models import Client, RecentSet
from clients.reads.health import Standing
from clients.reads.leaving import reminders_of
from clients.reads.people import (
    Row,
    client_head,
    client_rows,
    compose_address,
    counts_by_status,
    limit_words,
    short_day,
    status_words,
)
from clients.reads.places import number
from clients.services import health, people
from clients.views.common import own_client, undo_tag
from clients.views.items import item_words
from clients.views.proposals import going_out_of
from coachdesk.practice.access import CoachRequest, coach_required
from programs import labels
from programs.drawings.tally import tally_rule

A_PAGE = 100
TALLY_WIDTH = 112
SORTS = ("name", "last", "next", "adherence")
STATUS_WORDS = (
    (Client.Status.ACTIVE, pgettext_lazy("state", "active")),
    (Client.Status.ENQUIRY, gettext_lazy("enquiry")),
    (Client.Status.PAUSED, gettext_lazy("paused")),
    (Client.Status.LEFT, gettext_lazy("left")),
)


@coach_required
@require_safe
def client_list(request: CoachRequest) -> HttpResponse:
    """All clients of one status, by name or by a column's head."""
    practice = request.user.practice
    status = request.GET.get("status", Client.Status.ACTIVE)
    sought = " ".join(request.GET.get("q", "").split())
    if status not in Client.Status.values:
        raise Http404
    found = Client.objects.for_practice(practice)
    if not sought:
        found = found.filter(status=status)
    clients = list(found)
    if sought:  # by name, whatever the status
        clients = [client for client in clients if sought.casefold() in client.name.casefold()]
    rows = client_rows(clients, request.user, timezone.localdate(), None if sought else found)
    sort, falling = _sort_of(request)
    rows.sort(key=lambda row: _sort_key(row, sort), reverse=falling)
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    counts = counts_by_status(practice)
    context = {
        "rows": [_shown(row) for row in page],
        "page": page,
        "filters": [
            {"word": word, "code": code, "count": counts.get(code, 0), "current": not sought and code == status}
            for code, word in STATUS_WORDS
        ],
        "heads": _heads(sort, falling),
        "sought": sought,
        "status": status,
        "total": sum(counts.values()),
        "reminders": reminders_of(practice, timezone.localdate()),
    }
    return render(request, "clients/clients.html", context)


def _sort_of(request: CoachRequest) -> tuple[str, bool]:
    wanted = request.GET.get("sort", "name")
    name = wanted.removeprefix("-")
    return (name, wanted.startswith("-")) if name in SORTS else ("name", False)


def _sort_key(row: Row, sort: str) -> tuple[Any, ...]:
    name = row.client.name.casefold()
    seen = row.attendance
    if sort == "adherence":
        return (seen.done / seen.due if seen.due else -1.0, name)
    if sort in ("last", "next"):
        day = seen.last if sort == "last" else seen.next
        return (day.toordinal() if day else 0, name)
    return (name, row.client.pk)


def _heads(sort: str, falling: bool) -> list[dict[str, Any]]:
    words = {
        "name": _("Name"),
        "flags": _("Flags"),
        "last": _("Last session"),
        "next": _("Next"),
        "adherence": _("Adherence, 4 weeks"),
        "block": _("Block"),
    }
    heads = []
    for key, word in words.items():
        current = key == sort
        heads.append(
            {
                "word": word,
                "wide": key == "next",
                "sort": ("-" if current and not falling else "") + key if key in SORTS else "",
                "order": ("descending" if falling else "ascending") if current else "",
            }
        )
    return heads


def _shown(row: Row) -> dict[str, Any]:
    """Ready to print: a list of eighty must not cost ten times one of eight in template tags."""
    seen = row.attendance
    tally = ""
    if seen.due:
        title = _("%(done)d of %(due)d sessions") % {"done": seen.done, "due": seen.due}
        tally = mark_safe(tally_rule(seen.done, seen.due, title=title, width=TALLY_WIDTH))  # noqa: S308  numbers only
    return {
        "name": row.client.name,
        "url": row.url,
        "flags": row.flags,
        "last": short_day(seen.last) if seen.last else "–",
        "next": short_day(seen.next) if seen.next else _("any day") if seen.next_undated else "–",
        "done": f"{seen.done} / {seen.due}" if seen.due else "–",
        "tally": tally,
        "block": row.block or "–",
    }


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def client_new(request: CoachRequest) -> HttpResponse:
    """The first step: from here on the client exists, and the rest can be filled in at any time."""
    return _step(request, intake.Asked(request.user.practice, request.user, timezone.localdate()), intake.STEPS[0])


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def client_intake(request: CoachRequest, public_id: str, step: str) -> HttpResponse:
    """A later step, or an earlier one again."""
    client = own_client(request, public_id)
    if step == "done":
        return _done(request, client)
    if step not in intake.BY_KEY:
        raise Http404
    asked = intake.Asked(client.practice, request.user, today_for(client), client)
    return _step(request, asked, intake.BY_KEY[step])


def _step(request: CoachRequest, asked: intake.Asked, step: intake.Step) -> HttpResponse:
    hidden = step.health and not request.user.sees_health
    if hidden:
        return _hidden_step(request, asked, step)
    if request.method == "POST":
        go = request.POST.get("go", "")
        if go == "rows":
            return _show_step(request, asked, step, step.wider(asked, request.POST), 200)
        forms = step.forms(asked, request.POST)
        if not step.holds(forms):
            if asked.client is not None and go in (*_reachable(asked.client), "leave") and not step.health:
                # Going elsewhere must not lose what was typed here: it waits until this step is opened again.
                request.session[_kept_key(asked.client, step)] = request.POST.urlencode()
                return _onward(asked.client, step, go)
            return _show_step(request, asked, step, forms, 422)
        step.save(asked, forms)
        client = asked.known
        request.session.pop(_kept_key(client, step), None)
        reached = intake.number_of(step) + 1
        if client.intake_step and reached > client.intake_step:
            client.intake_step = reached
            client.save(update_fields=["intake_step"])
        return _onward(client, step, go)
    if step.health and asked.client is not None:
        health.note_read(asked.client, request.user, "questions")
    kept = request.session.get(_kept_key(asked.client, step)) if asked.client is not None else None
    if kept:
        return _show_step(request, asked, step, step.forms(asked, QueryDict(kept)), 200)
    return _show_step(request, asked, step, step.forms(asked), 200)


def _hidden_step(request: CoachRequest, asked: intake.Asked, step: intake.Step) -> HttpResponse:
    """For coaches who may not read health answers: the step says who fills it in, and lets them go on."""
    client = asked.known
    if request.method == "POST":
        go = request.POST.get("go", "")
        reached = intake.number_of(step) + 1
        if client.intake_step and reached > client.intake_step:
            client.intake_step = reached
            client.save(update_fields=["intake_step"])
        return _onward(client, step, go)
    return _show_step(request, asked, step, {}, 200)


def _kept_key(client: Client, step: intake.Step) -> str:
    return f"typed:{client.public_id}:{step.key}"


def _reachable(client: Client) -> list[str]:
    """Steps that can be opened: those done and the next one; all of them once the client is taken in."""
    upto = client.intake_step or len(intake.STEPS)
    return [step.key for step in intake.STEPS[:upto]]


def _onward(client: Client, step: intake.Step, go: str) -> HttpResponse:
    if go == "leave":
        return redirect("client", client.public_id)
    if go in _reachable(client):
        return redirect("client-intake", client.public_id, go)
    at = intake.STEPS.index(step) + 1
    following = intake.STEPS[at].key if at < len(intake.STEPS) else "done"
    return redirect("client-intake", client.public_id, following)


def _show_step(
    request: CoachRequest, asked: intake.Asked, step: intake.Step, forms: intake.Forms, status: int
) -> HttpResponse:
    client = asked.client
    reachable = _reachable(client) if client is not None else [intake.STEPS[0].key]
    at = intake.STEPS.index(step)
    done = (client.intake_step or len(intake.STEPS) + 1) - 1 if client is not None else 0
    context = {
        **forms,
        "problems": problems(forms.values()),
        "client": client,
        "step": step,
        "hidden": step.health and not forms,
        "number": at + 1,
        "count": len(intake.STEPS),
        "steps": [
            {
                "key": one.key,
                "title": one.title,
                "current": one is step,
                "done": index < done,
                "reachable": one.key in reachable,
            }
            for index, one in enumerate(intake.STEPS)
        ],
        "back": intake.STEPS[at - 1].key if at else "",
        **_lists(step, asked),
    }
    return render(request, "clients/intake.html", context, status=status)


def _lists(step: intake.Step, asked: intake.Asked) -> dict[str, Any]:
    """The lists of names that a step's boxes offer."""
    return {
        "exercise_names": asked.names.datalist() if step.tables else "",
        "time_zones": time_zone_datalist() if step.key == "who" else "",
        "minor": asked.client is not None and asked.client.is_minor_on(asked.today),
    }


def _done(request: CoachRequest, client: Client) -> HttpResponse:
    """The last page: what is known, and where to go from here."""
    compose_url = compose_address(client)
    if request.method == "POST":
        if client.intake_step:
            people.change_client(client, request.user, {"intake_step": 0}, act="client.taken_in")
            messages.success(request, _("%(name)s is taken in.") % {"name": client.name})
        if request.POST.get("go") == "compose" and compose_url:
            return redirect(compose_url)
        return redirect("client", client.public_id)
    head = client_head(client, "client", request.user)
    context = {
        **head,
        "steps_left": _steps_left(client),
        "holds": _holds(client, head["standing"]) if request.user.sees_health else [],
        "cleared": head["standing"].cleared,
        "compose_url": compose_url,
    }
    return render(request, "clients/intake_done.html", context)


def _holds(client: Client, standing: Standing) -> list[dict[str, str]]:
    """What keeps sheets back, and where each is settled."""
    settled = {
        "health.questions_missing": ("health-questions", (client.public_id,), _("Ask the health questions")),
        "health.not_answered": ("health-questions", (client.public_id,), _("Answer what is open")),
        "health.answers_too_old": ("health-questions", (client.public_id,), _("Ask again")),
        "health.returned": ("health-questions", (client.public_id,), _("Ask again")),
        "health.guardian_consent_missing": ("client-change", (client.public_id, "who"), _("Record the consent")),
    }
    elsewhere = ("clearance-new", (client.public_id,), _("Record a clearance"))
    found = []
    for hold in standing.holds:
        name, args, verb = settled.get(hold.code, elsewhere)
        found.append({"text": health_sentence(hold), "url": reverse(name, args=args), "verb": verb})
    return found


def _steps_left(client: Client) -> list[intake.Step]:
    return list(intake.STEPS[client.intake_step - 1 :]) if client.intake_step else []


@coach_required
@require_safe
def profile(request: CoachRequest, public_id: str) -> HttpResponse:
    """The profile: what is known of a client, each part with its own way to change it."""
    client = own_client(request, public_id)
    today = today_for(client)
    next_step = _steps_left(client)[:1]
    head = client_head(client, "client", request.user)
    context = {
        **head,
        "holds": _holds(client, head["standing"]) if request.user.sees_health and not client.intake_step else [],
        "actions": "clients/_client_acts.html" if compose_address(client) else "",
        "compose_url": compose_address(client),
        "next_step": next_step[0] if next_step else None,
        "age": client.age_on(today),
        "minor": client.is_minor_on(today),
        **{
            name: ", ".join(str(WEEKDAYS[day]) for day in getattr(client, name))
            for name in ("days", "days_liked", "days_never")
        },
        "limits": [
            {"words": limit_words(row), "since": row.since, "over": not row.holds_on(today)}
            for row in client.limits.select_related("exercise")
        ],
        "priorities": [
            {"group": labels.GROUPS[row.group], "priority": row.get_priority_display()}
            for row in client.priorities.order_by("pk")
        ],
        "tastes": list(client.tastes.select_related("exercise").order_by("pk")),
        "recent": [_recent_words(row) for row in client.recent_sets.select_related("exercise")],
        "items": [{"item": item, "words": item_words(item)} for item in client.items.order_by("pk")],
        "going_out": going_out_of(client, sees_health=request.user.sees_health),
        "status_words": status_words(client),
        "status_form": StatusForm(
            initial={"status": client.status, "status_since": client.status_since or today}, today=today
        )
        if client.status == Client.Status.ENQUIRY
        else None,
    }
    return render(request, "clients/client.html", context)


def _recent_words(row: RecentSet) -> dict[str, Any]:
    return {
        "name": row.exercise.name,
        "load": "–" if row.load_value is None else number(row.load_value),
        "unit": row.get_load_unit_display() if row.load_value is not None else "",
        "reps": row.reps,
        "rir": "?" if row.rir is None else number(row.rir),
        "done_on": row.done_on,
    }


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def client_change(request: CoachRequest, public_id: str, part: str) -> HttpResponse:
    """One part of the profile, changed through the form it was taken in with."""
    client = own_client(request, public_id)
    if part not in intake.PROFILE:
        raise Http404
    step = intake.PROFILE[part]
    asked = intake.Asked(client.practice, request.user, today_for(client), client)
    status = 200
    if request.method != "POST":
        forms = step.forms(asked)
    elif request.POST.get("go") == "rows":
        forms = step.wider(asked, request.POST)
    else:
        forms = step.forms(asked, request.POST)
        if step.holds(forms):
            entry = step.save(asked, forms)
            if entry is not None:
                messages.success(request, _("Saved: %s.") % step.title, extra_tags=undo_tag(entry))
            return redirect("client", client.public_id)
        status = 422
    context = {
        **client_head(own_client(request, public_id), "client", request.user),
        **forms,
        "problems": problems(forms.values()),
        "step": step,
        **_lists(step, asked),
    }
    return render(request, "clients/client_change.html", context, status=status)


@coach_required
@require_POST
def client_status(request: CoachRequest, public_id: str) -> HttpResponse:
    """Enquiry or active; whoever is paused or has left comes back first."""
    client = own_client(request, public_id)
    if client.status not in StatusForm.SIMPLE:
        raise Http404
    form = StatusForm(request.POST, today=today_for(client))
    if not form.is_valid():
        context = {**client_head(client, "client", request.user), "status_form": form}
        return render(request, "clients/client_status.html", context, status=422)
    entry = people.change_client(client, request.user, form.cleaned_data, act="client.status")
    if entry is not None:
        words = {"name": client.name, "status": client.get_status_display()}
        messages.success(request, _("%(name)s: %(status)s.") % words, extra_tags=undo_tag(entry))
    return redirect("client", client.public_id)


urlpatterns = [
    path("clients/", client_list, name="clients"),
    path("clients/new/", client_new, name="client-new"),
    path("clients/<uuid:public_id>/", profile, name="client"),
    path("clients/<uuid:public_id>/intake/<slug:step>/", client_intake, name="client-intake"),
    path("clients/<uuid:public_id>/change/<slug:part>/", client_change, name="client-change"),
    path("clients/<uuid:public_id>/status/", client_status, name="client-status"),
]
