"""Progress: what was planned and done, where the lifts go, and what that suggests."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe

from clients import progress_habits, progress_page
from clients.desk_rows import drawn_icon, place_words, proposal_row
from clients.models import PainReport
from clients.reads.people import client_head
from clients.reads.review import WEEKS, Review
from clients.sheets import wording
from clients.since_words import since_rows
from clients.views.common import own_client
from coachdesk.practice.access import CoachRequest, coach_required
from programs.drawings.tally import pain_bars

PAIN_SHOWN, BARS_SHOWN, PAIN_FROM = 5, 12, 3


@coach_required
@require_safe
def client_progress(request: CoachRequest, public_id: str) -> HttpResponse:
    """The page; ``lift`` chooses what is drawn, ``table`` shows it in figures too."""
    client = own_client(request, public_id)
    review = Review(client)
    lift = progress_page.leading(review, request.GET.get("lift", ""))
    sentence = progress_page.verdict_sentence(lift, review.unit) if lift is not None else ""
    head = client_head(client, "client-progress", request.user)
    may_check = progress_habits.may_check(head["standing"])
    context = {
        **head,
        "unit": review.unit,
        "weeks": WEEKS,
        "lift": lift,
        "sentence": sentence,
        "chart": progress_page.chart(review, lift, sentence) if lift is not None else None,
        "small_chart": progress_page.chart(review, lift, sentence, progress_page.SMALL) if lift is not None else None,
        "on_body": progress_page.on_body_words(review, lift) if lift is not None else "",
        "legend": progress_page.chart_legend(),
        "points": progress_page.table(lift, review.unit) if lift is not None and "table" in request.GET else [],
        "as_table": "table" in request.GET,
        "lifts": progress_page.lift_rows(review, lift),
        "dose": progress_page.dose_table(review) if review.history.by_exercise or review.planned_sets else None,
        "attendance": progress_page.attendance(review),
        "effort": progress_habits.effort(review, may_check=may_check),
        "sides": progress_habits.side_rows(review),
        "habits": progress_habits.logging_habits(review, may_check=may_check),
        "bodyweight": progress_page.bodyweight(review),
        "pain": _pain(client) if request.user.sees_health else None,
        "proposals": [proposal_row(row) for row in review.proposals if not row.plain],
        "plain": [proposal_row(row) for row in review.proposals if row.plain],
        "since": since_rows(client),
        "because_icon": drawn_icon("because", 13),
        "arrow_icon": drawn_icon("arrow", 14),
        "here": request.get_full_path(),
    }
    return render(request, "clients/progress.html", context)


def _pain(client: Any) -> dict[str, Any]:
    """The last reports in words, and their course. One query."""
    reports = list(
        PainReport.objects.filter(client=client).select_related("exercise").order_by("-felt_on", "-pk")[:BARS_SHOWN]
    )
    scores = [row.score for row in reversed(reports)]
    drawing = ""
    if len(scores) > 1:
        title = ", ".join(f"{wording.day(row.felt_on, 'j M')} {row.score}" for row in reversed(reports))
        drawing = progress_page.drawn(
            pain_bars(
                scores,
                title=title,
                format_number=lambda value: f"{value:g}",
                threshold=PAIN_FROM,
                width=22 * len(scores),
            )
        )
    return {
        "rows": [
            {
                "on": row.felt_on,
                "score": row.score,
                "place": place_words(row),
                "exercise": row.exercise.name if row.exercise else "",
                "open": row.state == PainReport.State.OPEN,
                "answer": row.answer,
            }
            for row in reports[:PAIN_SHOWN]
        ],
        "drawing": drawing,
    }


urlpatterns = [path("clients/<uuid:public_id>/progress/", client_progress, name="client-progress")]
