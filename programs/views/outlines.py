"""Templates: reusable weeks with their day types and slots, and what they come to before anyone is assigned."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import pgettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.toasts import undoable
from programs import labels
from programs.engine.calendar import WEEK_DAYS
from programs.engine.vocabulary import EXPERIENCES
from programs.forms import OutlineForm
from programs.models import Exercise, Outline, OutlineDay, OutlineLine, OutlineSlot
from programs.models.outlines import OutlineQuerySet
from programs.outline_list import length_words, listing_of, serves_words, span
from programs.outline_uses import Version, versions_of
from programs.preview import LETTERS
from programs.preview_page import Preview, comes_to
from programs.reads import library_of, weights_of
from programs.reasons.words import listing
from programs.services import outline_shelf as shelf
from programs.services import outlines as services
from programs.telling import clock


@dataclass(frozen=True, slots=True)
class Occurrence:
    """A day type's place in the week: A, B, C, with the minutes it takes by experience."""

    letter: str
    minutes: list[tuple[Any, int]]

    @property
    def span(self) -> str:
        """From the least to the most minutes of any experience."""
        taken = [minutes for _experience, minutes in self.minutes]
        return span(min(taken), max(taken))


@dataclass(frozen=True, slots=True)
class Cell:
    """A slot on one occurrence: its rep range and its candidates, the first choice first."""

    letter: str
    reps: str
    candidates: list[Exercise]


@dataclass(frozen=True, slots=True)
class SlotRow:
    """One slot over the occurrences of its day: of each the rep range and the ranked candidates."""

    slot: OutlineSlot
    aims: str
    rest: str
    sets: list[tuple[Any, str]]
    cells: list[Cell]
    bracket: str
    reasons: list[dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Band:
    day: OutlineDay
    occurrences: list[Occurrence]
    rows: list[SlotRow]
    lines: list[OutlineLine]


@coach_required
@require_safe
def outlines(request: CoachRequest) -> HttpResponse:
    """The templates that may be composed from, by days, experience and place; what is archived folded below."""
    context = {
        "listing": listing_of(request.user.practice, request.GET),
        "experiences": [labels.EXPERIENCES[name] for name in EXPERIENCES],
    }
    return render(request, "programs/outlines/outlines.html", context)


@coach_required
@require_safe
def outline(request: CoachRequest, public_id: str) -> HttpResponse:
    """One template: a band a day type, and what it comes to for each experience; ``?composed`` composes for that."""
    rows = Outline.objects.for_practice(request.user.practice).select_related("practice").with_preview()
    shown = get_object_or_404(rows, public_id=public_id)
    if shown.in_work:
        return redirect("template-editor", shown.public_id)
    practice = request.user.practice
    library = weights = None
    if "composed" in request.GET:
        library, weights = library_of(practice), weights_of(practice)
    preview = comes_to(shown, practice.week_start, library, weights)
    versions = versions_of(shown)
    context = {
        "outline": shown,
        "cells": _cells(shown, versions),
        "versions": versions,
        "newest": versions[0] if versions and not versions[0].shown else None,
        "bands": [_band(shown, day, preview) for day in shown.days.all()],
        "preview": preview,
        "preview_ways": True,
    }
    return render(request, "programs/outlines/outline.html", context)


@coach_required
@require_http_methods(["GET", "POST"])
def outline_edit(request: CoachRequest, public_id: str) -> HttpResponse:
    """What the template is called and whom it serves."""
    row = get_object_or_404(Outline.objects.for_practice(request.user.practice), public_id=public_id)
    if row.in_work:
        return redirect("template-editor", row.public_id)
    name = row.name
    form = OutlineForm(request.POST or None, instance=row)
    if request.method == "POST" and form.is_valid():
        entry = services.rename_outline(row, request.user, form.cleaned_data)
        text = _("%(name)s saved.") if entry else _("%(name)s is as it was.")
        undoable(request, text % {"name": form.cleaned_data["name"]}, entry)
        return redirect("template", row.public_id)
    context = {"form": form, "outline": row, "name": name}
    return render(request, "programs/outlines/edit.html", context, status=422 if form.is_bound else 200)


@coach_required
@require_POST
def outline_copy(request: CoachRequest, public_id: str) -> HttpResponse:
    """Makes a copy and asks what to call it."""
    row = get_object_or_404(_saved(request).with_week(), public_id=public_id)
    copied, entry = services.copy_outline(row, request.user)
    text = _("%(name)s made. Give it a name of its own.") % {"name": copied.name}
    undoable(request, text, entry, onward=reverse("template", args=[row.public_id]))
    return redirect("template-edit", copied.public_id)


@coach_required
@require_POST
def outline_archive(request: CoachRequest, public_id: str) -> HttpResponse:
    """Offers the template no more; what came from it stays as it is."""
    row = get_object_or_404(_saved(request), public_id=public_id)
    entry = shelf.archive_outline(row, request.user)
    text = _("%(name)s archived.") if entry else _("%(name)s was archived already.")
    undoable(request, text % {"name": row.name}, entry)
    return redirect("templates")


@coach_required
@require_POST
def outline_restore(request: CoachRequest, public_id: str) -> HttpResponse:
    row = get_object_or_404(_saved(request), public_id=public_id)
    entry = shelf.restore_outline(row, request.user)
    text = _("%(name)s is offered again.") if entry else _("%(name)s was not archived.")
    undoable(request, text % {"name": row.name}, entry)
    return redirect("template", row.public_id)


def _saved(request: CoachRequest) -> OutlineQuerySet:
    """What stands on the shelf: versions, not what is still being worked on."""
    return Outline.objects.for_practice(request.user.practice).saved()


def _cells(outline: Outline, versions: list[Version]) -> list[dict[str, Any]]:
    names = {day.key: day.name for day in outline.days.all()}
    newest = versions[0].number if versions else outline.version
    many = _("%(number)d of %(newest)d") % {"number": outline.version, "newest": newest}
    cells = [
        (_("Template"), outline.name, True),
        (_("Serves"), serves_words(outline), False),
        (_("Days a week") if outline.cycle_days == WEEK_DAYS else _("Sessions"), length_words(outline), False),
        (pgettext("heading", "Order"), ", ".join(names.get(key, key) for key in outline.order), False),
        (_("Version"), many if len(versions) > 1 else str(outline.version), False),
    ]
    return [{"label": label, "value": value, "who": who} for label, value, who in cells]


def _band(outline: Outline, day: OutlineDay, preview: Preview) -> Band:
    times = max(1, outline.order.count(day.key))
    taken = {
        (found.experience, entry.occurrence): round(entry.minutes)
        for found in preview.outlooks
        for entry in found.audit.minutes
        if entry.day == day.key
    }
    occurrences = [
        Occurrence(
            LETTERS[index % len(LETTERS)],
            [(labels.EXPERIENCES[name], taken[name, index]) for name in EXPERIENCES],
        )
        for index in range(times)
    ]
    slots = list(day.slots.all())
    rows = [_slot_row(slots, number, times) for number in range(len(slots))]
    return Band(day, occurrences, rows, list(day.lines.all()))


def _slot_row(slots: list[OutlineSlot], number: int, times: int) -> SlotRow:
    slot = slots[number]
    ranked: dict[int, list[Exercise]] = {}
    for candidate in slot.candidates.all():
        ranked.setdefault(candidate.occurrence, []).append(candidate.exercise)
    # An occurrence beyond the last list starts again with the first, as composing does.
    lists = [ranked[occurrence] for occurrence in sorted(ranked)]
    cells = [
        Cell(
            LETTERS[index % len(LETTERS)],
            span(*slot.reps[index % len(slot.reps)]),
            lists[index % len(lists)] if lists else [],
        )
        for index in range(times)
    ]
    sets = [(labels.EXPERIENCES[name], span(*slot.sets[name])) for name in EXPERIENCES if name in slot.sets]
    reasons = [{"text": slot.reason, "value": "", "facts": [], "source": ""}] if slot.reason else []
    aims = listing(
        [str(labels.REGIONS[code]) for code in (slot.region, *slot.also_regions)], pgettext("in a list", "or")
    )
    return SlotRow(slot, aims, clock(slot.rest_s), sets, cells, _bracket(slots, number), reasons)


def _bracket(slots: list[OutlineSlot], number: int) -> str:
    """Where a slot stands in its superset: "start", "middle", "end", or "" outside one."""
    mine = slots[number].superset
    if not mine:
        return ""
    before = number > 0 and slots[number - 1].superset == mine
    after = number + 1 < len(slots) and slots[number + 1].superset == mine
    return {(False, True): "start", (True, True): "middle", (True, False): "end"}.get((before, after), "")


urlpatterns = [
    path("templates/", outlines, name="templates"),
    path("templates/<uuid:public_id>/", outline, name="template"),
    path("templates/<uuid:public_id>/edit/", outline_edit, name="template-edit"),
    path("templates/<uuid:public_id>/copy/", outline_copy, name="template-copy"),
    path("templates/<uuid:public_id>/archive/", outline_archive, name="template-archive"),
    path("templates/<uuid:public_id>/restore/", outline_restore, name="template-restore"),
]
