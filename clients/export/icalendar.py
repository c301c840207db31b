"""Sessions as a calendar file (RFC 5545): titles that say nothing but that there is training."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

LONGEST_LINE = 75  # octets, the break not counted (RFC 5545, 3.1)
USUAL_MINUTES = 60


@dataclass(frozen=True, slots=True)
class Event:
    """One session; without ``start`` it takes the whole day."""

    key: str
    day: date
    start: time | None = None
    minutes: int | None = None


def calendar(events: Iterable[Event], *, title: str, zone: str, now: datetime) -> bytes:
    """The file. ``title`` names every event, starts are by the clock of ``zone``, ``now`` is when it is made."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Coachdesk//Coachdesk//EN", "CALSCALE:GREGORIAN"]
    for event in events:
        lines += ["BEGIN:VEVENT", f"UID:{event.key}@coachdesk", f"DTSTAMP:{_moment(now)}"]
        lines += [*_times(event, ZoneInfo(zone)), f"SUMMARY:{_text(title)}", "END:VEVENT"]
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in _folded(line)).encode()


def _times(event: Event, zone: ZoneInfo) -> list[str]:
    if event.start is None:
        after = event.day + timedelta(days=1)
        return [f"DTSTART;VALUE=DATE:{event.day:%Y%m%d}", f"DTEND;VALUE=DATE:{after:%Y%m%d}"]
    starts = datetime.combine(event.day, event.start, zone)
    # From the moment on, so that an hour that the clocks skip or repeat does not lengthen it.
    ends = starts.astimezone(UTC) + timedelta(minutes=event.minutes or USUAL_MINUTES)
    return [f"DTSTART:{_moment(starts)}", f"DTEND:{_moment(ends)}"]


def _moment(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _text(text: str) -> str:
    for mark in ("\\", ";", ","):
        text = text.replace(mark, f"\\{mark}")
    return text.replace("\r\n", "\\n").replace("\n", "\\n")


def _folded(line: str) -> Iterator[str]:
    """A line in pieces of at most 75 octets, none cut within a letter; each further one begins with a blank."""
    piece, room = "", LONGEST_LINE
    for letter in line:
        size = len(letter.encode())
        if size > room:
            yield piece
            piece, room = " ", LONGEST_LINE - 1
        piece += letter
        room -= size
    yield piece
