"""The tables of an export: which columns each has, what they mean, and its rows as values, one query a table.

Cells of text that a spreadsheet would run get an apostrophe before them (``programs.exchange.cells``); numbers stand
in columns of numbers, help and added weight in one each, so that none needs a sign.
"""

import codecs
import csv
import io
import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from clients.models import (
    Bodyweight,
    Client,
    LoggedPart,
    LoggedSet,
    LoggedSetRevision,
    Original,
    Proposal,
    TargetSet,
    TrainingSession,
)
from programs.exchange.cells import guard
from programs.reasons import sentence_of

ROWS_AT_ONCE = 1000

Word = str | Promise
Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Column:
    """``source`` is the field's lookup, or makes the value from the row; ``meaning`` is for people."""

    name: str
    source: str | Callable[[Row], Any]
    meaning: Word

    def of(self, row: Row) -> Any:
        return row[self.source] if isinstance(self.source, str) else self.source(row)


@dataclass(frozen=True, slots=True)
class Table:
    """One file. ``also`` are lookups that only columns made from the row need."""

    file: str
    meaning: Word
    rows: Callable[[Client], QuerySet[Any]]
    columns: Sequence[Column]
    also: tuple[str, ...] = ()

    def read(self, client: Client) -> Iterator[Row]:
        """Rows one after the other, however many: one query."""
        lookups = dict.fromkeys([*(one.source for one in self.columns if isinstance(one.source, str)), *self.also])
        yield from self.rows(client).values(*lookups).iterator(chunk_size=ROWS_AT_ONCE)

    def lines(self, client: Client, decimal_comma: bool) -> Iterator[bytes]:
        """The file in pieces, its mark and its head first."""
        yield codecs.BOM_UTF8 + _line([column.name for column in self.columns], decimal_comma)
        for row in self.read(client):
            yield _line([cell(column.of(row), decimal_comma) for column in self.columns], decimal_comma)


def _line(cells: Iterable[str], decimal_comma: bool) -> bytes:
    out = io.StringIO()
    csv.writer(out, delimiter=";" if decimal_comma else ",", quoting=csv.QUOTE_ALL, lineterminator="\r\n").writerow(
        cells
    )
    return out.getvalue().encode()


def cell(value: Any, decimal_comma: bool = False) -> str:
    """A value as a cell: days as 2026-03-31, moments with their zone, "yes" and "no", nothing for the unknown."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal | float):
        plain = f"{Decimal(str(value)).normalize():f}"
        return plain.replace(".", ",") if decimal_comma else plain
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, int):
        return str(value)
    return guard(str(value))


def _where_entered(entry: str) -> Callable[[Row], Any]:
    return lambda row: row["load_value"] if row["exercise__load_entry"] == entry else None


def _of(field: str, name: str) -> Callable[[Row], Any]:
    return lambda row: (row[field] or {}).get(name)


def _load(name: str) -> Callable[[Row], Any]:
    """A proposal's load, as it was stored."""
    return lambda row: _figure((row[name] or {}).get("load"))


def _figure(value: Any) -> Decimal | None:
    return None if value is None else Decimal(str(value))


# Reasons that tell of health, and the kinds of change that come of them: they stand in the health file alone.
_OF_HEALTH = (
    "pain_",
    "ill_",
    "after_illness",
    "stopped_",
    "not_estimated_pain",
    "rir_floor",
    "rest_floor",
    "share_of_max",
    "check_set_barred",
    "test_barred",
)
HELD_BACK = ("freeze", "stop", "ill")


def is_of_health(reason: Mapping[str, Any]) -> bool:
    return str(reason["code"]).startswith(_OF_HEALTH)


def _reasons(row: Row) -> str:
    unit = (row["new"] or {}).get("unit", "")
    return " ".join(_sentence(reason, unit) for reason in row["reasons"] if not is_of_health(reason))


def _sentence(reason: Mapping[str, Any], unit: str) -> str:
    try:
        return sentence_of(reason, None, unit)
    except KeyError:  # a reason of years ago, whose words have come to ask for more than it says
        return str(reason["code"])


def _kind(row: Row) -> str:
    return "held_back" if row["kind"] in HELD_BACK else str(row["kind"])


_LOAD = (
    Column("value", "load_value", _("the load as it was typed; empty: none")),
    Column("unit", "load_unit", _("kg, lb, setting (the number of a hole) or band")),
    Column("grams", "load_grams", _("the load in grams, where it has a weight")),
    Column("raw", "load_text", _("the characters that were typed")),
)

SESSIONS = Table(
    "sessions.csv",
    _("every session that was planned, and what became of it"),
    lambda client: TrainingSession.objects.for_client(client).order_by("block__number", "cycle", "position"),
    (
        Column("session_id", "public_id", _("the same id in all files")),
        Column("block", "block__number", _("number of the block")),
        Column("cycle", "cycle", _("week or cycle of the block, from 1")),
        Column("position", "position", _("place within it, from 0")),
        Column("name", "name", _("what it is called")),
        Column("planned_on", "planned_on", _("its day; empty: any day")),
        Column("start_time", "start_time", _("local time")),
        Column("minutes", "minutes", _("minutes planned")),
        Column("easier", "deload", _("whether it was planned easier")),
        Column("state", "state", _("planned, trained, missed, dropped or held")),
        Column("trained_on", "trained_on", _("the day it was trained")),
        Column("place", lambda row: row["elsewhere__name"] or row["block__place__name"], _("where")),
        Column("sleep", "said__sleep", _("1 poor, 2 usual, 3 good")),
        Column("energy", "said__energy", _("1 low, 2 usual, 3 high")),
        Column("effort", "said__effort", _("how hard, 0 to 10")),
        Column("note", "said__text", _("what was written around it")),
    ),
    also=("elsewhere__name", "block__place__name"),
)

PLANNED = Table(
    "planned.csv",
    _("every set that was planned"),
    lambda client: TargetSet.objects.filter(prescription__session__block__client=client).order_by(
        "prescription__session__block__number",
        "prescription__session__cycle",
        "prescription__session__position",
        "prescription__position",
        "number",
    ),
    (
        Column("session_id", "prescription__session__public_id", _("the same id in all files")),
        Column("line", "prescription__position", _("place within the session, from 0")),
        Column("exercise_id", "prescription__exercise__public_id", _("the same id in all files")),
        Column("exercise", "prescription__exercise__name", _("name of the exercise")),
        Column("number", "number", _("number of the set")),
        Column("kind", "kind", _("work, warm_up, back_off, drop, ...")),
        Column("reps_low", "reps_low", _("repetitions from")),
        Column("reps_high", "reps_high", _("repetitions to")),
        Column("open_ended", "open_ended", _("as many as go")),
        Column("seconds", "seconds", _("seconds to hold")),
        Column("metres", "metres", _("metres to go")),
        *_LOAD[:3],
        Column("rir", "rir", _("repetitions to leave in reserve")),
        Column("rest_s", "rest_s", _("rest after it, in seconds")),
        Column("tempo", "tempo", _("seconds down, still, up, still")),
    ),
)

SETS = Table(
    "sets.csv",
    _("every set that came in, those taken back too"),
    lambda client: LoggedSet.objects.for_client(client).in_order(),
    (
        Column("set_id", "public_id", _("the same id in all files")),
        Column("day", "performed_on", _("the day it was done")),
        Column("at", "performed_at", _("the moment, where it is known")),
        Column("session_id", "session__public_id", _("the session it belongs to")),
        Column("order", "order", _("order within the day")),
        Column("exercise_id", "exercise__public_id", _("the same id in all files")),
        Column("exercise", "exercise__name", _("name of the exercise")),
        Column("load_entry", "exercise__load_entry", _("what the value counts: total, per_hand, stack, added, ...")),
        Column("line", "line", _("line of the sheet")),
        Column("number", "number", _("number of the set")),
        Column("kind", "kind", _("work, warm_up, back_off, drop, ...")),
        *_LOAD,
        Column("added", _where_entered("added"), _("the value again, where it is added to the body")),
        Column("assistance", _where_entered("assisted"), _("the value again, where it is help")),
        Column("reps", "reps", _("repetitions")),
        Column("seconds", "seconds", _("seconds held")),
        Column("metres", "metres", _("metres gone")),
        Column("rir", "rir", _("repetitions left in reserve; empty: not said")),
        Column("bodyweight_grams", "bodyweight_grams", _("bodyweight used, in grams")),
        Column("as_planned", "as_planned", _("confirmed in one tap")),
        Column("place", "place__name", _("where")),
        Column("note", "note", _("what was written to it")),
        Column("way", "way", _("phone, form, message, paper, import or demo")),
        Column("recorded_at", "recorded_at", _("when it came in")),
        Column("recorded_by", "recorded_by__name", _("the coach who typed it; empty: the client")),
        Column("state", "state", _("counts, asked (to be checked) or back (taken back)")),
        Column("revision", "revision", _("1: as it first came in")),
    ),
)

PARTS = Table(
    "parts.csv",
    _("drops, short rests and sides within a set"),
    lambda client: LoggedPart.objects.filter(logged_set__client=client).order_by(
        "logged_set__performed_on", "logged_set__order", "logged_set", "number"
    ),
    (
        Column("set_id", "logged_set__public_id", _("the set it is part of")),
        Column("number", "number", _("order within the set")),
        Column("sort", "sort", _("drop, pause (a short rest), left or right")),
        *_LOAD,
        Column("reps", "reps", _("repetitions")),
        Column("seconds", "seconds", _("seconds held")),
    ),
)

BODYWEIGHT = Table(
    "bodyweight.csv",
    _("bodyweight, at most once a day"),
    lambda client: Bodyweight.objects.filter(client=client).order_by("measured_on"),
    (
        Column("day", "measured_on", _("the day")),
        Column("value", "value", _("as it was typed")),
        Column("unit", "unit", _("kg or lb")),
        Column("grams", "grams", _("in grams")),
    ),
)

DECISIONS = Table(
    "decisions.csv",
    _("every change that was proposed, why, and what the coach decided"),
    lambda client: Proposal.objects.filter(client=client).order_by("made_at", "pk"),
    (
        Column("proposal_id", "public_id", _("its id")),
        Column("session_id", "session__public_id", _("the session it was for")),
        Column("exercise_id", "exercise__public_id", _("the same id in all files")),
        Column("exercise", "exercise__name", _("name of the exercise")),
        Column("kind", _kind, _("what kind of change")),
        Column("unit", _of("new", "unit"), _("unit of the three loads")),
        Column("old_load", _load("old"), _("load before")),
        Column("new_load", _load("new"), _("load proposed")),
        Column("decided_load", _load("decided"), _("load decided; empty where nothing was")),
        Column("decided_sets", _of("decided", "sets"), _("sets decided")),
        Column("reasons", _reasons, _("why it was proposed, apart from health")),
        Column("state", "state", _("waiting, accepted, edited, declined or superseded")),
        Column("made_at", "made_at", _("when it was proposed")),
        Column("decided_at", "decided_at", _("when it was decided")),
        Column("decided_by", "decided_by__name", _("by whom")),
    ),
    also=("kind", "old", "new", "decided", "reasons"),
)

REVISIONS = Table(
    "revisions.csv",
    _("sets as they were before a correction"),
    lambda client: LoggedSetRevision.objects.filter(logged_set__client=client).order_by("logged_set", "number"),
    (
        Column("set_id", "logged_set__public_id", _("the set that was corrected")),
        Column("revision", "number", _("which revision this was")),
        Column("values", lambda row: json.dumps(row["values"], ensure_ascii=False), _("what it said, as JSON")),
        Column("replaced_at", "replaced_at", _("when it was corrected")),
        Column("replaced_by", "replaced_by__name", _("the coach who did; empty: the client")),
    ),
    also=("values",),
)

ORIGINALS = Table(
    "originals.csv",
    _("what came in, as it came"),
    lambda client: Original.objects.filter(client=client).order_by("received_at", "pk"),
    (
        Column("received_at", "received_at", _("when")),
        Column("way", "way", _("phone, form, message, paper, import or demo")),
        Column("session_id", "session__public_id", _("the session it was for")),
        Column("text", "text", _("the message")),
        Column("fields", lambda row: json.dumps(row["fields"], ensure_ascii=False), _("the fields, as JSON")),
        Column("received_by", "received_by__name", _("the coach who took it; empty: the client")),
    ),
    also=("fields",),
)

TABLES = (SESSIONS, PLANNED, SETS, PARTS, BODYWEIGHT, DECISIONS, REVISIONS, ORIGINALS)
