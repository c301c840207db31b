"""A client as the Desk sees them: sessions near today, what waits, what came in, and what follows from the days."""

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import cached_property
from typing import Any, NamedTuple
from uuid import UUID

from clients.cycles import WEEK_DAYS, first_day
from clients.models import Client, TrainingSession
from clients.reads.health import Standing

BACK, AHEAD = timedelta(days=27), timedelta(days=7)
PRESSING = {
    kind: place for place, kind in enumerate(("stop", "freeze", "return", "stall_check", "deload", "find_load"))
}

State = TrainingSession.State


# Rows are read as plain values, a row's fields in the order of the query: there may be hundreds of them.
class Near(NamedTuple):
    """A session close to today, without its lines."""

    pk: int
    client_id: int
    name: str
    planned_on: date | None
    state: str
    trained_on: date | None
    cycle: int
    sent: bool

    @property
    def open(self) -> bool:
        return self.state == State.PLANNED


class Today(NamedTuple):
    """What the room's list says besides of a session of today: its address, its hour, the sets that came in."""

    public_id: UUID
    start: time | None
    sets: int


class Open(NamedTuple):
    """A proposal that waits, without its contents: those are read for what is shown."""

    pk: int
    session_id: int
    kind: str
    plain: bool
    made_at: datetime
    not_plain: str  # as it is stored: hundreds of rows hold the same few lists

    @property
    def order(self) -> tuple[bool, int, int]:
        """What pain or absence brought first, then as they were made."""
        return self.plain, PRESSING.get(self.kind, len(PRESSING)), self.pk


class Asked(NamedTuple):
    """A set that is asked about, without its contents."""

    client_id: int
    pk: int
    session_id: int | None
    performed_on: date


class Report(NamedTuple):
    """A pain report."""

    client_id: int
    body_part: str
    side: str
    score: int
    action: str
    note: str
    felt_on: date
    state: str
    pk: int
    exercise: str | None
    session: str | None


class Note(NamedTuple):
    """A client's note with words that must be seen, and the session it belongs to."""

    client_id: int
    public_id: UUID
    text: str
    flags: list[dict[str, Any]]
    session_public_id: UUID
    session_name: str
    planned_on: date | None
    trained_on: date | None

    @property
    def day(self) -> date | None:
        return self.trained_on or self.planned_on


class Running(NamedTuple):
    """The block that runs."""

    client_id: int
    number: int
    starts_on: date
    weeks: int
    cycle_days: int


@dataclass
class Person:
    """A client with all that may need the coach. What follows from the days is reckoned once, after all is read."""

    client: Client
    today: date
    standing: Standing
    sessions: list[Near] = field(default_factory=list)
    proposals: list[Open] = field(default_factory=list)
    pains: list[Report] = field(default_factory=list)
    earlier_pains: list[Report] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    asked: list[Asked] = field(default_factory=list)
    block: Running | None = None
    next_ready: bool = False
    last_session: date | None = None

    @cached_property
    def key(self) -> str:
        """The engine's key: ties are broken by name."""
        return f"{self.client.name}\n{self.client.pk}"

    def day_of(self, near: Near) -> date | None:
        """The session's date; without one the first day of its week or cycle, or today while that runs."""
        if near.planned_on is not None or self.block is None:
            return near.planned_on
        starts_on, cycle_days = self.block.starts_on, self.block.cycle_days
        first, after = (first_day(starts_on, number, cycle_days) for number in (near.cycle, near.cycle + 1))
        return self.today if first <= self.today < after else first

    @cached_property
    def overdue(self) -> list[Near]:
        """Planned for a day, or a week, that is over."""
        return [one for one in self.sessions if one.open and self._over(one)]

    def _over(self, near: Near) -> bool:
        if self._enough(near):
            return False
        day = self.day_of(near)
        return day is not None and day < self.today and (self.today - day) <= BACK

    def _enough(self, near: Near) -> bool:
        """Whether a session of a list is one that its week did not need."""
        minimum = self.client.week_minimum
        if minimum is None or near.planned_on is not None:
            return False
        done = sum(one.cycle == near.cycle and one.state == State.TRAINED for one in self.sessions)
        return done >= minimum

    @cached_property
    def due(self) -> list[Near]:
        """Sessions of the week ahead: a sheet belongs to each.

        The same session a week on, on this very weekday, waits for what this one brings.
        """
        until = self.today + AHEAD
        near = [(one, day) for one in self.sessions if one.open and (day := self.day_of(one)) is not None]
        today = {one.name for one, day in near if day == self.today}
        return [one for one, day in near if self.today <= day <= until and not (day == until and one.name in today)]

    @property
    def awaited(self) -> bool:
        """Whether the days since the last session say something: a session is behind, or one comes up.

        Within a cycle longer than a week a session that comes up says nothing: the wait for it was planned.
        """
        if self.overdue or not self.due:
            return bool(self.overdue)
        long_cycle = self.block is not None and self.block.cycle_days > WEEK_DAYS
        begun = self.block is not None and self.last_session is not None and self.last_session >= self.block.starts_on
        return not (long_cycle and begun)

    @cached_property
    def unsent(self) -> list[Near]:
        return [one for one in self.due if not one.sent]

    @property
    def block_ends(self) -> date | None:
        return self.block.starts_on + timedelta(weeks=self.block.weeks, days=-1) if self.block else None

    def attended(self) -> tuple[int, int]:
        """Sessions done and due in the last four weeks."""
        first = self.today - BACK
        window = [one for one in self.sessions if one.planned_on and first <= one.planned_on <= self.today]
        done = sum(one.state == State.TRAINED for one in window)
        missed = sum(
            one.state == State.MISSED or (one.open and one.planned_on is not None and one.planned_on < self.today)
            for one in window
        )
        return done, done + missed
