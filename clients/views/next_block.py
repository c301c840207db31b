"""The next block from this one: what goes along, then a draft to look at on the board."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.views.decorators.http import require_http_methods

from clients.clock import today_for
from clients.forms.compose import usual_start
from clients.forms.next_block import NextBlockForm
from clients.models import Draft
from clients.reads.next_block import as_assigned, carried_along
from clients.reads.people import client_head
from clients.services.next_block import next_from
from clients.views.common import own_client
from coachdesk.practice.access import CoachRequest, coach_required
from programs.engine.compose.rotation import KEEP, WEEKS_MAIN, WEEKS_OTHERS


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def client_next(request: CoachRequest, public_id: str) -> HttpResponse:
    """The newest block once more: kept or rotated, with the coach's own slots, pins, course and deloads."""
    client = own_client(request, public_id)
    block = client.blocks.select_related("outline", "place").order_by("-number").first()
    if block is None:
        return redirect("compose-start", client.public_id)
    block.client = client
    starts_on = usual_start(today_for(client), client.practice.week_start, block.last_day)
    planned = as_assigned(block)
    initial = {
        "way": KEEP,
        "starts_on": starts_on,
        "weeks": planned.weeks,
        "deload_weeks": ", ".join(map(str, planned.deload_weeks)),
    }
    form = NextBlockForm(request.POST or None, block=block, initial=initial)
    if request.method == "POST" and form.is_valid():
        draft = next_from(block, request.user, **form.cleaned_data)
        return redirect("draft", draft.public_id)
    context: dict[str, Any] = {
        **client_head(client, "client-block", request.user),
        "from_block": block,
        "planned": planned,
        "form": form,
        "along": carried_along(block, starts_on),
        "open_draft": client.drafts.filter(state=Draft.State.OPEN).first(),
        "weeks_main": WEEKS_MAIN,
        "weeks_others": WEEKS_OTHERS,
    }
    return render(request, "clients/blocks/next.html", context, status=422 if form.is_bound else 200)


urlpatterns = [path("clients/<uuid:public_id>/block/next/", client_next, name="client-next")]
