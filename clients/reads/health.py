"""What follows from the health answers, and nothing of the answers themselves."""

from dataclasses import dataclass
from datetime import date, timedelta

from clients.models import Clearance, Client, HealthAnswers
from programs.engine import cautions
from programs.engine.terms import Because

ANSWERS_LAST_DAYS = 365  # health questions are asked again every twelve months


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether the client may be given a sheet, how hard they may work, and why.

    ``effort_floor``: reps in reserve that no set may go under; ``load_share_cap``: largest share of the
    estimated maximum, None for none; ``expires_on``: when the present clearance or answers run out.
    """

    cleared: bool
    moderate_only: bool
    effort_floor: float
    load_share_cap: float | None
    holds: tuple[Because, ...]
    expires_on: date | None = None
    supervised: bool = False


def standing_of(client: Client, on: date) -> Standing:
    """Three queries: answers, conditions, clearances (none when prefetched)."""
    answers = next(iter(client.health_answers.all()), None)
    conditions = [row.code for row in client.conditions.all() if row.holds_on(on)]
    clearance = next((row for row in client.clearances.all() if row.given_on <= on <= row.expires_on), None)
    return standing_from(client, on, answers, conditions, clearance)


def standing_from(
    client: Client,
    on: date,
    answers: HealthAnswers | None,
    conditions: list[str],
    clearance: Clearance | None,
) -> Standing:
    holds: list[Because] = []
    moderate_only = False
    expires: date | None = None
    if answers is None:
        holds.append(Because("health.questions_missing"))
    else:
        expires = answers.answered_on + timedelta(days=ANSWERS_LAST_DAYS)
        if expires < on:
            holds.append(Because("health.questions_old", {"answered_on": answers.answered_on.isoformat()}))
        covered = clearance is not None and clearance.given_on >= answers.answered_on - timedelta(days=ANSWERS_LAST_DAYS)
        hard_covered = covered and clearance is not None and clearance.scope == Clearance.Scope.VIGOROUS
        if answers.result == HealthAnswers.Result.REFER and not covered:
            holds.append(Because("health.clearance_needed"))
        if answers.result != HealthAnswers.Result.CLEARED and not hard_covered:
            moderate_only = True
        if clearance is not None and covered and answers.result != HealthAnswers.Result.CLEARED:
            expires = min(expires, clearance.expires_on)
    age = client.age_on(on)
    minor = client.is_minor_on(on)
    if minor and client.guardian_consent_on is None:
        holds.append(Because("health.guardian_consent_missing"))
    floor = cautions.effort_floor(age=age, conditions=tuple(conditions), moderate_only=moderate_only)
    return Standing(
        cleared=not holds,
        moderate_only=moderate_only,
        effort_floor=floor.rir,
        load_share_cap=floor.load_share_cap,
        holds=tuple(holds),
        expires_on=expires,
        supervised=minor,
    )
