"""The practice, its coaches, what they did, and the counters that slow down guessing."""

from coachdesk.practice.models.journal import JournalEntry
from coachdesk.practice.models.people import Coach, Practice
from coachdesk.practice.models.throttle import Throttle

__all__ = ["Coach", "JournalEntry", "Practice", "Throttle"]
