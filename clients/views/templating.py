"""A client's block made into a template."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext
from django.views.decorators.http import require_http_methods

from clients.forms.templating import TemplateFromBlockForm
from clients.models import Block
from clients.services.templating import DayShape, Shape, SlotShape, make_template, shape_of
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.toasts import undoable
from programs import labels
from programs.outline_list import span
from programs.reasons.words import LIFTERS, listing, number
from programs.telling import clock


@dataclass(frozen=True, slots=True)
class SlotRow:
    """A slot as the page shows it: its dose in words, its first choice on each occurrence and how many follow."""

    title: str
    second: str
    cells: list[tuple[str, str, str, int]]
    left_out: str


@dataclass(frozen=True, slots=True)
class DayRows:
    name: str
    letters: list[str]
    rows: list[SlotRow]


@coach_required
@require_http_methods(["GET", "POST"])
def block_template(request: CoachRequest, public_id: str) -> HttpResponse:
    """Shows the template that the block would make, asks for its name, and makes it."""
    blocks = Block.objects.for_practice(request.user.practice).select_related("client", "outline")
    block = get_object_or_404(blocks, public_id=public_id)
    form = TemplateFromBlockForm(request.POST or None, block=block)
    shown = f"{reverse('client-block', args=[block.client.public_id])}?block={block.number}"
    if request.method == "POST" and form.is_valid():
        outline, entry = make_template(block, request.user, **form.cleaned_data)
        undoable(request, _("%(name)s made.") % {"name": outline.name}, entry, onward=shown)
        return redirect("template", outline.public_id)
    shape = shape_of(block)
    context = {
        "block_shown": block,
        "client": block.client,
        "back": shown,
        "form": form,
        "shape": shape,
        "days": [_day(day, block.client.experience) for day in shape.days],
        "order": _order(shape),
        "dropped": listing(shape.dropped, pgettext("in a list", "and")) if shape.dropped else "",
        "level": LIFTERS[block.client.experience],
    }
    return render(request, "clients/blocks/template.html", context, status=422 if form.is_bound else 200)


def _order(shape: Shape) -> str:
    names = {day.key: day.name for day in shape.days}
    return ", ".join(names[key] for key in shape.order)


def _day(day: DayShape, experience: str) -> DayRows:
    letters = day.letters if len(day.letters) > 1 else [""]
    return DayRows(day.name, letters, [_slot(slot, letters, experience) for slot in day.slots])


def _sets(low: int, high: int) -> str:
    return ngettext("%(sets)s set", "%(sets)s sets", high) % {"sets": span(low, high)}


def _slot(slot: SlotShape, letters: list[str], experience: str) -> SlotRow:
    values = slot.values
    parts = [
        str(labels.ROLES[values["role"]]),
        _sets(*values["sets"][experience]),
        _("RIR %(rir)s") % {"rir": number(values["rir"])},
        _("rest %(rest)s") % {"rest": clock(values["rest_s"])},
    ]
    cells = [
        (letter, span(*reps), ranked[0].name if ranked else "", max(0, len(ranked) - 1))
        for letter, reps, ranked in zip(letters, values["reps"], slot.candidates, strict=True)
    ]
    return SlotRow(
        values["title"],
        " · ".join(parts),
        cells,
        listing(slot.left_out, pgettext("in a list", "and")) if slot.left_out else "",
    )


urlpatterns = [path("blocks/<uuid:public_id>/template/", block_template, name="block-template")]
