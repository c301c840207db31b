"""Looks at a set before it counts: odd loads are asked about once, never changed and never dropped."""

from decimal import Decimal
from typing import Any

from django.db.models import Q

from clients.models import Client, LoggedSet, TrainingSession
from clients.receiving.values import SetValues
from programs.engine import cautions
from programs.engine.vocabulary import SAME_ANYWHERE
from programs.models import Exercise
from programs.units import Load

RECENT_SETS = 30
WORK_FROM = 0.9  # of the load that the work is done with: what is lighter leads up to it; coaching practice


def doubts_about(
    client: Client,
    exercise: Exercise,
    values: SetValues,
    sheet_line: dict[str, Any] | None,
    session: TrainingSession | None,
) -> list[dict[str, Any]]:
    """Questions about a set as [{"code", "params"}]; empty when nothing is odd.

    Where one correction would put it right, params have it as ``offer_load``, ``offer_unit`` and ``offer_reps``.
    """
    if values.load is None or values.load.value < 0 or values.kind == "warm_up":
        return []
    place_id = session.place.pk if session is not None else None
    rows = LoggedSet.objects.for_client(client).counting().filter(exercise=exercise, kind="work")
    if place_id is not None:
        rows = rows.filter(place_id=place_id)
    station = (sheet_line or {}).get("station")
    if station and exercise.implement not in SAME_ANYWHERE:
        # Another machine's figures say nothing here; where none was kept it was this one.
        rows = rows.filter(Q(station=None) | Q(station__public_id=station))
    rows = rows.exclude(load_value=None).order_by("-performed_on", "-order")[:RECENT_SETS]
    unit = values.load.unit
    recent = [load for row in rows if row.load is not None and (load := row.load.in_unit(unit)) is not None]
    planned = _planned(sheet_line, unit)
    jump = cautions.check_load(
        float(values.load.value),
        values.reps,
        recent or planned,
        unit,
        load_entry=exercise.load_entry,
        next_loads=planned,
    )
    if jump is None:
        return []
    params: dict[str, Any] = {"load": float(values.load.value), **jump.params, "unit": unit}
    usual = jump.params.get("usual")
    if jump.code == "far_off" and isinstance(usual, float) and float(values.load.value) < WORK_FROM * usual:
        params["offer_kind"] = "warm_up"
    if jump.load is not None:
        params |= {"offer_load": jump.load, "offer_unit": jump.unit, "offer_reps": jump.reps}
    return [{"code": jump.code, "params": params}]


def _planned(sheet_line: dict[str, Any] | None, unit: str) -> list[float]:
    """What the sheet asked for, in the unit of the set that came in."""
    loads = []
    for target in (sheet_line or {}).get("sets", []):
        if target["load"] is None:
            continue
        load = Load(Decimal(str(target["load"]["value"])), target["load"]["unit"])
        converted = load.in_unit(unit)
        if converted is not None:
            loads.append(converted)
    return loads
