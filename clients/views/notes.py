"""What is written down about a client, and what was handed out: notes and documents."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.forms.people import NoteForm
from clients.models import CalendarFeed, Client, ClientLink, HealthNote, SessionNote, SheetVersion
from clients.reads.people import client_head
from clients.services import links, people
from clients.views.common import back_to, own_client, undo_tag
from coachdesk.practice.access import CoachRequest, coach_required

NOTES_SHOWN = 50
SHEETS_SHOWN = 60


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def client_notes(request: CoachRequest, public_id: str) -> HttpResponse:
    """The coaches' own notes, and what the client said around sessions."""
    client = own_client(request, public_id)
    form = NoteForm(request.POST or None, initial={"note": client.note})
    if request.method == "POST" and form.is_valid():
        entry = people.change_client(client, request.user, form.cleaned_data, act="client.note")
        if entry is not None:
            messages.success(request, _("Note saved."), extra_tags=undo_tag(entry))
        return redirect("client-notes", client.public_id)
    said = (
        SessionNote.objects.filter(session__block__client=client)
        .exclude(text="")
        .select_related("session")
        .order_by("-session__trained_on", "-session__planned_on", "-pk")[:NOTES_SHOWN]
    )
    context = {
        **client_head(client, "client-notes", request.user),
        "form": form,
        "said": list(said),
        "health_notes": HealthNote.objects.filter(client=client).count(),
    }
    return render(request, "clients/notes.html", context, status=422 if form.is_bound else 200)


@coach_required
@require_safe
def client_documents(request: CoachRequest, public_id: str) -> HttpResponse:
    """The client's link and the sheets that were handed out."""
    client = own_client(request, public_id)
    versions = SheetVersion.objects.for_client(client).select_related("session").order_by("-issued_at", "-pk")
    link = ClientLink.objects.filter(client=client, revoked_at=None).first()
    feed = CalendarFeed.objects.filter(client=client, revoked_at=None).first()
    context = {
        **client_head(client, "client-documents", request.user),
        "link": _link(link, request) if link is not None and link.alive else None,
        "feed": links.address_of(feed, request) if feed is not None and feed.alive else "",
        "can_link": _exists("open-client-link") and links.may_have_links(client),
        "reach": links.reach(request),
        "versions": [_version(version, client) for version in versions[:SHEETS_SHOWN]],
    }
    return render(request, "clients/documents.html", context)


@coach_required
@require_POST
def client_link(request: CoachRequest, public_id: str) -> HttpResponse:
    """Makes the client's private link, or a new one in place of it."""
    client = own_client(request, public_id)
    if not links.may_have_links(client):
        messages.error(request, _("%s has left: take them back first.") % client.name)
    elif request.POST.get("go") == "feed":
        links.calendar_feed(client)
        messages.success(request, _("The calendar address is made."))
    elif request.POST.get("go") == "close-feed":
        links.close_feed(client)
        messages.success(request, _("The calendar address is closed; a new one will be another."))
    elif request.POST.get("go") == "renew":
        links.renew_client_link(client, request.user)
        messages.success(request, _("A new link is made; the old one opens nothing any more."))
    else:
        links.client_link(client)
        messages.success(request, _("The link is made."))
    return redirect(back_to(request, reverse("client-documents", args=[client.public_id])))


def _link(link: ClientLink, request: CoachRequest) -> dict[str, Any] | None:
    if not _exists("open-client-link"):
        return None
    return {"address": links.address_of(link, request), "until": link.expires_at}


def _exists(name: str) -> bool:
    try:
        reverse(name, args=["x" * 32])
    except NoReverseMatch:
        return False
    return True


def _version(version: SheetVersion, client: Client) -> dict[str, Any]:
    return {
        "name": version.session.name,
        "planned_on": version.session.planned_on,
        "number": version.number,
        "state": version.get_state_display(),
        "issued_at": version.issued_at,
        "files": [
            {"word": word, "url": url}
            for word, url in (
                (_("phone pages"), _address(client, version, "phone")),
                (_("paper"), _address(client, version, "paper")),
            )
            if url
        ],
    }


def _address(client: Client, version: SheetVersion, layout: str) -> str:
    try:
        return reverse("client-sheet-pdf", args=[client.public_id, version.public_id, layout])
    except NoReverseMatch:
        return ""


urlpatterns = [
    path("clients/<uuid:public_id>/notes/", client_notes, name="client-notes"),
    path("clients/<uuid:public_id>/documents/", client_documents, name="client-documents"),
    path("clients/<uuid:public_id>/documents/link/", client_link, name="client-link"),
]
