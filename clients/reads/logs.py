"""What came back from a client, session by session, newest first."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

from django.db.models import Count, Exists, OuterRef, Prefetch, Q, QuerySet
from django.db.models.functions import Coalesce

from clients.models import Client, LoggedSet, TrainingSession
from clients.phone.rows import TRIES_FROM, as_done
from clients.sheets import wording

FILTERS = ("all", "open", "doubt")
# What a set is said with.
SAID = (
    "session_id",
    "order",
    "number",
    "kind",
    "reps",
    "seconds",
    "metres",
    "rir",
    "load_value",
    "load_unit",
    "load_text",
    "state",
    "way",
    "performed_on",
    "exercise__name",
    "exercise__load_entry",
    "exercise__limbs",
    "exercise__pattern",
    "exercise__implement",
    "exercise__bodyweight_fraction",
)


@dataclass(frozen=True, slots=True)
class LiftDone:
    """One exercise of one session in words: "72.5 × 8, 8, 7 · RIR 2–3"."""

    name: str
    words: str
    effort: str
    asked: bool


def sessions_of(client: Client, today: date, kind: str) -> QuerySet[TrainingSession]:
    """The client's sessions that are behind or due, with what was logged. Two queries a page."""
    kept = LoggedSet.objects.exclude(state=LoggedSet.State.TAKEN_BACK)
    logged = kept.select_related("exercise").only(*SAID).order_by("order", "pk")
    sessions = (
        TrainingSession.objects.for_client(client)
        .to_train()
        .select_related("block", "said")
        .prefetch_related(Prefetch("logged_sets", logged))
        .annotate(on=Coalesce("trained_on", "planned_on"))
    )
    state = TrainingSession.State
    doubtful = LoggedSet.objects.filter(session=OuterRef("pk"), state=LoggedSet.State.ASKED)
    if kind == "open":
        sessions = sessions.filter(state=state.PLANNED, block__state="active").filter(
            Q(planned_on__lte=today) | Q(planned_on=None)
        )
        return sessions.order_by("planned_on", "cycle", "position")
    if kind == "doubt":
        sessions = sessions.filter(Exists(doubtful))
    else:
        sessions = sessions.filter(
            ~Q(state=state.PLANNED) | Q(planned_on__lte=today) | Q(planned_on=None, block__state="active")
        )
    return sessions.order_by("-on", "-block__number", "-cycle", "-position")


def counts(client: Client, today: date) -> dict[str, int]:
    """How many sessions wait to be typed in, and how many have sets to be checked. Two queries."""
    return {
        "open": sessions_of(client, today, "open").order_by().count(),
        "doubt": LoggedSet.objects.for_client(client)
        .filter(state=LoggedSet.State.ASKED, session__isnull=False)
        .aggregate(count=Count("session", distinct=True))["count"],
    }


def lifts_of(rows: Iterable[LoggedSet]) -> list[LiftDone]:
    """What was done, exercise by exercise in the order of the sets; tries of a load are left out."""
    kept = [row for row in rows if (row.number or 0) <= TRIES_FROM and row.kind != "warm_up"]
    lifts: dict[int, list[LoggedSet]] = {}
    for row in kept:
        lifts.setdefault(row.exercise_id, []).append(row)
    return [
        LiftDone(
            sets[0].exercise.name,
            done_words(sets),
            effort_words(sets),
            any(row.state == LoggedSet.State.ASKED for row in sets),
        )
        for sets in lifts.values()
    ]


def done_words(sets: Sequence[LoggedSet]) -> str:
    """Sets with the same load said once: "72.5 × 8, 8, 7; 70 × 8"."""
    return "; ".join(_run(list(run)) for _load, run in groupby(sets, key=lambda row: (row.load_value, row.load_unit)))


def _run(sets: Sequence[LoggedSet]) -> str:
    facts = sets[0].exercise
    line: dict[str, Any] = {
        "exercise": {
            "load_entry": facts.load_entry,
            "limbs": facts.limbs,
            "pattern": facts.pattern,
            "implement": facts.implement,
            "bodyweight_fraction": float(facts.bodyweight_fraction),
        },
        "load_names": [],
    }
    done = [as_done(row) for row in sets]
    figure = wording.load_figure(line, done[0]["load"]) if done[0]["load"] is not None else ""
    much = ", ".join(wording.done_amount(one) for one in done)
    return f"{figure}{wording.NBSP}{wording.TIMES}{wording.NBSP}{much}" if figure and figure != "0" else much


def effort_words(sets: Sequence[LoggedSet]) -> str:
    """The effort as said, "2–3"; "?" where nobody said it."""
    said = [row.rir for row in sets if row.rir is not None]
    if not said:
        return "?" if any(row.reps is not None for row in sets) else ""
    low, high = min(said), max(said)
    return wording.number(low) if low == high else f"{wording.number(low)}{wording.RANGE}{wording.number(high)}"


def loose_sets(client: Client, most: int = 30) -> list[LoggedSet]:
    """Sets that belong to no session, newest first: history typed in. One query."""
    rows = LoggedSet.objects.for_client(client).filter(session=None).exclude(state=LoggedSet.State.TAKEN_BACK)
    rows = rows.select_related("exercise").only(*SAID)
    return list(rows.order_by("-performed_on", "exercise__name", "order")[:most])
