"""The grid in which a coach types a session in, cell by cell or from a message."""

import re
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.dateparse import parse_date
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients import pasted
from clients.clock import today_for
from clients.entry import Boxes, Unread, cell_text, example, read_boxes, read_cell
from clients.models import LoggedSet, Original, TrainingSession
from clients.reads.log_grid import MOST_COLUMNS, Cell, Grid, GridLine, grid_of
from clients.reads.people import client_head
from clients.receiving import SetValues, values_of
from clients.services import logs
from clients.services.logs import TypedSet
from clients.sheets import wording
from clients.since_words import since_rows
from clients.views.common import undo_tag
from clients.views.logs import doubt_row, own_session
from coachdesk.practice.access import CoachRequest, coach_required
from programs import labels

LONG_BEFORE = timedelta(days=182)  # half a year
FORM_KEY = re.compile(r"^[0-9a-f]{32}$")
CELL_NAME = re.compile(r"^c-(\d{1,3})-(\d{1,3})(?:-amount)?$")


@dataclass(slots=True)
class Shown:
    """What the grid shows: texts in the cells, what is wrong with them, and the message beside it."""

    texts: dict[tuple[int, int], str] = field(default_factory=dict)
    boxes: dict[tuple[int, int], Boxes] = field(default_factory=dict)
    wrong: dict[tuple[int, int], str] = field(default_factory=dict)
    heard_in: set[tuple[int, int]] = field(default_factory=set)
    day: str = ""
    day_wrong: str = ""
    message: str = ""
    heard: tuple[pasted.HeardLine, ...] = ()
    known_message: Original | None = None
    form_key: str = ""
    extra: int = 0
    by_boxes: bool = False


@coach_required
@require_http_methods(["GET", "HEAD", "POST"])
def session_log(request: CoachRequest, public_id: str) -> HttpResponse:
    """The grid of a session: what is known of it, and what a coach types in."""
    session = own_session(request, public_id)
    data = request.POST if request.method == "POST" else request.GET
    extra = min(int(data.get("extra", "0")), MOST_COLUMNS) if data.get("extra", "0").isdecimal() else 0
    if request.method != "POST":
        grid = grid_of(session, extra=extra)
        shown = Shown(day=grid.day.isoformat(), form_key=uuid.uuid4().hex, extra=extra)
        shown.by_boxes = "boxes" in request.GET
        return _page(request, grid, shown)
    return _received(request, session, extra)


def _received(request: CoachRequest, session: TrainingSession, extra: int) -> HttpResponse:
    """Reads the posted cells and message, and either asks again (422), shows what was read, or writes it."""
    data = request.POST
    go = data.get("go", "save")
    message = data.get("message", "").strip()[: pasted.MOST_TEXT]
    language = get_language() or "en"
    plain = grid_of(session, extra=extra)
    names = pasted.names_of(plain) if message else {}
    room = pasted.room_for(message, names, session.place.unit, language) if message else {}
    grid = grid_of(session, extra=extra, upto=room) if room else plain
    shown = Shown(
        day=data.get("day", ""),
        message=message,
        form_key=data.get("form_key", "") if FORM_KEY.match(data.get("form_key", "")) else uuid.uuid4().hex,
        extra=extra,
        by_boxes="boxes" in data,
    )
    digest = pasted.digest_of(session, message) if message else ""
    if message:
        shown.known_message = Original.objects.filter(client=grid.client, way="message", digest=digest).first()
        chosen = {
            int(name.removeprefix("which-")): str(value)
            for name, value in data.items()
            if re.fullmatch(r"which-\d{1,3}", name) and value
        }
        shown.heard = pasted.hear(grid, message, names, language, chosen)
    if go == "more":
        shown.extra = extra + 1
        grid = grid_of(session, extra=shown.extra, upto=room)
    typed, taken_back = _typed(data, grid, shown, language)
    on = _day(shown, grid)
    if go == "read" or (message and shown.known_message is not None):
        _fill_in(grid, shown)
        return _page(request, grid, shown)
    if go == "more":
        return _page(request, grid, shown)
    if shown.wrong or on is None:
        return _page(request, grid, shown, status=422)
    for line in shown.heard:
        for one in line.sets:
            if one.rival and one.values is not None and f"r-{one.line}-{one.number}" in data:
                typed.append(TypedSet(one.line, one.number, one.values))
    return _written(request, grid, shown, typed, taken_back, on, digest)


def _written(
    request: CoachRequest,
    grid: Grid,
    shown: Shown,
    typed: list[TypedSet],
    taken_back: list[LoggedSet],
    on: date,
    digest: str,
) -> HttpResponse:
    made = logs.enter(
        grid,
        typed,
        taken_back,
        on=on,
        coach=request.user,
        form_key=shown.form_key,
        message=shown.message,
        digest=digest,
        fields={f"{line}-{number}": text for (line, number), text in shown.texts.items() if text},
        remarks=[line.note for line in shown.heard if line.note],
    )
    words = []
    if made.new:
        words.append(ngettext("%d set taken in", "%d sets taken in", made.new) % made.new)
    if made.changed:
        words.append(ngettext("%d set corrected", "%d sets corrected", made.changed) % made.changed)
    if made.taken_back:
        words.append(ngettext("%d set taken back", "%d sets taken back", made.taken_back) % made.taken_back)
    if made.moved:
        words.append(_("moved to %s") % wording.day(on))
    if made.reckoned:
        words.append(ngettext("%d proposal reckoned anew", "%d proposals reckoned anew", made.reckoned) % made.reckoned)
    if made.asked:
        words.append(ngettext("%d to be checked", "%d to be checked", made.asked) % made.asked)
    text = f"{', '.join(words)}." if words else _("Nothing new: all of it was known already.")
    messages.success(request, text[:1].upper() + text[1:], extra_tags=undo_tag(made.entry))
    return redirect("session-log", grid.session.public_id)


def _day(shown: Shown, grid: Grid) -> date | None:
    """The day typed, never one to come, nor one so long before it was planned that the year must be wrong."""
    try:
        on = parse_date(shown.day)
    except ValueError:
        on = None
    if on is None:
        shown.day_wrong = _("Give the day as year-month-day, such as 2026-03-02.")
    elif on > today_for(grid.client):
        shown.day_wrong, on = _("That day is still to come."), None
    elif on < (grid.session.planned_on or grid.session.block.starts_on) - LONG_BEFORE:
        shown.day_wrong, on = (
            _("That day is half a year and more before the session was planned: is it the right year?"),
            None,
        )
    return on


def _typed(data: QueryDict, grid: Grid, shown: Shown, language: str) -> tuple[list[TypedSet], list[LoggedSet]]:
    """The cells as read; what can't be read stays in its cell with a sentence."""
    typed: list[TypedSet] = []
    taken_back: list[LoggedSet] = []
    cells = grid.cells
    for name in data:
        match = CELL_NAME.match(name)
        cell = cells.get((int(match[1]), int(match[2]))) if match else None
        if cell is None:
            continue
        key = (cell.line, cell.number)
        try:
            values = _read(data, cell, grid, shown, language)
        except Unread as unread:
            meant = " / ".join(unread.readings)
            shown.wrong[key] = f"{unread.sentence} ({meant})" if meant else unread.sentence
            continue
        if shown.texts[key] == data.get(f"o-{cell.line}-{cell.number}", ""):
            continue
        stamp = data.get(f"s-{cell.line}-{cell.number}", "")
        if cell.row is None or not stamp:
            if values is not None:
                typed.append(TypedSet(*key, values))
        elif stamp != cell.stamp:
            shown.wrong[key] = _("Changed since this page was opened: it is %s now.") % cell.shown
        elif values is None:
            taken_back.append(cell.row)
        elif values_of(cell.row).amounts() != values.amounts():
            # A correction of the numbers keeps what the cell does not show.
            row = cell.row
            kept = replace(values, note=row.note, stopped_for_pain=row.stopped_for_pain, kind=row.kind)
            typed.append(TypedSet(*key, kept, corrects=row))
    return typed, taken_back


def _read(data: QueryDict, cell: Cell, grid: Grid, shown: Shown, language: str) -> SetValues | None:
    """The cell's text is kept in ``shown`` before it is read. Raises Unread."""
    key, stem = (cell.line, cell.number), f"c-{cell.line}-{cell.number}"
    line = grid.by_number[cell.line].line
    unchanged = data.get(f"o-{cell.line}-{cell.number}", "")
    if f"{stem}-amount" in data:
        boxes = Boxes(data.get(f"{stem}-load", ""), data.get(f"{stem}-amount", ""), data.get(f"{stem}-rir", ""))
        shown.boxes[key] = boxes
        shown.texts[key] = boxes.text
        return None if boxes.text == unchanged else read_boxes(boxes, line, cell.target)
    shown.texts[key] = text = data.get(stem, "").strip()
    return None if text == unchanged else read_cell(text, line, cell.target, language)


def _fill_in(grid: Grid, shown: Shown) -> None:
    """What the message says goes into the empty cells, for the coach to look at."""
    shown.by_boxes = False
    if shown.known_message is not None:
        return
    cells = grid.cells
    for line in shown.heard:
        for one in line.sets:
            key = (one.line, one.number)
            if key in cells and cells[key].row is None and not shown.texts.get(key):
                shown.texts[key] = one.text
                shown.heard_in.add(key)
                if one.values is None:
                    shown.wrong[key] = line.questions[-1]


def _page(request: CoachRequest, grid: Grid, shown: Shown, status: int = 200) -> HttpResponse:
    session = grid.session
    context = {
        **client_head(grid.client, "client-logs", request.user),
        "session": session,
        "version": grid.version,
        "on": session.trained_on or session.planned_on,
        "lines": [_line(line, shown) for line in grid.lines],
        "columns": range(1, grid.columns + 1),
        "shown": shown,
        "can_widen": grid.columns < MOST_COLUMNS,
        "heard": [_heard(line, grid) for line in shown.heard],
        "choices": [(str(line.number), line.line["exercise"]["name"]) for line in grid.lines if not line.free],
        "leave_out": pasted.LEAVE_OUT,
        "doubts": [doubt_row(row) for row in grid.asked],
        "wrong_cells": [
            {"id": _cell_id(key), "name": _cell_name(grid, key), "sentence": sentence}
            for key, sentence in shown.wrong.items()
        ],
        "today": today_for(grid.client).isoformat(),
        "states": _states(session),
        "since": since_rows(grid.client) if grid.logged else [],
        "here": request.path,
    }
    return render(request, "clients/session_log.html", context, status=status)


def _cell_id(key: tuple[int, int]) -> str:
    return f"c-{key[0]}-{key[1]}"


def _cell_name(grid: Grid, key: tuple[int, int]) -> str:
    name = grid.by_number[key[0]].line["exercise"]["name"]
    return _("%(exercise)s, set %(number)d") % {"exercise": name, "number": key[1]}


def _line(line: GridLine, shown: Shown) -> dict[str, Any]:
    if line.free:
        return {"free": True, "text": line.line["text"]}
    return {
        "free": False,
        "name": line.line["exercise"]["name"],
        "asked": _asked(line.line),
        "load": wording.loads_words(line.line),
        "example": example(line.line),
        "last_on": line.last_on,
        "swapped": line.swapped,
        "tries": line.tries,
        "cells": [_cell(cell, line, shown) for cell in line.cells],
    }


def _asked(line: Mapping[str, Any]) -> str:
    """ "4 × 6–8 @ 2"."""
    rir = wording.rirs_words(line)
    return f"{wording.sets_words(line)}{f'{wording.NBSP}@{wording.NBSP}{rir}' if rir else ''}"


def _cell(cell: Cell, line: GridLine, shown: Shown) -> dict[str, Any]:
    key = (cell.line, cell.number)
    boxed = shown.by_boxes and not (cell.row is not None and cell.row.parts.all())
    boxes = _boxes_of(cell, line) if boxed else None
    words = {"exercise": line.line["exercise"]["name"], "number": cell.number}
    label = _("%(exercise)s, set %(number)d") % words
    return {
        "id": _cell_id(key),
        "tail": f"{cell.line}-{cell.number}",
        "label": _("%(label)s, asked: %(aim)s") % {"label": label, "aim": cell.aim} if cell.aim else label,
        "short": _("Set %d") % cell.number,
        "text": shown.texts.get(key, cell.shown),
        "old": boxes.text if boxes is not None else cell.shown,
        "stamp": cell.stamp,
        "last": cell.last,
        "wrong": shown.wrong.get(key, ""),
        "asked": cell.asked,
        "heard": key in shown.heard_in,
        "rivals": [cell_text(values_of(row), line.line) for row in cell.rivals],
        "boxes": shown.boxes.get(key, boxes) if boxed else None,
        "amount": labels.REP_UNITS[line.line["exercise"]["rep_unit"]],
        "takes_load": line.line["exercise"]["load_entry"] != "none",
    }


def _boxes_of(cell: Cell, line: GridLine) -> Boxes:
    row = cell.row
    if row is None:
        return Boxes("", "", "")
    return Boxes(
        "" if row.load_value is None else wording.number(row.load_value),
        str(row.reps or row.seconds or row.metres or ""),
        "" if row.rir is None else wording.number(row.rir),
    )


def _heard(line: pasted.HeardLine, grid: Grid) -> dict[str, Any]:
    name = grid.by_number[line.line].line["exercise"]["name"] if line.line is not None else ""
    return {
        "index": line.index,
        "text": line.text,
        "name": name,
        "line": "" if line.line is None else str(line.line),
        "sets": line.sets,
        "questions": line.questions,
        "note": line.note,
        "choose": line.choose,
        "rivals": [one for one in line.sets if one.rival],
        "known": bool(line.sets) and all(one.known for one in line.sets),
    }


def _states(session: TrainingSession) -> list[tuple[str, str]]:
    """What an untrained session may be marked as."""
    state = TrainingSession.State
    if session.state == state.TRAINED or session.only_kept:
        return []
    words = {state.MISSED: _("Mark as missed"), state.DROPPED: _("Leave out"), state.PLANNED: _("Plan again")}
    return [(str(code), text) for code, text in words.items() if code != session.state]


urlpatterns = [path("sessions/<uuid:public_id>/log/", session_log, name="session-log")]
