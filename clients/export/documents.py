"""The documents of an export: the client with all that was decided, and health apart in a file of its own."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django.db import models
from django.db.models import QuerySet

from clients.export.tables import HELD_BACK, is_of_health
from clients.models import (
    Block,
    Clearance,
    Client,
    ClientItem,
    Condition,
    Draft,
    GroupPriority,
    HealthAnswers,
    HealthNote,
    HealthRead,
    Illness,
    Limit,
    LoggedSet,
    PainReport,
    Progression,
    Proposal,
    RecentSet,
    Taste,
)

FORMAT, HEALTH_FORMAT, VERSION = "coachdesk-client", "coachdesk-client-health", 1
# The client's own columns that say nothing of them.
_INNER = {"intake_step", "is_demo"}

# Of each list: its name, its rows, and what is told instead of a key.
_LISTS: tuple[tuple[str, type[models.Model], Mapping[str, str]], ...] = (
    ("limits", Limit, {"exercise": "exercise__name"}),
    ("priorities", GroupPriority, {}),
    ("tastes", Taste, {"exercise": "exercise__name"}),
    ("recent_sets", RecentSet, {"exercise": "exercise__name"}),
    ("brings_along", ClientItem, {}),
    ("progressions", Progression, {"exercise": "exercise__name"}),
    ("blocks", Block, {"outline": "outline__name", "place": "place__name"}),
    ("drafts", Draft, {"outline": "outline__name", "place": "place__name"}),
)
_HEALTH: tuple[tuple[str, type[models.Model], Mapping[str, str]], ...] = (
    ("answers", HealthAnswers, {"recorded_by": "recorded_by__name"}),
    ("conditions", Condition, {}),
    ("clearances", Clearance, {"recorded_by": "recorded_by__name"}),
    (
        "pain_reports",
        PainReport,
        {"exercise": "exercise__name", "session": "session__public_id", "answered_by": "answered_by__name"},
    ),
    ("illnesses", Illness, {"recorded_by": "recorded_by__name"}),
    ("notes", HealthNote, {"written_by": "written_by__name"}),
    ("who_looked", HealthRead, {"coach": "coach__name"}),
)


def client_document(client: Client, now: datetime) -> dict[str, Any]:
    """Who the client is, what was agreed, blocks and drafts with their weeks: a query a list."""
    told = {"coach": "coach__name", "place": "place__name", "outline": "outline__name"}
    (profile,) = _rows(Client.objects.filter(pk=client.pk), told)
    return {
        "format": FORMAT,
        "version": VERSION,
        "exported_at": now,
        "practice": client.practice.name,
        "client": {name: value for name, value in profile.items() if name not in _INNER},
        **{name: _of(client, model, told) for name, model, told in _LISTS},
    }


def health_document(client: Client, now: datetime) -> dict[str, Any]:
    """All that is kept behind its own permission: a query a list."""
    stopped = LoggedSet.objects.for_client(client).filter(stopped_for_pain=True).in_order()
    return {
        "format": HEALTH_FORMAT,
        "version": VERSION,
        "exported_at": now,
        "client": client.public_id,
        **{name: _of(client, model, told) for name, model, told in _HEALTH},
        "sets_stopped_for_pain": list(stopped.values_list("public_id", flat=True)),
        "decisions": _decisions(client),
    }


def _decisions(client: Client) -> list[dict[str, Any]]:
    """Of the changes that were proposed, what had to do with health."""
    rows = Proposal.objects.filter(client=client).order_by("made_at", "pk").values("public_id", "kind", "reasons")
    found = []
    for row in rows.iterator():
        reasons = [reason for reason in row["reasons"] if is_of_health(reason)]
        if reasons or row["kind"] in HELD_BACK:
            found.append({"proposal_id": row["public_id"], "kind": row["kind"], "reasons": reasons})
    return found


def _of(client: Client, model: type[models.Model], told: Mapping[str, str]) -> list[dict[str, Any]]:
    return _rows(model._base_manager.filter(client=client).order_by("pk"), told)


def _rows(rows: QuerySet[Any], told: Mapping[str, str]) -> list[dict[str, Any]]:
    """Every column. Keys of the database mean nothing elsewhere: left out, or told as what they point at."""
    fields: Iterable[Any] = rows.model._meta.concrete_fields
    plain = [field.name for field in fields if not (field.primary_key or field.is_relation)]
    return [
        {**{name: row[name] for name in plain}, **{name: row[lookup] for name, lookup in told.items()}}
        for row in rows.values(*plain, *told.values())
    ]
