"""The demo, loaded and removed in one click from the practice page."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from clients import demo
from coachdesk.practice.access import CoachRequest, owner_required


@owner_required
@require_POST
def load(request: CoachRequest) -> HttpResponse:
    made = demo.load_demo(request.user)
    messages.success(request, _("%d demo clients loaded.") % made if made else _("The demo is loaded already."))
    return redirect("desk")


@owner_required
@require_POST
def remove(request: CoachRequest) -> HttpResponse:
    count = demo.remove_demo(request.user.practice)
    messages.success(request, ngettext("%d demo client removed.", "%d demo clients removed.", count) % count)
    return redirect("practice")


urlpatterns = [
    path("demo/load/", load, name="demo-load"),
    path("demo/remove/", remove, name="demo-remove"),
]
