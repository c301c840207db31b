"""What every request passes through: the person's language and time zone, and tokens kept out of logs."""

import logging
import re
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone, translation

TOKEN_IN_PATH = re.compile(r"(/(?:c|d|s)/)[A-Za-z0-9_\-.]{8,}")


class PersonMiddleware:
    """Speaks the signed-in coach's language and shows their practice's time.

    Client pages set the client's own language and zone themselves, once the link is known.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        user = request.user
        if user.is_authenticated:
            translation.activate(user.practice.language)
            timezone.activate(user.practice.time_zone)
        else:
            translation.activate(translation.get_language_from_request(request))
        try:
            response = self.get_response(request)
        finally:
            timezone.deactivate()
        response.headers.setdefault("Content-Language", translation.get_language() or "en")
        translation.deactivate()
        return response


class MaskTokens(logging.Filter):
    """Cuts link tokens out of anything that is logged."""

    def filter(self, record: logging.LogRecord) -> bool:
        message = record.getMessage()
        masked = TOKEN_IN_PATH.sub(r"\1…", message)
        if masked != message:
            record.msg, record.args = masked, ()
        return True
