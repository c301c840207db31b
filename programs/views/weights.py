"""What composing weighs in the practice: read by every coach, changed by the owner, tried on a template first."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods
from django_htmx.http import reswap, retarget

from coachdesk.practice.access import CoachRequest, coach_required, owner_required
from coachdesk.practice.toasts import undoable
from programs.engine.compose import Weights
from programs.engine.compose.weights import DEFAULTS
from programs.models import Outline
from programs.reads import library_of, weights_of
from programs.services.weights import save_weights
from programs.weighing import GROUPS, Group, Known
from programs.weight_effect import Effect, effect_of
from programs.weight_forms import EffectForm, WeightsForm, group_called, with_usual


@dataclass(frozen=True, slots=True)
class Row:
    """One weight on the page; ``field`` only for the owner."""

    known: Known
    field: Any
    value: int
    usual: int
    told: str

    @property
    def own(self) -> bool:
        return self.value != self.usual


@dataclass(frozen=True, slots=True)
class Section:
    group: Group
    rows: list[Row]

    @property
    def own(self) -> int:
        """How many are the practice's own."""
        return sum(row.own for row in self.rows)


@coach_required
@require_http_methods(["GET", "POST"])
def weights(request: CoachRequest) -> HttpResponseBase:
    """The page; a POST saves, fills a group with what is usual (back=dose) or tries the weights (effect=1)."""
    if request.method == "POST":
        return _changed(request)
    now = weights_of(request.user.practice)
    form = WeightsForm(weights=now) if request.user.is_owner else None
    return _page(request, form, now)


@owner_required
def _changed(request: CoachRequest) -> HttpResponse:
    now = weights_of(request.user.practice)
    back = group_called(request.POST.get("back", ""))
    if back is not None:
        form = WeightsForm(with_usual(request.POST.dict(), back), weights=now)
        form.is_valid()
        return _page(request, form, now, filled=back)
    form = WeightsForm(request.POST, weights=now)
    if "effect" in request.POST:
        trial = EffectForm(request.POST, practice=request.user.practice)
        fine = form.is_valid() and trial.is_valid()
        return _page(request, form, now, trial, _effect(request, form, trial, now) if fine else None)
    if not form.is_valid():
        return _page(request, form, now)
    entry = save_weights(request.user, form.weights)
    undoable(request, _("Weights saved. Weeks composed from now on go by them."), entry)
    return redirect("weights")


def _effect(request: CoachRequest, form: WeightsForm, trial: EffectForm, now: Weights) -> Effect:
    outline = Outline.objects.with_week().get(pk=trial.cleaned_data["template"].pk)
    return effect_of(outline, trial.cleaned_data["level"], library_of(request.user.practice), now, form.weights)


def _page(
    request: CoachRequest,
    form: WeightsForm | None,
    now: Weights,
    trial: EffectForm | None = None,
    effect: Effect | None = None,
    filled: Group | None = None,
) -> HttpResponse:
    typed = form.typed(now) if form else now
    sections = [
        Section(
            group,
            [
                Row(
                    known,
                    form[known.name] if form else None,
                    getattr(typed, known.name),
                    DEFAULTS[known.name],
                    known.told(typed),
                )
                for known in group.weights
            ],
        )
        for group in GROUPS
    ]
    wrong = bool(form and form.errors) or bool(trial and trial.errors)
    context = {
        "sections": sections,
        "form": form,
        "trial": trial or EffectForm(practice=request.user.practice),
        "effect": effect,
        "filled": filled,
        "unsaved": typed != now,
        "stands": _stands(now),
    }
    status = 422 if wrong else 200
    if not request.htmx:
        return render(request, "programs/weights/weights.html", context, status=status)
    if effect is not None:
        return render(request, "programs/weights/_effect_result.html", {**context, "oob": True})
    # Whatever part was asked for: errors stand beside the fields.
    shown = render(request, "programs/weights/_form.html", context, status=status)
    return reswap(retarget(shown, "#weights"), "outerHTML")


def _stands(now: Weights) -> str:
    """How many weights are the practice's own."""
    count = len(now.own)
    if not count:
        return _("All of them stand at what is usual.")
    text = ngettext("%(n)d of %(all)d is your own.", "%(n)d of %(all)d are your own.", count)
    return text % {"n": count, "all": len(DEFAULTS)}


urlpatterns = [path("practice/weights/", weights, name="weights")]
