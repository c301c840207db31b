"""What of the board is looked at, as its address and its forms carry it along."""

from collections.abc import Callable
from dataclasses import dataclass
from urllib.parse import urlencode

from clients.board.state import Place


@dataclass(frozen=True, slots=True)
class Looking:
    """What of the board is looked at: the opened place, on a phone the session shown, the day type that gets a slot,
    and whether the last block is shown beside the week."""

    open: Place | None = None
    session: Place | None = None
    add: str = ""
    compare: bool = False

    @classmethod
    def asked(cls, asked: Callable[[str], str]) -> "Looking":
        """What an address or a form asks to look at; ``asked`` gives a parameter's text or ""."""
        return cls(read_place(asked("open")), read_place(asked("day")), asked("add"), asked("compare") == "1")

    def query(self, **changes: str) -> str:
        """The address's query with some of it changed; "" leaves a part out. A form to add a slot closes."""
        parts = {
            "open": f"{self.open[0]}:{self.open[1]}" if self.open else "",
            "day": f"{self.session[0]}:{self.session[1]}" if self.session else "",
            "compare": "1" if self.compare else "",
        }
        return urlencode({name: value for name, value in (parts | changes).items() if value})


def read_place(text: str) -> Place | None:
    """ "upper-row:1" as a place; None for anything else."""
    key, _colon, occurrence = text.rpartition(":")
    return (key, int(occurrence)) if key and occurrence.isascii() and occurrence.isdigit() else None
