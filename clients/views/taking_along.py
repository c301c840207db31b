"""What a client takes along: everything as open files, and the report."""

from django.http import FileResponse, Http404, HttpResponseBase
from django.urls import path
from django.views.decorators.http import require_GET

from clients.clock import now_for
from clients.export import archive
from clients.services import health
from clients.views.common import own_client
from coachdesk.practice.access import CoachRequest, coach_required


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


urlpatterns = [path("clients/<uuid:public_id>/export/", client_export, name="client-export")]
