"""Sheets as PDF files, for the client and for the coach, and the script that keeps a session without signal."""

from typing import Any

from django.conf import settings
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.utils.http import quote_etag
from django.views.decorators.http import require_GET

import coachdesk.textlibraries as textlibraries
from clients.access import ClientRequest, client_required
from clients.models import Client, SheetVersion
from clients.reads.phone import versions_for
from clients.sheets import pdf
from coachdesk.practice.access import CoachRequest, coach_required, public

WORKER = settings.BASE_DIR / "static" / "js" / "phone" / "service-worker.js"


@client_required
@require_GET
def client_pdf(request: ClientRequest, public_id: Any, layout: str) -> HttpResponseBase:
    version = get_object_or_404(versions_for(request), public_id=public_id)
    return _file(request, version, layout, "clients/phone/pdf_missing.html")


@coach_required
@require_GET
def coach_pdf(request: CoachRequest, public_id: Any, version_id: Any, layout: str) -> HttpResponseBase:
    client = get_object_or_404(Client.objects.for_practice(request.user.practice), public_id=public_id)
    versions = SheetVersion.objects.for_client(client).select_related("session__block__client__practice")
    version = get_object_or_404(versions, public_id=version_id)
    return _file(request, version, layout, "clients/sheets/pdf_missing.html")


def _file(request: HttpRequest, version: SheetVersion, layout: str, missing: str) -> HttpResponseBase:
    """The file from the cache, rendered now if the worker has not come to it yet."""
    if layout not in pdf.LAYOUTS:
        raise Http404
    try:
        found = pdf.file_for(version, layout)
    except pdf.CannotRender:
        context = {
            "version": version,
            "missing": textlibraries.missing(),
            "line": textlibraries.install_line(),
            "coach": version.document["coach"]["name"],
        }
        return render(request, missing, context, status=503)
    etag = quote_etag(found.stem[:32])
    if request.headers.get("If-None-Match") == etag:
        unchanged = HttpResponse(status=304)
        unchanged["ETag"] = etag
        return unchanged
    response = FileResponse(found.open("rb"), content_type="application/pdf", filename=pdf.file_name(version, layout))
    response["ETag"] = etag
    response["Cache-Control"] = "private, no-cache"
    return response


@public
@require_GET
def service_worker(request: HttpRequest) -> HttpResponse:
    """Served from the root, as it may only answer for pages under its own address."""
    response = HttpResponse(WORKER.read_text(), content_type="text/javascript; charset=utf-8")
    response["Cache-Control"] = "no-cache"
    return response


urlpatterns = [
    path("sw.js", service_worker, name="service-worker"),
    path("sheet/<uuid:public_id>/pdf/<slug:layout>/", client_pdf, name="sheet-pdf"),
    path("clients/<uuid:public_id>/sheets/<uuid:version_id>/pdf/<slug:layout>/", coach_pdf, name="client-sheet-pdf"),
]
