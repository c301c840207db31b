"""What a client brings along: small plates, a band, a belt."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from clients.forms.loads import write_loads
from clients.forms.places import ItemForm
from clients.models import ClientItem
from clients.reads.people import client_head
from clients.reads.places import weight
from clients.services import places
from clients.views.common import own_client, undo_tag
from coachdesk.practice.access import CoachRequest, coach_required


def item_words(item: ClientItem) -> str:
    """“loose plates, 0.5 kg × 2”."""
    name = str(item.get_kind_display())
    loads = item.loads
    if "plates" in loads:
        which = ", ".join(f"{weight(row['weight'], row['unit'])} × {row['count']}" for row in loads["plates"])
    elif "list" in loads:
        which = " ".join(filter(None, (write_loads(loads["list"]), loads.get("unit"))))
    else:
        which = ", ".join(loads.get("bands", []))
    return f"{name}, {which}" if which else name


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def item_new(request: CoachRequest, public_id: str) -> HttpResponse:
    client = own_client(request, public_id)
    form = ItemForm(request.POST or None, unit=client.unit)
    if request.method == "POST" and form.is_valid():
        item = form.item(client)
        entry = places.add_item(item, request.user)
        messages.success(
            request,
            _("%(name)s brings: %(item)s.") % {"name": client.name, "item": item_words(item)},
            extra_tags=undo_tag(entry),
        )
        return redirect("client", client.public_id)
    context = {**client_head(client, "client", request.user), "form": form}
    return render(request, "clients/item_new.html", context, status=422 if form.is_bound else 200)


@coach_required
@require_POST
def item_remove(request: CoachRequest, public_id: str, item_id: str) -> HttpResponse:
    client = own_client(request, public_id)
    item = get_object_or_404(ClientItem, client=client, public_id=item_id)
    words = item_words(item)
    entry = places.remove_item(item, request.user)
    messages.success(request, _("Removed: %s.") % words, extra_tags=undo_tag(entry))
    return redirect("client", client.public_id)


urlpatterns = [
    path("clients/<uuid:public_id>/items/new/", item_new, name="item-new"),
    path("clients/<uuid:public_id>/items/<uuid:item_id>/remove/", item_remove, name="item-remove"),
]
