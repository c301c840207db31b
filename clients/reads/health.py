"""What follows from the health answers, and nothing of the answers themselves."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from clients.models import Clearance, Client, Condition, HealthAnswers
from programs.engine import cautions
from programs.engine.terms import Because

WEEK_DAYS = 7


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether the client may be given a sheet, how hard they may work, and why.

    ``holds`` say what is missing before a sheet may go out; ``expires_on`` is when answers or clearance run out.
    """

    cleared: bool
    effort: cautions.EffortFloor
    holds: tuple[Because, ...]
    expires_on: date | None = None
    minor: bool = False


def standing_of(client: Client, on: date) -> Standing:
    """Three queries: answers, conditions, clearances (none when prefetched)."""
    answers = next(iter(client.health_answers.all()), None)
    conditions = [row.code for row in client.conditions.all() if row.holds_on(on)]
    clearance = next((row for row in client.clearances.all() if row.given_on <= on <= row.expires_on), None)
    return standing_from(client, on, answers, conditions, clearance)


def standings_of(clients: Iterable[Client], wanted: Any, on: date) -> dict[int, Standing]:
    """The standing of each client: three queries however many. ``wanted`` are the clients' ids, or a query for them.

    Not by prefetching: that builds three querysets for each client, which a long list pays for.
    """
    answers: dict[int, HealthAnswers] = {}
    for row in HealthAnswers.objects.filter(client__in=wanted).only("client_id", "answers", "answered_on"):
        answers.setdefault(row.client_id, row)
    conditions: dict[int, list[str]] = {}
    for condition in Condition.objects.filter(client__in=wanted):
        if condition.holds_on(on):
            conditions.setdefault(condition.client_id, []).append(condition.code)
    clearances: dict[int, Clearance] = {}
    for clearance in Clearance.objects.filter(client__in=wanted, given_on__lte=on, expires_on__gte=on):
        clearances.setdefault(clearance.client_id, clearance)
    return {
        client.pk: standing_from(
            client, on, answers.get(client.pk), conditions.get(client.pk, []), clearances.get(client.pk)
        )
        for client in clients
    }


def standing_from(
    client: Client,
    on: date,
    answers: HealthAnswers | None,
    conditions: list[str],
    clearance: Clearance | None,
) -> Standing:
    holds: list[Because] = []
    moderate = gentle = False
    expires: date | None = None
    said = answers.answers if answers is not None else {}
    if answers is None:
        holds.append(Because("health.questions_missing"))
    else:
        if client.answers_from is not None and answers.answered_on < client.answers_from:
            holds.append(Because("health.returned", {"returned_on": client.answers_from.isoformat()}))
        cleared_on = clearance.given_on if clearance is not None else None
        found = cautions.judge_answers(said, answered_on=answers.answered_on, today=on, cleared_on=cleared_on)
        expires = found.repeat_on
        gentle = found.gentle_start
        moderate = found.result == "moderate_only"
        if not found.may_train:
            holds.extend(Because(f"health.{reason.code}", reason.params) for reason in found.reasons[:1])
        if (
            clearance is not None
            and cleared_on is not None
            and not cautions.judge_answers(said, answered_on=answers.answered_on, today=on).may_train
        ):
            expires = min(expires or clearance.expires_on, clearance.expires_on)
            moderate = moderate or clearance.scope == Clearance.Scope.MODERATE
    minor = client.is_minor_on(on)
    if minor and client.guardian_consent_on is None:
        holds.append(Because("health.guardian_consent_missing"))
    present = {code for code, answer in said.items() if answer} | set(conditions)
    effort = cautions.effort_floor(
        age=client.age_on(on),
        weeks_of_training=_weeks_since(client.training_since, on),
        moderate_only=moderate,
        gentle_start=gentle,
        treated_blood_pressure="treated_blood_pressure" in present,
        pregnant="pregnant" in present,
        after_birth="birth_within_a_year" in present,
    )
    return Standing(not holds, effort, tuple(holds), expires, minor)


def _weeks_since(start: date | None, on: date) -> int | None:
    return None if start is None else max(0, (on - start).days // WEEK_DAYS)
