"""What a client takes along: everything as open files, and the report."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import path
from django.utils import translation
from django.utils.safestring import mark_safe
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST, require_safe

from clients import report_page
from clients.clock import now_for
from clients.export import archive
from clients.forms.leaving import WordsForm
from clients.models import Client
from clients.reads.people import client_head
from clients.reads.report import Report
from clients.services import health
from clients.sheets import pdf
from clients.views.common import own_client
from coachdesk.practice.access import CoachRequest, coach_required
from programs.drawings.svg import Ink

PDF_SIZE_PT, PDF_LARGE_PT = 10, 13


@coach_required
@require_GET
def client_export(request: CoachRequest, public_id: str) -> HttpResponseBase:
    """The archive. With ``?health=1`` its health file too: that leaves a row in the trail, and needs the permission."""
    client = own_client(request, public_id)
    with_health = request.GET.get("health") == "1"
    if with_health:
        if not request.user.sees_health:
            raise Http404
        health.note_read(client, request.user, "export")
    now = now_for(client)
    response = FileResponse(
        archive.write(client, now, health=with_health),
        as_attachment=True,
        filename=archive.file_name(client, now),
        content_type="application/zip",
    )
    response["Cache-Control"] = "private, no-store"
    return response


@coach_required
@require_safe
def client_report(request: CoachRequest, public_id: str) -> HttpResponse:
    """The report as the client gets it, in their language."""
    client = own_client(request, public_id)
    return _report_page(request, client, WordsForm())


def _report_page(request: HttpRequest, client: Client, form: WordsForm, status: int = 200) -> HttpResponse:
    with translation.override(client.language):
        # Rendered here, as the page around it is in the coach's language.
        report = mark_safe(render_to_string("clients/_report.html", report_page.context(Report(client))))  # noqa: S308
    head = client_head(client, "client-progress", request.user)  # type: ignore[arg-type]
    return render(request, "clients/report.html", {**head, "report": report, "form": form}, status=status)


@coach_required
@require_POST
def client_report_pdf(request: CoachRequest, public_id: str) -> HttpResponseBase:
    """The report as a PDF with the coach's words at its head; they are not kept."""
    client = own_client(request, public_id)
    form = WordsForm(request.POST)
    if not form.is_valid():
        return _report_page(request, client, form, 422)
    with translation.override(client.language):
        context = {
            **report_page.context(Report(client), Ink.PRINT),
            "words": [part for part in form.cleaned_data["words"].splitlines() if part.strip()],
            "paper": client.practice.paper,
            "size": PDF_LARGE_PT if client.large_print else PDF_SIZE_PT,
        }
        html = render_to_string("sheets/report.html", context)
    try:
        content = pdf.to_pdf(html)
    except pdf.CannotRender:
        messages.error(request, _("PDFs can’t be made on this machine yet; print this page instead."))
        return redirect("client-report", client.public_id)
    response = HttpResponse(content, content_type="application/pdf")
    name = f"{slugify(client.name) or 'client'}-{now_for(client):%Y-%m-%d}.pdf"
    response["Content-Disposition"] = f'inline; filename="{name}"'
    response["Cache-Control"] = "private, no-store"
    return response


urlpatterns = [
    path("clients/<uuid:public_id>/export/", client_export, name="client-export"),
    path("clients/<uuid:public_id>/report/", client_report, name="client-report"),
    path("clients/<uuid:public_id>/report/pdf/", client_report_pdf, name="client-report-pdf"),
]
