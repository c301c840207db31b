"""What every page's template may use."""

from typing import Any

from django.http import HttpRequest

THEMES = ("light", "dark", "device")


def page(request: HttpRequest) -> dict[str, Any]:
    theme = request.COOKIES.get("theme", "device")
    return {"theme": theme if theme in THEMES else "device"}
