"""What a client says around a session: sleep, energy, effort, notes, bodyweight; and words that must be seen."""

from dataclasses import asdict, dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from clients.models import Bodyweight, Client, SessionNote, TrainingSession
from programs.engine import cautions
from programs.engine.cautions import RedFlag
from programs.units import Load


@dataclass(frozen=True, slots=True)
class NoteReceived:
    """The row as it is now, and the red flags in what was just said, the most urgent first."""

    said: SessionNote
    flags: tuple[RedFlag, ...]

    @property
    def urgency(self) -> str:
        """ "emergency", "same_day" or "": what the client is told at once. Denied words tell the coach only."""
        plain = [flag.urgency for flag in self.flags if not flag.denied]
        return plain[0] if plain else ""


@transaction.atomic
def take_note(
    session: TrainingSession,
    *,
    sleep: int | None = None,
    energy: int | None = None,
    effort: int | None = None,
    text: str = "",
    about: str = "",
    tick: int | None = None,
    ticked: bool = True,
    at: datetime | None = None,
) -> NoteReceived:
    """Takes what came and leaves the rest as it was.

    A text about an exercise (its name) is added as a line of its own, once however often it arrives; a text about
    nothing in particular is added in the same way. ``tick`` is the number of a free line, done or not after all.
    """
    SessionNote.objects.get_or_create(session=session)
    said = SessionNote.objects.select_for_update().get(session=session)
    changed: dict[str, Any] = {
        name: value for name, value in (("sleep", sleep), ("energy", energy), ("effort", effort)) if value is not None
    }
    if effort is not None and said.ended_at is None and at is not None:
        changed["ended_at"] = at
    if (sleep is not None or energy is not None) and said.started_at is None and at is not None:
        changed["started_at"] = at
    flags: tuple[RedFlag, ...] = ()
    words = " ".join(text.split())
    if words:
        flags = cautions.red_flags(words)
        entry = f"{about}: {words}" if about else words
        if entry not in said.text.splitlines():
            changed["text"] = f"{said.text}\n{entry}".strip()
            changed["flags"] = [*said.flags, *(asdict(flag) for flag in flags)]
    if tick is not None:
        lines = set(said.lines_ticked) - {tick}
        changed["lines_ticked"] = sorted(lines | {tick} if ticked else lines)
    for name, value in changed.items():
        setattr(said, name, value)
    if changed:
        said.save(update_fields=list(changed))
    return NoteReceived(said, flags)


def take_bodyweight(client: Client, value: Decimal, unit: str, on: date) -> Bodyweight:
    """One measurement a day in "kg" or "lb"; a second one the same day corrects the first."""
    grams = Load(value, unit).grams
    if grams is None:
        raise ValueError(f"{unit} is no unit of weight")
    row, _made = Bodyweight.objects.update_or_create(
        client=client, measured_on=on, defaults={"value": value, "unit": unit, "grams": grams}
    )
    return row
