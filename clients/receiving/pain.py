"""Pain, as reported: what follows is worked out at once, and the client is told the same on every way in."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction
from django.utils import timezone

from clients.models import Client, PainReport, TrainingSession
from coachdesk.practice import journal
from coachdesk.practice.models import Coach
from programs.engine import cautions
from programs.merged import standing
from programs.models import Exercise


@dataclass(frozen=True, slots=True)
class PainReceived:
    report: PainReport
    action: cautions.PainAction
    new: bool


@transaction.atomic
def take_pain(
    client: Client,
    *,
    key: str,
    score: int,
    body_part: str,
    side: str,
    felt_on: date,
    alarms: tuple[str, ...] = (),
    session: TrainingSession | None = None,
    exercise: Exercise | None = None,
    note: str = "",
) -> PainReceived:
    """Receives one report, once by its key. From 3 on, what loads the place waits for the coach at once."""
    Client.objects.select_for_update().only("pk").get(pk=client.pk)
    rows = PainReport.objects.filter(client=client, body_part=body_part).order_by("felt_on", "pk")
    known = PainReport.objects.filter(client=client, key=key).first()
    earlier = [
        cautions.PainNote(row.felt_on, row.score, tuple(row.alarms))
        for row in rows
        if known is None or row.pk < known.pk
    ]
    in_force = next((row.action for row in reversed(list(rows)) if row.state == PainReport.State.OPEN), "go_on")
    action = cautions.pain_action(score, day=felt_on, alarms=alarms, earlier=earlier, in_force=in_force)
    if known is not None:
        return PainReceived(known, action, new=False)
    affected = cautions.affected(body_part, side)
    report = PainReport.objects.create(
        client=client,
        session=session,
        exercise=None if exercise is None else standing(exercise),
        key=key,
        body_part=body_part,
        side=side,
        score=score,
        alarms=list(alarms),
        note=note,
        action=action.action,
        affected={
            "joints": list(affected.joints),
            "patterns": list(affected.patterns),
            "regions": list(affected.regions),
            "everything": affected.everything,
        },
        felt_on=felt_on,
        # Nothing to decide: noted, and kept for the pattern it may become part of.
        state=PainReport.State.OPEN if action.tell_coach else PainReport.State.ANSWERED,
    )
    return PainReceived(report, action, new=True)


def answer_pain(report: PainReport, coach: Coach, text: str) -> None:
    """The coach's decision: what was paused goes on as the sheets then say."""
    with journal.act(report.client.practice, coach, "pain.answer", about=f"client:{report.client.public_id}") as entry:
        entry.change(report)
        report.state = PainReport.State.ANSWERED
        report.answer = text
        report.answered_by = coach
        report.answered_at = timezone.now()
        report.save(update_fields=["state", "answer", "answered_by", "answered_at"])


def held_back(client: Client) -> list[dict[str, Any]]:
    """What open reports hold back, as plain values without scores or words. One query."""
    rows = client.pain_reports.filter(state=PainReport.State.OPEN, action__in=["freeze", "stop"])
    return [{"action": row.action, **row.affected} for row in rows]


def is_held(facts: dict[str, Any], holds: list[dict[str, Any]]) -> bool:
    """Whether a sheet line with these facts ({"pattern", "joints", "regions"}) waits for the coach."""
    return any(
        hold["everything"]
        or facts["pattern"] in hold["patterns"]
        or not set(facts["joints"]).isdisjoint(hold["joints"])
        or not set(facts["regions"]).isdisjoint(hold["regions"])
        for hold in holds
    )
