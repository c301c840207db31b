from typing import Any

from django.core.management.base import BaseCommand

from coachdesk.practice.models import Practice
from programs.seeding import seed_practice


class Command(BaseCommand):
    help = "Adds and updates seeded exercises and templates in every practice; leaves a coach's edits alone."

    def handle(self, *args: Any, **options: Any) -> None:
        for practice in Practice.objects.order_by("pk"):
            report = seed_practice(practice)
            self.stdout.write(f"{practice.name}: {report}")
            for key in report.kept:
                self.stdout.write(f"  kept as edited: {key}")
