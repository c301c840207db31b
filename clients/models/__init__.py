"""Clients and everything that is theirs, split by idea."""

from clients.models.blocks import Block, Prescription, TargetSet, TrainingSession
from clients.models.drafts import Draft
from clients.models.health import Clearance, Condition, HealthAnswers, HealthNote, HealthRead, Illness, PainReport
from clients.models.links import CalendarFeed, ClientLink, SheetLink
from clients.models.logs import Bodyweight, LoggedPart, LoggedSet, LoggedSetRevision, Original, SessionNote
from clients.models.people import Client, GroupPriority, Limit, RecentSet, Taste
from clients.models.places import ClientItem, Place, Station, StationAbsence
from clients.models.progressions import Progression
from clients.models.proposals import Proposal
from clients.models.sheets import SheetVersion

__all__ = [
    "Block",
    "Bodyweight",
    "CalendarFeed",
    "Clearance",
    "Client",
    "ClientItem",
    "ClientLink",
    "Condition",
    "Draft",
    "GroupPriority",
    "HealthAnswers",
    "HealthNote",
    "HealthRead",
    "Illness",
    "Limit",
    "LoggedPart",
    "LoggedSet",
    "LoggedSetRevision",
    "Original",
    "PainReport",
    "Place",
    "Prescription",
    "Progression",
    "Proposal",
    "RecentSet",
    "SessionNote",
    "SheetLink",
    "SheetVersion",
    "Station",
    "StationAbsence",
    "TargetSet",
    "Taste",
    "TrainingSession",
]
