"""What is known of a client, written down: one act and one journal entry each, so that all of it can be undone."""

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import models

from clients.models import Client, GroupPriority, Limit, RecentSet, Taste
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry, Practice
from programs.engine import vocabulary
from programs.models import Exercise
from programs.units import Load, columns

Identity = Callable[[Any], Hashable]


def about(client: Client) -> str:
    return f"client:{client.public_id}"


def add_client(practice: Practice, coach: Coach, values: Mapping[str, Any], *, today: date) -> Client:
    """A new client with what is known so far; the rest of the form's steps follow."""
    with journal.act(practice, coach, "client.add", name=values["name"]) as entry:
        client = Client.objects.create(practice=practice, status_since=today, intake_step=2, **values)
        entry.made(client)
    return client


def change_client(
    client: Client, coach: Coach, values: Mapping[str, Any], *, act: str = "client.change"
) -> JournalEntry | None:
    """Sets some columns of a client; ``client`` shows them afterwards. None when nothing was different."""
    with journal.act(client.practice, coach, act, about=about(client), name=client.name) as entry:
        row = Client.objects.select_for_update().get(pk=client.pk)
        entry.change(row)
        for name, value in values.items():
            setattr(row, name, value)
            setattr(client, name, value)
        row.save(update_fields=list(values))
    return entry.entry


def set_spared(
    client: Client,
    coach: Coach,
    *,
    limits: Iterable[Mapping[str, Any]],
    priorities: Mapping[str, str],
    tastes: Iterable[Mapping[str, Any]],
) -> JournalEntry | None:
    """What to spare, what gets more, what is liked: rows that stay the same are left alone."""
    wanted_limits = [
        Limit(
            client=client,
            joint=row.get("joint") or "",
            exercise=row.get("exercise"),
            side=row["side"],
            strict=row["strict"],
            since=row["since"],
            until=row.get("until"),
        )
        for row in limits
    ]
    wanted_priorities = [
        GroupPriority(client=client, group=group, priority=priority)
        for group, priority in priorities.items()
        if group in vocabulary.AUDITED_GROUPS and priority != "usual"
    ]
    by_exercise = {row["exercise"].pk: row for row in tastes}
    wanted_tastes = [Taste(client=client, exercise=row["exercise"], likes=row["likes"]) for row in by_exercise.values()]
    with journal.act(client.practice, coach, "client.spare", about=about(client), name=client.name) as entry:
        _replace(entry, client.limits.all(), wanted_limits, _limit_identity)
        _replace(entry, client.priorities.all(), wanted_priorities, lambda row: (row.group, row.priority))
        _replace(entry, client.tastes.all(), wanted_tastes, lambda row: (row.exercise_id, row.likes))
    return entry.entry


def set_recent_sets(
    client: Client,
    coach: Coach,
    rows: Sequence[tuple[Exercise, date, Sequence[tuple[Load | None, int, Decimal | None]]]],
) -> JournalEntry | None:
    """The sets a client did before coming here: (exercise, day, [(load, reps, rir or None)])."""
    wanted = [
        RecentSet(client=client, exercise=exercise, done_on=day, reps=reps, rir=rir, **columns(load))
        for exercise, day, sets in rows
        for load, reps, rir in sets
    ]
    with journal.act(client.practice, coach, "client.recent", about=about(client), name=client.name) as entry:
        _replace(entry, client.recent_sets.all(), wanted, _set_identity)
    return entry.entry


def _limit_identity(row: Limit) -> Hashable:
    return (row.joint, row.exercise_id, row.side, row.strict, row.since, row.until)


def _set_identity(row: RecentSet) -> Hashable:
    value = None if row.load_value is None else Decimal(row.load_value)
    rir = None if row.rir is None else Decimal(row.rir)
    return (row.exercise_id, row.done_on, row.reps, rir, value, row.load_unit)


def _replace(
    entry: journal.Recording, present: models.QuerySet[Any], wanted: Sequence[models.Model], identity: Identity
) -> None:
    """Makes the stored rows be the wanted ones. Equal rows stay as they are, so that undo and history stay small."""
    left: dict[Hashable, list[models.Model]] = {}
    for row in present:
        left.setdefault(identity(row), []).append(row)
    new = []
    for row in wanted:
        if left.get(identity(row)):
            left[identity(row)].pop()
        else:
            new.append(row)
    for rows in left.values():
        for row in rows:
            entry.change(row)
            # Through the queryset, so that the row keeps its key and the journal can put it back under it.
            type(row)._base_manager.filter(pk=row.pk).delete()
    for row in new:
        row.save()
        entry.made(row)
