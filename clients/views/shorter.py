"""A session for which there is less time than planned: shown first, then cut."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods

from clients.models import TrainingSession
from clients.reads.lengths import length_of
from clients.reads.people import client_head
from clients.services import shorter
from clients.views.common import undo_tag
from coachdesk.practice.access import CoachRequest, coach_required

LEAST, MOST = 5, 240


class MinutesForm(forms.Form):
    """How many minutes there are."""

    minutes = forms.IntegerField(
        label=gettext_lazy("Minutes there are"),
        min_value=LEAST,
        max_value=MOST,
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value"), gettext_lazy("Minutes are a whole number, 5 to 240.")
        ),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["minutes"].width = "short"  # type: ignore[attr-defined]


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def session_shorten(request: CoachRequest, public_id: str) -> HttpResponse:
    """?minutes= shows what would go; posted, it goes."""
    rows = TrainingSession.objects.for_practice(request.user.practice).with_lines()
    session = get_object_or_404(rows, public_id=public_id)
    form = MinutesForm(request.POST if request.method == "POST" else request.GET or None)
    found: Sequence[shorter.Cut] | None = None
    if form.is_valid():
        minutes = form.cleaned_data["minutes"]
        try:
            if request.method == "POST":
                return _cut(request, session, minutes)
            found = shorter.cuts(session, minutes)
        except shorter.Otherwise as now:
            messages.error(request, _("Something changed in between. This is what would be done now."))
            found = now.cuts
        except shorter.CannotShorten:
            over = session.state != TrainingSession.State.PLANNED
            said = _("The session is over; it stays as it was.") if over else _("Not even one set fits into that.")
            form.add_error("minutes", said)
    client = session.block.client
    context = {
        **client_head(client, "client-block", request.user),
        "session": session,
        "length": length_of(session),
        "form": form,
        "asked": found is not None,
        "digest": shorter.digest_of(found or ()),
        "cuts": [
            {"name": cut.line.exercise.name if cut.line.exercise else "", "before": cut.before, "after": cut.after}
            for cut in found or ()
        ],
        "minutes": form.cleaned_data.get("minutes") if form.is_bound and form.is_valid() else None,
    }
    return render(request, "clients/blocks/shorter.html", context, status=422 if form.errors else 200)


def _cut(request: CoachRequest, session: TrainingSession, minutes: int) -> HttpResponse:
    gone, entry = shorter.shorten(session, minutes, request.user, request.POST.get("digest", ""))
    words = _cut_words(session, minutes) if gone else _("All of it fits already.")
    messages.success(request, words, extra_tags=undo_tag(entry))
    return redirect("session", session.public_id)


def _cut_words(session: TrainingSession, minutes: int) -> str:
    said = ngettext("%(session)s cut to %(minutes)d minute.", "%(session)s cut to %(minutes)d minutes.", minutes)
    return said % {"session": session.name, "minutes": minutes}


urlpatterns = [path("sessions/<uuid:public_id>/shorten/", session_shorten, name="session-shorten")]
