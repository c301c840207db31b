"""A session as it is typed in: its lines, what was asked, what is known already, and what was done last time."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from clients.clock import today_for
from clients.entry import cell_text
from clients.models import Client, LoggedSet, SheetVersion, TrainingSession
from clients.phone.rows import TRIES_FROM
from clients.reads.health import standing_of
from clients.reads.merged import gather_merged
from clients.reads.racks import PlaceLoads
from clients.receiving import values_of
from clients.services.sheets import last_by_slot
from clients.sheets import document, wording

MOST_COLUMNS = 12


@dataclass(frozen=True, slots=True)
class Cell:
    """One set of one line. ``row`` is what is logged; ``shown`` its notation, "" for nothing yet."""

    line: int
    number: int
    target: Mapping[str, Any] | None
    row: LoggedSet | None
    rivals: tuple[LoggedSet, ...]
    shown: str
    last: str
    aim: str

    @property
    def stamp(self) -> str:
        """What was on screen: a change made elsewhere since is noticed."""
        return f"{self.row.public_id}.{self.row.revision}" if self.row is not None else ""

    @property
    def asked(self) -> bool:
        return bool(self.rivals) or (self.row is not None and self.row.state == LoggedSet.State.ASKED)


@dataclass(frozen=True, slots=True)
class GridLine:
    """An exercise of the sheet with its cells, or a free line (no cells)."""

    line: Mapping[str, Any]
    cells: tuple[Cell, ...]
    last_on: str
    swapped: str
    tries: str

    @property
    def number(self) -> int:
        return int(self.line["number"])

    @property
    def free(self) -> bool:
        return bool(self.line["free"])


@dataclass(frozen=True, slots=True)
class Grid:
    session: TrainingSession
    client: Client
    version: SheetVersion | None
    lines: tuple[GridLine, ...]
    columns: int
    logged: tuple[LoggedSet, ...]

    @property
    def cells(self) -> dict[tuple[int, int], Cell]:
        return {(cell.line, cell.number): cell for line in self.lines for cell in line.cells}

    @property
    def by_number(self) -> dict[int, GridLine]:
        return {line.number: line for line in self.lines}

    @property
    def day(self) -> date:
        """When it was done: as logged, else the sheet's date, never one that is still to come."""
        today = today_for(self.client)
        done = self.logged[0].performed_on if self.logged else None
        return done or min(self.session.planned_on or today, today)

    @property
    def asked(self) -> tuple[LoggedSet, ...]:
        return tuple(row for row in self.logged if row.state == LoggedSet.State.ASKED)


def grid_of(session: TrainingSession, *, extra: int = 0, upto: Mapping[int, int] | None = None) -> Grid:
    """The grid of a session with its block, client and place. A fixed number of queries.

    ``extra`` adds columns; ``upto`` says how many sets a line must have room for.
    """
    client = session.block.client
    logged = list(
        LoggedSet.objects.for_client(client)
        .filter(session=session)
        .exclude(state=LoggedSet.State.TAKEN_BACK)
        .select_related("exercise", "version", "client")
        .prefetch_related("parts")
        .in_order()
    )
    version = _version(session, logged)
    body = version.document if version is not None else _as_it_stands(session, client)
    gather_merged(logged, body["lines"])
    by_line: dict[int, list[LoggedSet]] = {}
    for row in logged:
        if row.line is not None:
            by_line.setdefault(row.line, []).append(row)
    room = dict(upto or {})
    lines = tuple(
        _line(line, by_line.get(int(line["number"]), []), extra, room.get(int(line["number"]), 0))
        for line in body["lines"]
    )
    columns = max((cell.number for line in lines for cell in line.cells), default=0)
    return Grid(session, client, version, lines, columns, tuple(logged))


def _version(session: TrainingSession, logged: Sequence[LoggedSet]) -> SheetVersion | None:
    """The sheet that was trained from; before that the one that is out, else the newest."""
    versions = list(session.versions.order_by("-number"))
    used = {row.version_id for row in logged if row.version_id is not None}
    return (
        next((version for version in versions if version.pk in used), None)
        or next((version for version in versions if version.state == SheetVersion.State.ISSUED), None)
        or next(iter(versions), None)
    )


def _as_it_stands(session: TrainingSession, client: Client) -> dict[str, Any]:
    """A session that never had a sheet, as its sheet would be."""
    row = (
        TrainingSession.objects.with_lines()
        .prefetch_related("prescriptions__exercise__texts", "prescriptions__exercise__regions")
        .prefetch_related("prescriptions__exercise__joints")
        .get(pk=session.pk)
    )
    return document.build(
        row,
        standing=standing_of(client, today_for(client)),
        loads=PlaceLoads(row.place, client, row.planned_on),
        last=last_by_slot(client, row),
        swaps={},
        first=False,
    )


def _line(line: Mapping[str, Any], logged: Sequence[LoggedSet], extra: int, room: int) -> GridLine:
    if line["free"]:
        return GridLine(line, (), "", "", "")
    targets = wording.working(line)
    numbers = [int(target["number"]) for target in targets]
    known: dict[int, list[LoggedSet]] = {}
    for row in sorted(logged, key=lambda row: (row.state != LoggedSet.State.COUNTS, row.pk)):
        if row.number is not None and row.number <= TRIES_FROM:
            known.setdefault(row.number, []).append(row)
    most = max([*numbers, *known, room], default=0) + extra
    numbers += [number for number in range(1, most + 1) if number not in numbers]
    cells = []
    for place, number in enumerate(sorted(numbers)[:MOST_COLUMNS]):
        target = next((target for target in targets if target["number"] == number), None)
        last = wording.last_of(line, place) if target is not None else None
        answers = known.get(number, [])
        standing = answers[0] if answers else None
        cells.append(
            Cell(
                line=int(line["number"]),
                number=number,
                target=target,
                row=standing,
                rivals=tuple(answers[1:]),
                shown=cell_text(values_of(standing), line) if standing is not None else "",
                last=_last_words(line, last),
                aim=_aim(line, target) if target is not None else "",
            )
        )
    others = {row.exercise.name for row in logged if not row.is_of(line)}
    tries = [row for row in logged if (row.number or 0) > TRIES_FROM]
    last = line["last"]
    return GridLine(
        line,
        tuple(cells),
        wording.day(last["on"], "j M") if last else "",
        ", ".join(sorted(others)),
        ", ".join(cell_text(values_of(row), line) for row in tries),
    )


def _last_words(line: Mapping[str, Any], last: Mapping[str, Any] | None) -> str:
    if last is None:
        return ""
    effort = f"{wording.NBSP}@{wording.NBSP}{wording.number(last['rir'])}" if last["rir"] is not None else ""
    return wording.done_words(line, last) + effort


def _aim(line: Mapping[str, Any], target: Mapping[str, Any]) -> str:
    figure = wording.load_figure(line, target["load"]) if target["load"] is not None else ""
    much = wording.amount(target)
    return f"{figure}{wording.NBSP}{wording.TIMES}{wording.NBSP}{much}" if figure else much
