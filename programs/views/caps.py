"""How far loads may change at once in the practice: read by every coach, changed by the owner."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from coachdesk.practice.access import CoachRequest, coach_required, owner_required
from coachdesk.practice.toasts import undoable
from programs.cap_forms import CapsForm
from programs.capping import KNOWN, LEVER_WORDS, PERCENT, Known
from programs.engine.progress import LEVERS, Caps
from programs.reads import caps_of
from programs.reasons.words import number
from programs.services.caps import save_caps


@dataclass(frozen=True, slots=True)
class Row:
    """One bound on the page; ``field`` only for the owner."""

    known: Known
    field: Any
    value: str
    usual: str
    told: str

    @property
    def own(self) -> bool:
        return self.value != self.usual

    @property
    def within(self) -> str:
        """From where to where the figure may go, per cent."""
        low, high = self.known.bounds
        return _("%(low)s to %(high)s") % {"low": number(low), "high": number(high)}


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def caps(request: CoachRequest) -> HttpResponseBase:
    """The page; a POST saves, or fills in what is usual (back=1)."""
    if request.method == "POST":
        return _changed(request)
    now, levers = caps_of(request.user.practice)
    form = CapsForm(caps=now, levers=levers) if request.user.is_owner else None
    return _page(request, form, now, levers)


@owner_required
def _changed(request: CoachRequest) -> HttpResponse:
    now, levers = caps_of(request.user.practice)
    if "back" in request.POST:
        return _page(request, CapsForm(caps=Caps(), levers=LEVERS), Caps(), LEVERS, filled=True)
    form = CapsForm(request.POST, caps=now, levers=levers)
    if not form.is_valid():
        return _page(request, form, now, levers, status=422)
    entry = save_caps(request.user, form.caps, form.levers)
    undoable(request, _("Saved how far loads may change."), entry)
    return redirect("caps")


def _page(
    request: CoachRequest,
    form: CapsForm | None,
    now: Caps,
    levers: tuple[str, ...],
    *,
    filled: bool = False,
    status: int = 200,
) -> HttpResponse:
    typed = form.typed(now) if form else now
    usual, unit = Caps(), request.user.practice.unit
    rows = [
        Row(
            known,
            form[known.name] if form else None,
            _percent(typed, known.name),
            _percent(usual, known.name),
            known.told(typed, unit),
        )
        for known in KNOWN
    ]
    context = {"rows": rows, "form": form, "filled": filled, "ways": [LEVER_WORDS[code] for code in levers]}
    return render(request, "programs/caps/caps.html", context, status=status)


def _percent(caps: Caps, name: str) -> str:
    return number(round(PERCENT * getattr(caps, name), 1))


urlpatterns = [path("practice/caps/", caps, name="caps")]
