"""The template editor: a working copy is opened, changed act by act, saved as the next version or thrown away."""

from dataclasses import dataclass, replace
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist, ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from coachdesk.practice import journal
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.models import JournalEntry
from coachdesk.practice.toasts import undoable
from programs.models import Outline
from programs.outline_acts import ACTS, EVERYTHING, Asked, Done, NotTaken, form_of
from programs.outline_forms import NewOutlineForm
from programs.outline_page import EditorPage, Looking, Typed, page_of
from programs.preview_page import comes_to
from programs.reasons import sentence_of
from programs.services import outline_work as work
from programs.services.rows import about

WORDS_LENGTH = 80  # of what is searched for


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the page that the answer to an act brings: its kind, and the day or the slot that it shows."""

    kind: str
    view: Any


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def outline_new(request: CoachRequest) -> HttpResponse:
    """A new template starts in work, with its day types to fill."""
    form = NewOutlineForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        outline, entry = work.start_outline(request.user, **form.cleaned_data)
        text = _("%(name)s started. Give its day types their slots.") % {"name": outline.name}
        undoable(request, text, entry, onward=reverse("templates"))
        return redirect("template-editor", outline.public_id)
    return render(request, "programs/outlines/new.html", {"form": form}, status=422 if form.is_bound else 200)


@coach_required
@require_POST
def outline_open(request: CoachRequest, public_id: str) -> HttpResponse:
    """The working copy of a template: the one that is open, or a new one."""
    rows = Outline.objects.for_practice(request.user.practice)
    return redirect(
        "template-editor", work.open_copy(get_object_or_404(rows, public_id=public_id), request.user).public_id
    )


@coach_required
@require_safe
def editor(request: CoachRequest, public_id: str) -> HttpResponse:
    """The whole page; for htmx the slot that is opened, and the one that it closes, or what was looked for."""
    found = _working_copy(request, public_id)
    if not found.in_work:
        return redirect("template", found.public_id)
    looking = _looking(request.GET)
    if not request.htmx or request.htmx.history_restore_request:
        return _page(request, found, looking)
    if looking.shown:
        parts = ["bands"]
    elif "q" in request.GET:
        parts = [f"found:{looking.slot}"]
    else:
        parts = [f"slot:{looking.slot}", f"slot:{request.GET.get('was')}"]
    page = page_of(found, looking)
    context = {"page": page, "parts": _parts(page, dict.fromkeys(parts)), "whole": False}
    return render(request, "programs/outlines/editor/_answer.html", context)


@coach_required
@require_POST
def change(request: CoachRequest, public_id: str) -> HttpResponse:
    """One act: done and told with its undo, refused with what was typed, or stale."""
    found = _working_copy(request, public_id)
    name, _colon, rest = request.POST.get("do", "").partition(":")
    row, _colon, more = rest.partition(":")
    revision = request.POST.get("revision", "")
    asked = Asked(found, request.user, int(revision) if revision.isdecimal() else 0, row, more, request.POST)
    looking = _looking(request.POST)
    try:
        if name in ("save", "discard"):
            return _left(request, asked, name)
        if name in ("undo", "redo"):
            return _turned_back(request, asked, looking, redo=name == "redo")
        if name not in ACTS:
            raise Http404
        done = ACTS[name](asked)
    except NotTaken as wrong:
        looking = replace(looking, slot=row if name == "slot-change" else looking.slot, typed=wrong.typed)
        return _again(request, public_id, looking, wrong.parts, status=422)
    except work.Refused as refused:
        reasons = [sentence_of(reason) for reason in refused.reasons]
        if name == "save":
            return _again(request, public_id, looking, EVERYTHING, status=422, lacking=reasons)
        messages.error(request, " ".join(reasons))
        return _again(request, public_id, looking, EVERYTHING, status=422)
    except work.StaleOutline:
        return _stale(request, asked, name, looking)
    except (ObjectDoesNotExist, ValidationError):
        raise Http404 from None
    return _told(request, asked, looking, done)


def _working_copy(request: CoachRequest, public_id: str) -> Outline:
    rows = Outline.objects.for_practice(request.user.practice).select_related("draft_of", "practice")
    return get_object_or_404(rows.with_preview(), public_id=public_id)


def _looking(asked: Any) -> Looking:
    slot, words = str(asked.get("slot") or asked.get("open") or ""), str(asked.get("q") or "")
    return Looking(slot, words[:WORDS_LENGTH], shown=str(asked.get("shown") or ""))


def _whole(request: CoachRequest, found: Outline, looking: Looking, **more: Any) -> EditorPage:
    undo_steps, redo_steps = work.steps(found)
    preview = comes_to(found, request.user.practice.week_start)
    return page_of(found, looking, steps=(bool(undo_steps), bool(redo_steps)), preview=preview, **more)


def _page(request: CoachRequest, found: Outline, looking: Looking, *, status: int = 200, **more: Any) -> HttpResponse:
    context = {"page": _whole(request, found, looking, **more)}
    return render(request, "programs/outlines/editor/editor.html", context, status=status)


def _again(
    request: CoachRequest, public_id: str, looking: Looking, parts: Any, *, status: int, **more: Any
) -> HttpResponse:
    """The page as it stands; for htmx the parts that an act touched, what it comes to, and the toasts."""
    found = _working_copy(request, public_id)
    if not request.htmx:
        return _page(request, found, looking, status=status, **more)
    page = _whole(request, found, looking, **more)
    context = {"page": page, "parts": _parts(page, parts), "whole": True}
    return render(request, "programs/outlines/editor/_answer.html", context, status=status)


def _parts(page: EditorPage, names: Any) -> list[Part]:
    """The named parts with what they show; one whose row is gone has nothing to show."""
    days = {view.day.key: view for view in page.days}
    found = []
    for name in names:
        kind, _colon, key = name.partition(":")
        view = page if name in EVERYTHING else days.get(key) if kind == "band" else page.known.get(key)
        if view is not None and (kind not in ("ranked", "found") or page.looking.slot == key):
            found.append(Part(kind, view))
    return found


def _told(request: CoachRequest, asked: Asked, looking: Looking, done: Done) -> HttpResponse:
    public_id = str(asked.outline.public_id)
    opened = looking if done.slot is None else replace(looking, slot=done.slot)
    address = reverse("template-editor", args=[public_id])
    query = {name: value for name, value in (("slot", opened.slot), ("shown", opened.shown)) if value}
    if query:
        address = f"{address}?{urlencode(query)}"
    now = Outline.objects.values_list("revision", flat=True).get(pk=asked.outline.pk)
    if now != asked.revision:
        entries = JournalEntry.objects.for_practice(request.user.practice).filter(about=about(asked.outline))
        undoable(request, done.said, entries.order_by("pk").last(), onward=address)
    if request.htmx:
        closed = [f"slot:{looking.slot}"] if looking.slot and looking.slot != opened.slot else []
        return _again(request, public_id, opened, [*done.parts, *closed], status=200)
    return redirect(f"{address}#{_anchor(done.parts)}")


def _anchor(parts: tuple[str, ...]) -> str:
    """Where on the page an act was: the id of what it changed."""
    kind, _colon, key = parts[0].partition(":")
    return f"{'band' if kind == 'band' else 'slot'}-{key}" if key else kind


def _turned_back(request: CoachRequest, asked: Asked, looking: Looking, *, redo: bool) -> HttpResponse:
    public_id = str(asked.outline.public_id)
    try:
        done = work.turn_back(asked.outline, request.user, asked.revision, redo=redo)
    except journal.CannotUndo:
        messages.error(request, _("This can’t be taken back any more: something done later builds on it."))
        return _again(request, public_id, looking, EVERYTHING, status=422)
    if done:
        messages.success(request, _("Done again.") if redo else _("Taken back."))
    else:
        messages.info(request, _("There is nothing to do again.") if redo else _("There is nothing to take back."))
    if request.htmx:
        return _again(request, public_id, looking, EVERYTHING, status=200)
    query = f"?{urlencode({'slot': looking.slot})}" if looking.slot else ""
    return redirect(f"{reverse('template-editor', args=[public_id])}{query}")


def _left(request: CoachRequest, asked: Asked, name: str) -> HttpResponse:
    """The end of the work: a version that can be composed from, or nothing."""
    outline = asked.outline
    before = outline.draft_of
    editor_address = reverse("template-editor", args=[outline.public_id])
    if name == "save":
        saved, entry = work.save_version(outline, asked.revision, request.user)
        text = _("%(name)s saved as version %(version)d.") % {"name": saved.name, "version": saved.version}
        undoable(request, text, entry, onward=editor_address)
        return redirect("template", saved.public_id)
    entry = work.discard(outline, asked.revision, request.user)
    text = _("The work on %(name)s is thrown away.") % {"name": outline.name}
    undoable(request, text, entry, onward=editor_address)
    return redirect("template", before.public_id) if before is not None else redirect("templates")


def _stale(request: CoachRequest, asked: Asked, name: str, looking: Looking) -> HttpResponse:
    """409: somebody was faster. The page as it stands now, with what was typed in its form."""
    public_id = str(asked.outline.public_id)
    if not _working_copy(request, public_id).in_work:
        messages.error(request, _("This was saved as a version in the meantime; nothing was changed."))
        return _gone(request, reverse("template", args=[public_id]))
    try:
        form = form_of(name, asked)
    except ObjectDoesNotExist:
        form = None
    if form is not None:
        slot = asked.row if name == "slot-change" else looking.slot
        looking = replace(looking, slot=slot, typed=Typed(name, asked.row, form))
    return _again(request, public_id, looking, EVERYTHING, status=409, stale=True)


def _gone(request: CoachRequest, address: str) -> HttpResponse:
    if not request.htmx:
        return redirect(address)
    response = HttpResponse(status=204)
    response["HX-Redirect"] = address
    return response


urlpatterns = [
    path("templates/new/", outline_new, name="template-new"),
    path("templates/<uuid:public_id>/open/", outline_open, name="template-open"),
    path("templates/<uuid:public_id>/editor/", editor, name="template-editor"),
    path("templates/<uuid:public_id>/editor/change/", change, name="template-change"),
]
