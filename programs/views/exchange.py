"""Library and templates as files: taken away whole, brought in after a preview of every entry, with one undo."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.db import IntegrityError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.formats import get_format
from django.utils.functional import Promise
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext, pgettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.models import Coach
from coachdesk.practice.toasts import undoable
from programs import exchange_page
from programs.exchange import documents, library, outline_documents, outlines, sheets, uploads, words
from programs.exchange.bounds import MOST_BYTES, FileRefused
from programs.exchange.plans import CHANGED, KINDS, NEW, UNCHANGED, Plan
from programs.exchange.sheets import Sheet
from programs.models import Outline, Upload
from programs.services.importing import ChangedMeanwhile, import_library, import_templates

CSV, JSON = "text/csv; charset=utf-8", "application/json"


class FileForm(forms.Form):
    """A file to look at; what is wrong with it is said beside it."""

    file = forms.FileField(label=pgettext_lazy("heading", "File"))

    def __init__(self, *args: Any, kind: "Kind", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["file"].help_text = str(kind.hint) % {"most": MOST_BYTES // 2**20}
        self.fields["file"].widget.attrs["accept"] = kind.accept


@dataclass(frozen=True)
class Kind:
    """What is exchanged, exercises or templates, and how it is read, planned and written."""

    name: str
    page: str
    home: str
    place: str
    hint: str | Promise
    accept: str
    ready: Callable[[bytes], bytes]
    read: Callable[[bytes], Sheet]
    plan: Callable[[Sheet, Coach], Plan]
    take: Callable[..., tuple[Plan, Any]]
    row: exchange_page.Shown

    of: ClassVar[dict[str, "Kind"]] = {}


Kind.of["library"] = Kind(
    name="library",
    page="library-files",
    home="library",
    place="library",
    hint=gettext_lazy("A table (CSV) or a document (JSON) of at most %(most)d MB."),
    accept=".csv,.txt,.tsv,.json",
    ready=uploads.ready,
    read=uploads.read_library,
    plan=lambda sheet, coach: library.plan(sheet, coach.practice, coach),
    take=import_library,
    row=exchange_page.exercise_row,
)
Kind.of["templates"] = Kind(
    name="templates",
    page="templates-files",
    home="templates",
    place="templates",
    hint=gettext_lazy("A document (JSON) of at most %(most)d MB, as it is written here."),
    accept=".json",
    ready=lambda data: data,
    read=outline_documents.read,
    plan=lambda sheet, coach: outlines.plan(sheet, coach.practice),
    take=import_templates,
    row=exchange_page.template_row,
)


@coach_required
@require_http_methods(["GET", "POST"])
def library_files(request: CoachRequest) -> HttpResponse:
    return _files(request, Kind.of["library"])


@coach_required
@require_http_methods(["GET", "POST"])
def templates_files(request: CoachRequest) -> HttpResponse:
    return _files(request, Kind.of["templates"])


def _files(request: CoachRequest, kind: Kind) -> HttpResponse:
    """What can be taken away, and the form that a file comes in by."""
    posted = (request.POST, request.FILES) if request.method == "POST" else ()
    form = FileForm(*posted, kind=kind)
    if form.is_valid():
        upload = form.cleaned_data["file"]
        try:
            content = kind.ready(uploads.content_of(upload))
            plan = kind.plan(kind.read(content), request.user)
        except FileRefused as refused:
            form.add_error("file", words.refusal(refused))
        else:
            kept = uploads.keep(request.user, kind.name, upload.name, content, plan.by_row)
            return redirect("import-preview", kept.public_id)
    context = {"kind": kind, "form": form, **_contents(request, kind)}
    return render(request, "programs/exchange/files.html", context, status=422 if form.errors else 200)


def _contents(request: CoachRequest, kind: Kind) -> dict[str, Any]:
    practice = request.user.practice
    if kind.name == "templates":
        return {"count": outlines.listed(practice).count(), "parts": []}
    parts = library.photo_parts(practice)
    return {"count": sum(map(len, parts)), "parts": list(range(1, len(parts) + 1))}


@coach_required
@require_safe
def library_csv(request: CoachRequest) -> HttpResponse:
    """The library as a table: with semicolons and decimal commas where numbers are written so."""
    listed = library.gather(request.user.practice, request.user)
    photographed = frozenset(present.row.key for present in listed if present.row.photo_id)
    data = sheets.write(
        (present.record for present in listed),
        photographed,
        decimal_comma=get_format("DECIMAL_SEPARATOR") == ",",
        note=_("yes: photos are in the JSON file"),
    )
    return _file(data, CSV, _file_name("library", "csv"))


@coach_required
@require_safe
def library_json(request: CoachRequest) -> HttpResponse:
    """The library as a document, photos among it; ``part`` where these are too many for one file."""
    parts = library.photo_parts(request.user.practice)
    asked = request.GET.get("part", "")
    number = int(asked) if asked.isdecimal() and 1 <= int(asked) <= len(parts) else 1
    wanted = set(parts[number - 1])
    listed = [one for one in library.gather(request.user.practice, request.user) if one.row.pk in wanted]
    data = documents.write((present.record for present in listed), library.photos_of(listed))
    name = f"library-{number}" if len(parts) > 1 else "library"
    return _file(data, JSON, _file_name(name, "json"))


@coach_required
@require_safe
def templates_json(request: CoachRequest) -> HttpResponse:
    return _file(outlines.write(outlines.listed(request.user.practice)), JSON, _file_name("templates", "json"))


@coach_required
@require_safe
def template_json(request: CoachRequest, public_id: str) -> HttpResponse:
    """One template, of whatever version."""
    rows = Outline.objects.for_practice(request.user.practice).saved().with_week()
    shown = get_object_or_404(rows, public_id=public_id)
    return _file(outlines.write([shown]), JSON, _file_name(slugify(shown.name) or "template", "json"))


def _file_name(name: str, ending: str) -> str:
    return f"{name}-{timezone.localdate():%Y-%m-%d}.{ending}"


def _file(data: bytes, content_type: str, name: str) -> HttpResponse:
    response = HttpResponse(data, content_type=content_type)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "private, no-store"
    return response


@coach_required
@require_http_methods(["GET", "POST"])
def import_preview(request: CoachRequest, public_id: str) -> HttpResponse:
    """What importing would do, entry by entry; posting does exactly that, or says what has changed meanwhile."""
    rows = Upload.objects.filter(practice=request.user.practice, coach=request.user)
    upload = get_object_or_404(rows, public_id=public_id)
    kind = Kind.of[upload.kind]
    sheet = kind.read(bytes(upload.content))
    if request.method == "GET":
        return _preview(request, upload, kind, sheet, kind.plan(sheet, request.user))
    take = request.POST.get("take", "")
    if take not in ("all", "new"):
        upload.delete()
        return redirect(kind.page)
    try:
        plan, entry = kind.take(request.user, sheet, request.POST.get("seen", ""), changes=take == "all")
    except ChangedMeanwhile as meanwhile:
        return _again(request, upload, kind, sheet, meanwhile.plan)
    except IntegrityError:
        # Somebody took a name or an id in this very moment.
        return _again(request, upload, kind, sheet, kind.plan(sheet, request.user))
    upload.delete()
    undoable(request, _done(plan, changes=take == "all"), entry, onward=reverse(kind.home))
    return redirect(kind.home)


def _again(request: CoachRequest, upload: Upload, kind: Kind, sheet: Sheet, plan: Plan) -> HttpResponse:
    """The preview as it comes out now, what differs from the last one marked."""
    response = _preview(request, upload, kind, sheet, plan, status=422)
    Upload.objects.filter(pk=upload.pk).update(previewed=plan.by_row)
    return response


def _done(plan: Plan, *, changes: bool) -> str:
    new, changed = plan.counts[NEW], plan.counts[CHANGED] if changes else 0
    said = []
    if new:
        said.append(ngettext("%(count)d added", "%(count)d added", new) % {"count": new})
    if changed:
        said.append(ngettext("%(count)d changed", "%(count)d changed", changed) % {"count": changed})
    return _("Imported: %(what)s.") % {"what": ", ".join(said)} if said else _("Nothing was imported.")


def _preview(
    request: CoachRequest, upload: Upload, kind: Kind, sheet: Sheet, plan: Plan, status: int = 200
) -> HttpResponse:
    otherwise = plan.otherwise(upload.previewed)
    only = request.GET.get("show", "")
    context = {
        "upload": upload,
        "kind": kind,
        "plan": plan,
        "how_read": words.how_read(sheet),
        "number_word": _("Row") if sheet.form == "csv" else _("Entry"),
        "counts": [(name, exchange_page.HEADINGS[name], plan.counts[name]) for name in KINDS if plan.counts[name]],
        "only": only if only in KINDS else "",
        "sections": exchange_page.sections(plan, only, request.GET.get("page"), kind.row, otherwise),
        "new": plan.counts[NEW],
        "changed": plan.counts[CHANGED],
        "unchanged": plan.counts[UNCHANGED],
        "otherwise": len(otherwise),
        "stale": status != 200,
    }
    return render(request, "programs/exchange/preview.html", context, status=status)


urlpatterns = [
    path("library/files/", library_files, name="library-files"),
    path("library/export.csv", library_csv, name="library-csv"),
    path("library/export.json", library_json, name="library-json"),
    path("templates/files/", templates_files, name="templates-files"),
    path("templates/export.json", templates_json, name="templates-json"),
    path("templates/<uuid:public_id>/export.json", template_json, name="template-json"),
    path("imports/<uuid:public_id>/", import_preview, name="import-preview"),
]
