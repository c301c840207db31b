"""What can be done with the slot of the opened pick: moved, done in turns with a neighbour, removed."""

from dataclasses import dataclass

from clients.board.state import State
from clients.reads.own_slots import added_keys


@dataclass(frozen=True, slots=True)
class SlotActs:
    """``above`` and ``below`` are the titles of neighbours that it could be done in turns with."""

    key: str
    day: str
    title: str
    above: str
    below: str
    in_turns: bool
    added: bool
    first: bool
    last: bool
    only: bool


def acts_of(state: State, key: str) -> SlotActs:
    day, slot = state.inputs.slots()[key]
    at = [other.key for other in day.slots].index(key)
    above = day.slots[at - 1] if at > 0 else None
    below = day.slots[at + 1] if at + 1 < len(day.slots) else None
    in_turns = [other for other in (above, below) if other and slot.superset and other.superset == slot.superset]
    return SlotActs(
        key=key,
        day=day.key,
        title=slot.title,
        above=above.title if above and above not in in_turns else "",
        below=below.title if below and below not in in_turns else "",
        in_turns=bool(in_turns),
        added=key in added_keys(state.draft.document),
        first=above is None,
        last=below is None,
        only=above is None and below is None,
    )
