"""A client as the Desk sees them: sessions near today, what waits, what came in, and what follows from the days."""

from dataclasses import dataclass, field
from datetime import date, time, timedelta
from typing import Any

from clients.models import Block, Client, LoggedSet, PainReport, SessionNote, TrainingSession
from clients.reads.health import Standing

BACK, AHEAD = timedelta(days=27), timedelta(days=7)
PRESSING = ("stop", "freeze", "return", "stall_check", "deload", "find_load")

State = TrainingSession.State


@dataclass(frozen=True, slots=True)
class Near:
    """A session close to today, without its lines."""

    pk: int
    public_id: Any
    client_id: int
    name: str
    planned_on: date | None
    start: time | None
    state: str
    trained_on: date | None
    week: int
    deload: bool
    sent: bool

    @property
    def open(self) -> bool:
        return self.state == State.PLANNED


@dataclass(frozen=True, slots=True)
class Open:
    """A proposal that waits, without its contents: those are read for what is shown."""

    pk: int
    session_id: int
    kind: str
    plain: bool
    made_on: date

    @property
    def order(self) -> tuple[bool, int, int]:
        """What pain or absence brought first, then as they were made."""
        return self.plain, PRESSING.index(self.kind) if self.kind in PRESSING else len(PRESSING), self.pk


@dataclass(slots=True)
class Person:
    """A client with all that may need the coach."""

    client: Client
    today: date
    standing: Standing
    sessions: list[Near] = field(default_factory=list)
    proposals: list[Open] = field(default_factory=list)
    pains: list[PainReport] = field(default_factory=list)
    earlier_pains: list[PainReport] = field(default_factory=list)
    notes: list[SessionNote] = field(default_factory=list)
    asked: list[LoggedSet] = field(default_factory=list)
    block: Block | None = None
    next_ready: bool = False
    last_session: date | None = None

    @property
    def key(self) -> str:
        """The engine's key: ties are broken by name."""
        return f"{self.client.name}\n{self.client.pk}"

    def day_of(self, near: Near) -> date | None:
        """The session's date; without one its week's first day, or today while that week runs."""
        if near.planned_on is not None or self.block is None:
            return near.planned_on
        first = self.block.starts_on + timedelta(weeks=near.week - 1)
        return self.today if first <= self.today < first + timedelta(weeks=1) else first

    @property
    def overdue(self) -> list[Near]:
        """Planned for a day, or a week, that is over."""
        return [one for one in self.sessions if one.open and self._over(one)]

    def _over(self, near: Near) -> bool:
        day = self.day_of(near)
        return day is not None and day < self.today and (self.today - day) <= BACK

    @property
    def due(self) -> list[Near]:
        """Sessions of the week ahead: a sheet belongs to each."""
        until = self.today + AHEAD
        return [
            one
            for one in self.sessions
            if one.open and (day := self.day_of(one)) is not None and self.today <= day <= until
        ]

    @property
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
