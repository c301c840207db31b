"""Telling what just happened, with the way back beside it."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest
from django.urls import reverse

from coachdesk.practice.models import JournalEntry


def undoable(request: HttpRequest, text: str, entry: JournalEntry | None, *, onward: str = "") -> None:
    """A message whose toast offers to undo ``entry``; ``onward`` is the page to show after that, where the page
    that the coach is on will be gone. Without an entry nothing had changed: the message stands alone."""
    if entry is None:
        messages.success(request, text)
        return
    address = reverse("undo", args=[entry.public_id])
    if onward:
        address = f"{address}?{urlencode({'next': onward})}"
    messages.success(request, text, extra_tags=f"undo:{address}")
