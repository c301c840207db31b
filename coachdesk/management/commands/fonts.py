"""manage.py fonts: cuts the font files that pages and printed sheets use."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from coachdesk import fonts


class Command(BaseCommand):
    help = "Makes the font files that pages and printed sheets use; quick when they are in order."
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            built = fonts.build(settings.BASE_DIR)
        except fonts.FontsUnavailable as missing:
            raise CommandError(str(missing)) from missing
        kilobytes = sum(path.stat().st_size for path in built.files) // 1000
        if built.fresh:
            text = _("Made %(count)d font files, %(kilobytes)d kB.")
        else:
            text = _("%(count)d font files are in order, %(kilobytes)d kB.")
        self.stdout.write(text % {"count": len(built.files), "kilobytes": kilobytes})
