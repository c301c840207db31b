import os
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from clients import demo
from coachdesk.practice.models import Coach


class Command(BaseCommand):
    help = "Loads the demo practice's invented clients, or removes them again with --remove."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--remove", action="store_true", help="take every demo row away again")

    def handle(self, *args: Any, **options: Any) -> None:
        owner = Coach.objects.filter(is_owner=True).order_by("pk").first()
        if owner is None:
            # The server that starts next offers the demo ticked on its first page.
            os.environ["COACHDESK_DEMO"] = "1"
            self.stdout.write("Nobody has set up a practice yet: the first page offers the demo.")
            return
        if options["remove"]:
            self.stdout.write(f"{demo.remove_demo(owner.practice)} demo clients removed")
            return
        made = demo.load_demo(owner)
        self.stdout.write(f"{made} demo clients loaded" if made else "The demo is loaded already")
