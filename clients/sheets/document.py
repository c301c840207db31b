"""The sheet's document: everything that page, PDF and form reader need, as plain JSON that never changes.

{"format": 1, "client": {initials, name, language, unit, large_print}, "coach": {name}, "practice": {name, paper},
 "session": {id, name, day, occurrence, planned_on, week, weeks, block, deload, minutes, first, cycle_days?},
 "place": {id, name, unit}, "regions": {primary, secondary}, "effort": {floor, share, rest_s, advice},
 "lines": [exercise line or free line, ...]}

An exercise line: {"number", "free": false, "slot", "title", "role", "superset", "reason", "because": [{code, params}],
 "exercise": EXERCISE, "sets": [SET], "warm_up": [{load, reps, plates}], "finding": {loads, reps} or null,
 "plates": PLATES or null, "loadable": [values], "last": {on, sets} or null, "swaps": [{exercise, load}]}
 A line with a load that can't be made there that day has "instead": [{"wanted": load, "choices": [{load, plates,
 change}]}], ``change`` as a share of the wanted one.
A session of a rolling cycle has "cycle_days", and counts cycles where others count weeks. A line whose slot has a
 technique note has "technique".
A free line: {"number", "free": true, "text", "minutes"}.
EXERCISE: {id, name, pattern, implement, load_entry, rep_unit, limbs, bodyweight_fraction, primary, secondary,
 joints, regions, set_up, execution, cautions, figure?}.
SET: {number, kind, reps, open, seconds, metres, load, rir, rest_s, tempo}.
A load is {"value", "unit"} as the place can put it together, or null for none yet.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.utils import translation

from clients.models import Client, LoggedSet, Prescription, TrainingSession
from clients.reads.health import Standing
from clients.reads.lengths import length_of
from clients.reads.library import exercise_term
from clients.reads.racks import Loads, PlaceLoads
from programs.engine import ramp
from programs.engine.racks import Loading, Rack
from programs.engine.vocabulary import REGIONS
from programs.models import Exercise
from programs.units import Load

FORMAT = 1
HELD_SHARE = 0.5  # what loads a region so much waits when that region hurts
LOADABLE_AROUND = 24  # how many loads up and down the phone's − and + can step through


def digest_of(document: Mapping[str, Any]) -> str:
    """Names the document's content: the key of its PDFs."""
    text = json.dumps(document, sort_keys=True, cls=DjangoJSONEncoder, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def build(
    session: TrainingSession,
    *,
    standing: Standing,
    loads: PlaceLoads,
    last: Mapping[str, Sequence[LoggedSet]],
    swaps: Mapping[str, Sequence[Exercise]],
    first: bool,
) -> dict[str, Any]:
    """The document of a session as it stands.

    ``session`` comes from ``with_lines()``; ``last`` maps slot keys to the sets last logged there, ``swaps`` to
    approved stand-ins (rows with facts and texts); ``first`` marks a client's first session.
    """
    block, place = session.block, session.place
    client = block.client
    with translation.override(client.language):
        lines = _lines(session, client, loads, last, swaps)
    worked = [line["exercise"] for line in lines if not line["free"]]
    primary = _ordered(region for exercise in worked for region in exercise["primary"])
    return {
        "format": FORMAT,
        "client": {
            "initials": client.initials,
            "name": client.name,
            "language": client.language,
            "unit": client.unit,
            "large_print": client.large_print,
        },
        "coach": {"name": client.coach.name},
        "practice": {"name": client.practice.name, "paper": client.practice.paper},
        "session": {
            "id": str(session.public_id),
            "name": session.name,
            "day": session.day_key,
            "occurrence": session.occurrence,
            "planned_on": session.planned_on.isoformat() if session.planned_on else None,
            "week": session.cycle,
            "weeks": block.rounds,
            **({"cycle_days": block.cycle_days} if block.rolling else {}),
            "block": block.number,
            "deload": session.deload,
            "minutes": length_of(session),
            "first": first,
        },
        "place": {"id": str(place.public_id), "name": place.name, "unit": place.unit},
        "regions": {
            "primary": primary,
            "secondary": [
                region
                for region in _ordered(region for exercise in worked for region in exercise["secondary"])
                if region not in primary
            ],
        },
        "effort": {
            "floor": standing.effort.rir,
            "share": standing.effort.share_of_max,
            "rest_s": standing.effort.rest_s,
            "advice": list(standing.effort.advice),
            "supervised": standing.minor,
        },
        "lines": lines,
    }


def _lines(
    session: TrainingSession,
    client: Client,
    loads: PlaceLoads,
    last: Mapping[str, Sequence[LoggedSet]],
    swaps: Mapping[str, Sequence[Exercise]],
) -> list[dict[str, Any]]:
    warm: set[str] = set()
    lines: list[dict[str, Any]] = []
    for number, row in enumerate(session.prescriptions.all(), start=1):
        if row.exercise is None:
            lines.append({"number": number, "free": True, "text": row.text, "minutes": row.minutes})
            continue
        line = _line(number, row, row.exercise, client, loads, warm)
        if not line["sets"]:
            continue  # left out until the coach has decided, as after pain of 5 or more
        line["last"] = _last(last.get(row.slot_key, ()))
        line["swaps"] = [_swap(swap, client) for swap in swaps.get(row.slot_key, ())]
        warm.update(line["exercise"]["primary"])
        lines.append(line)
    return lines


def _line(
    number: int, row: Prescription, exercise: Exercise, client: Client, loads: PlaceLoads, warm: set[str]
) -> dict[str, Any]:
    term = exercise_term(exercise)
    targets = [_target(target) for target in row.target_sets.all()]
    offered = loads.for_exercise(term, helped=any(_below_nothing(target["load"]) for target in targets))
    work = next((target for target in targets if target["kind"] != "warm_up"), None)
    weight = _as_float(work["load"], offered.rack.unit) if work else None
    reps = _reps_of(work)
    first = not set(term.primary_regions()) <= warm
    warm_up = (
        [
            {"load": _load(load, offered.rack), "reps": count, "plates": plates_of(offered, load)}
            for load, count in ramp.warmup(weight, reps, offered.rack, row.role, first)
        ]
        if weight is not None and reps
        else []
    )
    finding = None
    if row.finds_load and reps:
        steps = ramp.load_finding(offered.rack, reps)
        finding = {
            "loads": [_load(load, offered.rack) for load in steps.loads],
            "reps": reps,
            "go_on": steps.go_on_rir,
            "stop": steps.stop_rir,
        }
    return {
        "number": number,
        "free": False,
        "slot": row.slot_key,
        "title": row.slot_title,
        "role": row.role,
        "superset": row.superset,
        "reason": row.reason_text,
        **({"technique": row.technique} if row.technique else {}),
        "because": row.reasons,
        "exercise": exercise_facts(exercise, client.language),
        "station": str(row.station.public_id) if row.station else None,
        "unit": offered.rack.unit,
        "sets": targets,
        "warm_up": warm_up,
        "finding": finding,
        "plates": plates_of(offered, weight) if weight is not None else None,
        "loadable": loadable_around(offered.rack, weight),
        "load_names": list(offered.rack.names),
        **instead_of(offered, [target["load"] for target in targets]),
    }


def exercise_facts(exercise: Exercise, language: str) -> dict[str, Any]:
    """An exercise as the sheet keeps it, words in the client's language with fallback."""
    text = text_in(exercise, language)
    term = exercise_term(exercise)
    return {
        "id": exercise.key,
        "name": (text.name if text and text.name else exercise.name),
        "pattern": exercise.pattern,
        "implement": exercise.implement,
        "load_entry": exercise.load_entry,
        "rep_unit": exercise.rep_unit,
        "limbs": exercise.limbs,
        "bodyweight_fraction": float(exercise.bodyweight_fraction),
        "primary": list(term.primary_regions()),
        "secondary": [share.region for share in term.regions if share.share < 1],
        "regions": [share.region for share in term.regions if share.share >= HELD_SHARE],
        "joints": [stress.joint for stress in term.joints],
        "set_up": list(text.set_up) if text else [],
        "execution": list(text.execution) if text else [],
        "cautions": text.cautions if text else "",
        **({"figure": exercise.figure} if exercise.figure else {}),
    }


def text_in(exercise: Exercise, language: str) -> Any:
    """The exercise's text in a language, else in the practice's, else in any; None where it has none."""
    texts = {text.language: text for text in exercise.texts.all()}
    for wanted in (language, "en"):
        if wanted in texts:
            return texts[wanted]
    return next(iter(texts.values()), None)


def _target(target: Any) -> dict[str, Any]:
    return {
        "number": target.number,
        "kind": target.kind,
        "reps": None if target.reps_low is None else [target.reps_low, target.reps_high or target.reps_low],
        "open": target.open_ended,
        "seconds": target.seconds,
        "metres": target.metres,
        "load": load_value(target.load),
        "rir": None if target.rir is None else float(target.rir),
        "rest_s": target.rest_s,
        "tempo": target.tempo,
    }


def load_value(load: Load | None) -> dict[str, str] | None:
    """A load as JSON: the value as plain digits, and its unit."""
    return None if load is None else {"value": f"{load.value.normalize():f}", "unit": load.unit}


def _load(load: float, rack: Rack) -> dict[str, str]:
    return {"value": f"{load:g}", "unit": rack.unit}


def _as_float(load: Mapping[str, str] | None, unit: str) -> float | None:
    if load is None:
        return None
    return Load(Decimal(load["value"]), load["unit"]).in_unit(unit)


def _reps_of(work: Mapping[str, Any] | None) -> int:
    return work["reps"][0] if work and work["reps"] else 0


def plates_of(offered: Loads, load: float | None) -> dict[str, Any] | None:
    """What to put on: the bar and one side's plates, heaviest first; None for loads not made from plates."""
    loading: Loading | None = offered.loading(load) if load is not None else None
    if loading is None:
        return None
    return {
        "bar": None if loading.bar is None else {"value": f"{loading.bar:g}", "unit": loading.bar_unit},
        "per_side": [{"value": f"{weight:g}", "unit": unit} for weight, unit in loading.per_side],
        **({"one_end": True} if loading.sides == 1 else {}),
    }


def instead_of(offered: Loads, loads: Iterable[Mapping[str, str] | None]) -> dict[str, Any]:
    """For loads that the rack does not have: what it has below and above, with the plates. Nothing where all are."""
    found, rack = [], offered.rack
    if rack.loads and not rack.ordinal:
        for value, unit in dict.fromkeys((load["value"], load["unit"]) for load in loads if load is not None):
            wanted = _as_float({"value": value, "unit": unit}, rack.unit)
            if wanted is None or rack.has(wanted) or offered.loading(wanted) is not None:
                continue
            choices = [
                {
                    "load": _load(one.load, rack),
                    "plates": plates_of(offered, one.load),
                    "change": None if one.change is None else round(one.change, 4),
                }
                for one in rack.around(wanted)
            ]
            found.append({"wanted": {"value": value, "unit": unit}, "choices": choices})
    return {"instead": found} if found else {}


def _below_nothing(load: Mapping[str, str] | None) -> bool:
    return load is not None and Decimal(load["value"]) < 0


def loadable_around(rack: Rack, load: float | None) -> list[str]:
    """The loads that − and + step through on the phone."""
    offered = rack.loads
    if not offered:
        return []
    nearest = rack.nearest(load) if load is not None else offered[0]
    at = offered.index(nearest) if nearest is not None else 0
    return [f"{value:g}" for value in offered[max(0, at - LOADABLE_AROUND) : at + LOADABLE_AROUND + 1]]


def _last(rows: Sequence[LoggedSet]) -> dict[str, Any] | None:
    if not rows:
        return None
    return {
        "on": rows[0].performed_on.isoformat(),
        "sets": [
            {
                "load": load_value(row.load),
                "reps": row.reps,
                "seconds": row.seconds,
                "metres": row.metres,
                "rir": None if row.rir is None else float(row.rir),
            }
            for row in rows
        ],
    }


def _swap(exercise: Exercise, client: Client) -> dict[str, Any]:
    facts = exercise_facts(exercise, client.language)
    return {"exercise": facts}


def _ordered(regions: Iterable[str]) -> list[str]:
    found = set(regions)
    return [region for region in REGIONS if region in found]
