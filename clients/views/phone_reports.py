"""What a client reports beside sets: pain, how it went, bodyweight. Each answer says what follows."""

import json
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_http_methods, require_POST

from clients import receiving
from clients.access import ClientRequest, client_required
from clients.labels import BODY_PARTS
from clients.models import PainReport
from clients.phone import labels, page
from clients.phone.forms import BodyweightForm, NoteForm, PainForm, when
from clients.phone.set_forms import new_key
from clients.reads.phone import Sheet
from clients.services.logs import reviewed_later
from clients.views.phone import sheet_or_404, wants_json
from programs.engine import cautions
from programs.models import Exercise

URGENT = {cautions.EMERGENCY: labels.EMERGENCY, cautions.SAME_DAY: labels.SAME_DAY}


@client_required
@require_http_methods(["GET", "POST"])
@ensure_csrf_cookie
def report_pain(request: ClientRequest, public_id: Any) -> HttpResponse:
    """The form, and with POST what follows from it. The same report twice is one."""
    sheet = sheet_or_404(request, public_id)
    form = PainForm(request.POST) if request.method == "POST" else PainForm(initial=_fresh(request))
    if request.method == "POST":
        if form.is_valid():
            received = _take(request, sheet, form)
            reviewed_later(request.client.pk)
            if wants_json(request):
                return JsonResponse(_answer_json(received))
            return redirect("pain-answer", public_id, received.report.public_id)
        if wants_json(request):
            return JsonResponse({"errors": {name: list(text) for name, text in form.errors.items()}}, status=422)
    number = form["line"].value()
    line = next((one for one in sheet.exercise_lines if str(one["number"]) == str(number)), None)
    context = {
        **page.frame(sheet),
        "form": form,
        "line": line,
        "scores": [{"value": value, "words": words} for value, words in labels.PAIN.items()],
        "chosen": str(form["score"].value() if form["score"].value() is not None else ""),
        "parts": _parts(),
        "part": form["body_part"].value() or "",
        "answers": [
            {"action": action, "title": title, "text": text} for action, (title, text) in labels.ACTIONS.items()
        ],
        "stop_at_once": labels.STOP_AT_ONCE,
        "no_diagnosis": labels.NO_DIAGNOSIS,
    }
    return render(request, "clients/phone/pain.html", context, status=422 if form.is_bound else 200)


def _fresh(request: HttpRequest) -> dict[str, Any]:
    line = request.GET.get("line", "")
    return {"key": new_key(), "line": line if line.isdecimal() else None, "side": "both"}


def _parts() -> list[dict[str, str]]:
    """The places to choose from, each with what it pauses, so that a phone without signal pauses the same."""
    found = []
    for code, words in BODY_PARTS.items():
        affected = cautions.affected(code)
        pauses = {
            "joints": affected.joints,
            "patterns": affected.patterns,
            "regions": affected.regions,
            "everything": affected.everything,
        }
        found.append({"code": code, "words": str(words), "pauses": json.dumps(pauses)})
    return found


def _take(request: ClientRequest, sheet: Sheet, form: PainForm) -> Any:
    cleaned = form.cleaned_data
    line = next((one for one in sheet.exercise_lines if one["number"] == cleaned["line"]), None)
    exercise = (
        Exercise.objects.for_practice(request.client.practice).filter(public_id=line["exercise"]["id"]).first()
        if line
        else None
    )
    _at, felt_on = when(request.client, cleaned["at"], None)
    return receiving.take_pain(
        request.client,
        key=cleaned["key"],
        score=cleaned["score"],
        body_part=cleaned["body_part"],
        side=cleaned["side"],
        felt_on=felt_on,
        alarms=tuple(cleaned["alarms"]),
        session=sheet.session,
        exercise=exercise,
        note=cleaned["note"],
    )


def _answer(report: PainReport) -> dict[str, Any]:
    """What the client is told for a report: by its band, and by words that must be acted on at once."""
    title, text = labels.ACTIONS[report.action]
    plain = [flag for flag in cautions.red_flags(report.note) if not flag.denied]
    urgent = URGENT[plain[0].urgency] if plain else None
    whole = report.action in ("freeze", "stop") and bool(report.affected.get("everything"))
    return {"title": title, "text": text, "urgent": urgent, "whole": labels.WHOLE_STOP if whole else ""}


def _answer_json(received: Any) -> dict[str, Any]:
    answer = _answer(received.report)
    urgent = answer["urgent"]
    return {
        "action": received.report.action,
        "title": str(answer["title"]),
        "text": " ".join(part for part in (str(answer["whole"]), str(answer["text"])) if part),
        "urgent": [str(words) for words in urgent] if urgent else [],
        "at": page.stamp(),
    }


@client_required
@require_http_methods(["GET"])
def pain_answer(request: ClientRequest, public_id: Any, report_id: Any) -> HttpResponse:
    sheet = sheet_or_404(request, public_id)
    report = get_object_or_404(PainReport, client=request.client, session=sheet.session, public_id=report_id)
    held = [line["exercise"]["name"] for line in sheet.exercise_lines if sheet.held(line)]
    context = {**page.frame(sheet), **_answer(report), "held": held, "no_diagnosis": labels.NO_DIAGNOSIS}
    return render(request, "clients/phone/pain_answer.html", context)


@client_required
@require_POST
def say(request: ClientRequest, public_id: Any) -> HttpResponse:
    """Sleep, energy, effort, a note, a tick of a free line: whichever came."""
    sheet = sheet_or_404(request, public_id)
    form = NoteForm(request.POST)
    if not form.is_valid():
        if wants_json(request):
            return JsonResponse({"errors": {name: list(text) for name, text in form.errors.items()}}, status=422)
        context = {**page.overview(sheet, ""), "problem": " ".join(map(str, next(iter(form.errors.values()))))}
        return render(request, "clients/phone/sheet.html", context, status=422)
    cleaned = form.cleaned_data
    line = next((one for one in sheet.lines if one["number"] == cleaned["about"]), None)
    about = line["exercise"]["name"] if line and not line["free"] else ""
    at, _day = when(request.client, cleaned["at"], None)
    received = receiving.take_note(
        sheet.session,
        sleep=cleaned["sleep"],
        energy=cleaned["energy"],
        effort=cleaned["effort"],
        text=cleaned["text"],
        about=about,
        tick=cleaned["tick"],
        ticked=cleaned["ticked"],
        at=at,
    )
    urgent = URGENT.get(received.urgency)
    if wants_json(request):
        return JsonResponse({"urgent": [str(words) for words in urgent] if urgent else [], "at": page.stamp()})
    if urgent:
        return render(request, "clients/phone/care.html", {**page.frame(sheet), "urgent": urgent})
    return redirect(_back_to(sheet, cleaned))


def _back_to(sheet: Sheet, cleaned: dict[str, Any]) -> str:
    public_id = sheet.version.public_id
    number = cleaned["about"] or cleaned["tick"]
    if number and any(line["number"] == number for line in sheet.lines):
        return reverse("sheet-line", args=[public_id, number])
    before = cleaned["sleep"] is not None or cleaned["energy"] is not None
    return reverse("sheet", args=[public_id], fragment="before" if before else "after")


@client_required
@require_POST
def say_bodyweight(request: ClientRequest, public_id: Any) -> HttpResponse:
    sheet = sheet_or_404(request, public_id)
    form = BodyweightForm(request.POST, unit=request.client.unit)
    if not form.is_valid():
        if wants_json(request):
            return JsonResponse({"errors": {name: list(text) for name, text in form.errors.items()}}, status=422)
        problem = " ".join(map(str, form.errors.get("weight", [_("Type your bodyweight.")])))
        context = {**page.overview(sheet, ""), "problem": problem, "typed": request.POST.get("weight", "")}
        return render(request, "clients/phone/sheet.html", context, status=422)
    _at, on = when(request.client, form.cleaned_data["at"], None)
    receiving.take_bodyweight(request.client, form.cleaned_data["weight"], request.client.unit, on)
    if wants_json(request):
        return JsonResponse({"at": page.stamp()})
    return redirect(reverse("sheet", args=[public_id], fragment="before"))


urlpatterns = [
    path("sheet/<uuid:public_id>/pain/", report_pain, name="report-pain"),
    path("sheet/<uuid:public_id>/pain/<uuid:report_id>/", pain_answer, name="pain-answer"),
    path("sheet/<uuid:public_id>/say/", say, name="say"),
    path("sheet/<uuid:public_id>/bodyweight/", say_bodyweight, name="say-bodyweight"),
]
