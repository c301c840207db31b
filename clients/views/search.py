"""Finding a client or an exercise by a few letters, from the masthead of every page."""

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe

from clients.models import Client
from coachdesk.practice.access import CoachRequest, coach_required
from programs import finding
from programs.catalogue import named as named_exercises
from programs.models import Exercise

MOST = 20
LONGEST = 80


@coach_required
@require_safe
def search(request: CoachRequest) -> HttpResponse:
    """Clients first, then exercises, of this practice alone; every word asked for must be found."""
    words = request.GET.get("q", "").strip()[:LONGEST]
    practice = request.user.practice
    clients: list[Client] = []
    exercises: list[Exercise] = []
    found: list[int] = []
    if words:
        # Compared here and not in the database: SQLite ignores case for plain Latin letters only.
        named = Client.objects.for_practice(practice).only("public_id", "name", "status", "experience")
        clients = [client for client in named if finding.answers(words, client.name)]
        found = named_exercises(practice, words)
        rows = Exercise.objects.in_bulk(found[:MOST])
        exercises = [rows[pk] for pk in found[:MOST] if pk in rows]
    context = {
        "words": words,
        "clients": clients[:MOST],
        "more_clients": max(0, len(clients) - MOST),
        "exercises": exercises,
        "more_exercises": max(0, len(found) - MOST),
    }
    return render(request, "clients/search.html", context)


urlpatterns = [path("search/", search, name="search")]
