"""Health questions and what follows, clearances, conditions, pain, notes: for coaches with the permission alone.

Every look leaves a row in the client's trail, also a GET: that is what the trail is for.
"""

from typing import Any

from django.contrib import messages
from django.db import models
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients import intake, labels
from clients.clock import today_for
from clients.forms.health import (
    ClearanceForm,
    ConditionForm,
    HealthNoteForm,
    IllnessForm,
    PainAnswerForm,
    QuestionsForm,
)
from clients.models import Clearance, Client, Condition, HealthAnswers, HealthNote, Illness, PainReport
from clients.reads.illness import illness_words
from clients.reads.people import clearance_words, client_head
from clients.receiving import answer_pain
from clients.services import health
from clients.services.logs import reviewed_later
from clients.services.people import about
from clients.views.common import own_client, undo_tag
from coachdesk.practice.access import CoachRequest, health_required
from coachdesk.practice.models import JournalEntry
from programs.engine import cautions
from programs.labels import SIDES

TRAIL_SHOWN = 20
TRAIL = {
    "overview": gettext_lazy("health page"),
    "questions": gettext_lazy("health questions"),
    "clearance": gettext_lazy("clearance"),
    "condition": gettext_lazy("conditions"),
    "illness": gettext_lazy("illness"),
    "export": gettext_lazy("export"),
}
REMOVABLE: dict[str, type[models.Model]] = {
    "clearance": Clearance,
    "condition": Condition,
    "illness": Illness,
    "note": HealthNote,
}
PART_OF_THE_ADDRESS = {"illness": "illnesses"}  # else the name with an s


@health_required
@require_safe
def client_health(request: CoachRequest, public_id: str) -> HttpResponse:
    """Everything about one client's health: what was said, what follows, what is open."""
    client = own_client(request, public_id)
    health.note_read(client, request.user, "overview")
    return _overview(request, client)


def _overview(
    request: CoachRequest,
    client: Client,
    *,
    note_form: HealthNoteForm | None = None,
    pain: dict[str, Any] | None = None,
) -> HttpResponse:
    today = today_for(client)
    head = client_head(client, "client-health", request.user)
    standing = head["standing"]
    answers = list(HealthAnswers.objects.for_client(client).select_related("recorded_by")[:5])
    newest = answers[0] if answers else None
    reports = list(client.pain_reports.select_related("exercise", "answered_by")[:30])
    context = {
        **head,
        "today": today,
        "newest": newest,
        "earlier": answers[1:],
        "result": labels.RESULTS[newest.result] if newest else "",
        "clearance": clearance_words(standing, sees_health=True),
        "holds": [labels.health_sentence(hold) for hold in standing.holds],
        "follows": _follows(client, newest, today),
        "effort": [labels.health_sentence(reason) for reason in standing.effort.reasons],
        "advice": [labels.ADVICE[code] for code in standing.effort.advice],
        "clearances": list(client.clearances.select_related("recorded_by")),
        "conditions": [
            {"row": row, "words": labels.CONDITIONS.get(row.code, row.code)} for row in client.conditions.order_by("pk")
        ],
        "illnesses": [{"row": row, "follows": illness_words(row, today)} for row in client.illnesses.all()],
        "reports": [_report(row, pain) for row in reports],
        "notes": list(client.health_notes.select_related("written_by")),
        "note_form": note_form or HealthNoteForm(today=today),
        "trail": [
            {"at": row.at, "who": row.coach.name, "what": TRAIL.get(row.what, row.what)}
            for row in client.health_reads.select_related("coach")[:TRAIL_SHOWN]
        ],
        "defers": labels.DEFERS,
    }
    wrong = note_form is not None or pain is not None
    return render(request, "clients/health.html", context, status=422 if wrong else 200)


def _follows(client: Client, newest: HealthAnswers | None, today: Any) -> list[str]:
    """The reasons of the answers, as they count today."""
    if newest is None:
        return []
    cleared = next((row for row in client.clearances.all() if row.given_on <= today <= row.expires_on), None)
    found = cautions.judge_answers(
        newest.answers,
        answered_on=newest.answered_on,
        today=today,
        cleared_on=cleared.given_on if cleared else None,
    )
    return [labels.health_sentence(reason) for reason in found.reasons]


def _report(row: PainReport, pain: dict[str, Any] | None) -> dict[str, Any]:
    part = labels.BODY_PARTS.get(row.body_part, row.body_part)
    side = "" if row.side == "both" else SIDES[row.side]
    is_open = row.state == PainReport.State.OPEN
    form = None
    if is_open:
        form = pain["form"] if pain and pain["report"] == row else PainAnswerForm(prefix=f"pain-{row.pk}")
    return {
        "row": row,
        "where": f"{side} {part}".strip(),
        "alarms": ", ".join(str(labels.ALARMS.get(code, code)) for code in row.alarms),
        "action": labels.PAIN_ACTIONS.get(row.action, row.action),
        "form": form,
    }


@health_required
@require_http_methods(["GET", "HEAD", "POST"])
def questions(request: CoachRequest, public_id: str) -> HttpResponse:
    """All questions on one page, answered yes or no or left open; a new round, the old ones stay."""
    client = own_client(request, public_id)
    today = today_for(client)
    if request.method == "POST":
        form = QuestionsForm(request.POST, today=today)
        if form.is_valid():
            if form.anything_said:
                health.record_answers(
                    client,
                    request.user,
                    form.answers,
                    details=form.cleaned_data["details"],
                    answered_on=form.cleaned_data["answered_on"],
                )
                messages.success(request, _("Answers recorded."))
            return redirect("client-health", client.public_id)
    else:
        health.note_read(client, request.user, "questions")
        newest = HealthAnswers.objects.for_client(client).first()
        form = QuestionsForm(initial=intake.answered(newest, today), today=today)
    context = {**client_head(client, "client-health", request.user), "form": form, "defers": labels.DEFERS}
    return render(request, "clients/health_questions.html", context, status=422 if form.is_bound else 200)


@health_required
@require_http_methods(["GET", "HEAD", "POST"])
def clearance_new(request: CoachRequest, public_id: str) -> HttpResponse:
    client = own_client(request, public_id)
    form = ClearanceForm(request.POST or None, today=today_for(client))
    if request.method != "POST":
        health.note_read(client, request.user, "clearance")
    elif form.is_valid():
        Clearance.objects.create(client=client, recorded_by=request.user, **form.cleaned_data)
        messages.success(request, _("Clearance recorded."))
        return redirect("client-health", client.public_id)
    return _form_page(request, client, form, _("Record a clearance"), _("Record clearance"))


@health_required
@require_http_methods(["GET", "HEAD", "POST"])
def condition_new(request: CoachRequest, public_id: str) -> HttpResponse:
    client = own_client(request, public_id)
    form = ConditionForm(request.POST or None)
    if request.method != "POST":
        health.note_read(client, request.user, "condition")
    elif form.is_valid():
        Condition.objects.create(client=client, **form.cleaned_data)
        messages.success(request, _("Condition added."))
        return redirect("client-health", client.public_id)
    return _form_page(request, client, form, _("Add a condition"), _("Add condition"))


@health_required
@require_http_methods(["GET", "HEAD", "POST"])
def illness_new(request: CoachRequest, public_id: str) -> HttpResponse:
    """An illness from a day on: what comes next waits for it or goes easy."""
    client = own_client(request, public_id)
    form = IllnessForm(request.POST or None, today=today_for(client))
    if request.method != "POST":
        health.note_read(client, request.user, "illness")
    elif form.is_valid():
        _row, withdrawn = health.record_illness(client, request.user, form.cleaned_data)
        messages.success(request, _("Illness noted. What comes next is reckoned with it."))
        _tell_withdrawn(request, withdrawn)
        return redirect("client-health", client.public_id)
    return _form_page(request, client, form, _("Note an illness"), _("Note illness"))


@health_required
@require_http_methods(["GET", "HEAD", "POST"])
def illness(request: CoachRequest, public_id: str, row_id: str) -> HttpResponse:
    """How it went on: well again, cleared by a professional, or noted otherwise than it was."""
    client = own_client(request, public_id)
    row = get_object_or_404(Illness, client=client, public_id=row_id)
    initial = {name: getattr(row, name) for name in IllnessForm.base_fields}
    form = IllnessForm(request.POST or None, initial=initial, today=today_for(client))
    if request.method != "POST":
        health.note_read(client, request.user, "illness")
    elif form.is_valid():
        withdrawn = health.change_illness(row, form.cleaned_data)
        messages.success(request, _("Illness changed. What comes next is reckoned with it."))
        _tell_withdrawn(request, withdrawn)
        return redirect("client-health", client.public_id)
    return _form_page(request, client, form, _("How the illness went on"), _("Save illness"))


def _tell_withdrawn(request: CoachRequest, count: int) -> None:
    if count:
        text = ngettext(
            "%d sheet that was out is taken back. Send it anew once training goes on.",
            "%d sheets that were out are taken back. Send them anew once training goes on.",
            count,
        )
        messages.info(request, text % count)


def _form_page(request: CoachRequest, client: Client, form: Any, title: str, verb: str) -> HttpResponse:
    context = {
        **client_head(client, "client-health", request.user),
        "form": form,
        "form_title": title,
        "verb": verb,
        "defers": labels.DEFERS,
    }
    return render(request, "clients/health_form.html", context, status=422 if form.is_bound else 200)


@health_required
@require_POST
def pain_answer(request: CoachRequest, public_id: str, report_id: str) -> HttpResponse:
    """The coach's decision; what was paused goes on."""
    client = own_client(request, public_id)
    report = get_object_or_404(
        PainReport.objects.select_related("client__practice"), client=client, public_id=report_id
    )
    if report.state != PainReport.State.OPEN:
        messages.info(request, _("This report was answered already."))
        return redirect("client-health", client.public_id)
    form = PainAnswerForm(request.POST, prefix=f"pain-{report.pk}")
    if not form.is_valid():
        return _overview(request, client, pain={"report": report, "form": form})
    answer_pain(report, request.user, form.cleaned_data["answer"])
    reviewed_later(client.pk)
    entry = JournalEntry.objects.for_practice(client.practice).filter(act="pain.answer", about=about(client)).first()
    messages.success(request, _("Answered. What was paused goes on."), extra_tags=undo_tag(entry))
    return redirect("client-health", client.public_id)


@health_required
@require_POST
def health_note(request: CoachRequest, public_id: str) -> HttpResponse:
    client = own_client(request, public_id)
    form = HealthNoteForm(request.POST, today=today_for(client))
    if not form.is_valid():
        return _overview(request, client, note_form=form)
    HealthNote.objects.create(client=client, written_by=request.user, **form.cleaned_data)
    messages.success(request, _("Note kept."))
    return redirect("client-health", client.public_id)


@health_required
@require_http_methods(["GET", "HEAD", "POST"])
def health_remove(request: CoachRequest, public_id: str, sort: str, row_id: str) -> HttpResponse:
    """Takes a clearance, condition or note away for good: asks first, as it can't be undone."""
    client = own_client(request, public_id)
    row = get_object_or_404(REMOVABLE[sort]._default_manager, client=client, public_id=row_id)
    if request.method == "POST":
        row.delete()
        if sort == "illness":
            reviewed_later(client.pk)
        messages.success(request, _("Removed for good."))
        return redirect("client-health", client.public_id)
    health.note_read(client, request.user, sort if sort in TRAIL else "overview")
    words = {
        "clearance": _("This clearance will be gone. Without one the client may no longer be cleared."),
        "condition": _("This condition will be gone, and so will the limits on effort that come with it."),
        "illness": _("This illness will be gone, and training is reckoned as if it had not been."),
        "note": _("This note will be gone."),
    }
    context = {**client_head(client, "client-health", request.user), "row": row, "sort": sort, "warning": words[sort]}
    return render(request, "clients/health_remove.html", context)


urlpatterns = [
    path("clients/<uuid:public_id>/health/", client_health, name="client-health"),
    path("clients/<uuid:public_id>/health/questions/", questions, name="health-questions"),
    path("clients/<uuid:public_id>/health/clearance/", clearance_new, name="clearance-new"),
    path("clients/<uuid:public_id>/health/condition/", condition_new, name="condition-new"),
    path("clients/<uuid:public_id>/health/pain/<uuid:report_id>/answer/", pain_answer, name="client-pain-answer"),
    path("clients/<uuid:public_id>/health/note/", health_note, name="health-note"),
    path("clients/<uuid:public_id>/health/illness/", illness_new, name="illness-new"),
    path("clients/<uuid:public_id>/health/illnesses/<uuid:row_id>/", illness, name="illness"),
    *(
        path(
            f"clients/<uuid:public_id>/health/{PART_OF_THE_ADDRESS.get(sort, f'{sort}s')}/<uuid:row_id>/remove/",
            health_remove,
            {"sort": sort},
            name=f"{sort}-remove",
        )
        for sort in REMOVABLE
    ),
]
