"""Health answers, clearances and notes, written down.

None of it goes through the change journal, which every coach's undo list reads: rows are only added, and taking one
away asks first and is final. So are the sheets that an illness takes back; they go out anew.
"""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.db import transaction

from clients.clock import today_for
from clients.models import Client, HealthAnswers, HealthRead, Illness
from clients.reads.illness import keeps_from_training
from clients.services.logs import reviewed_later
from clients.services.sheets import withdraw_ahead
from coachdesk.practice.models import Coach
from programs.engine import cautions


def note_read(client: Client, coach: Coach, what: str) -> None:
    """Leaves a row in the trail: who looked at which health page."""
    HealthRead.objects.create(client=client, coach=coach, what=what)


def record_answers(
    client: Client, coach: Coach | None, answers: Mapping[str, bool | None], *, details: str, answered_on: date
) -> HealthAnswers:
    """One round of answers. The same round again changes nothing; earlier rounds stay as they were said."""
    said = {code: answers.get(code) for code in cautions.SCREENING}
    newest = HealthAnswers.objects.for_client(client).first()
    if newest is not None and (newest.answers, newest.details, newest.answered_on) == (said, details, answered_on):
        return newest
    found = cautions.judge_answers(said, answered_on=answered_on, today=answered_on)
    fields: dict[str, Any] = {"details": details, "answered_on": answered_on, "recorded_by": coach}
    return HealthAnswers.objects.create(client=client, answers=said, result=found.result, **fields)


def record_illness(client: Client, coach: Coach | None, values: Mapping[str, Any]) -> tuple[Illness, int]:
    """An illness of the client; what comes next is reckoned with it. Sent twice it is one.

    Where nothing is to be trained, sheets that are out are taken back: how many.
    """
    with transaction.atomic():
        row = Illness.objects.filter(client=client, **values).first()
        if row is None:
            row = Illness.objects.create(client=client, recorded_by=coach, **values)
        return row, _bears(row)


def change_illness(row: Illness, values: Mapping[str, Any]) -> int:
    """The same illness otherwise: since when well, or cleared by a professional. How many sheets are taken back."""
    with transaction.atomic():
        for name, value in values.items():
            setattr(row, name, value)
        row.save(update_fields=list(values))
        return _bears(row)


def _bears(row: Illness) -> int:
    client = row.client
    withdrawn = withdraw_ahead(client) if keeps_from_training(row, today_for(client)) else 0
    reviewed_later(client.pk)
    return withdrawn
