"""The context of the board's templates: bands, the right column, and the opened pick."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from django.urls import reverse
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from clients.board import drawings
from clients.board.adding import adding_to
from clients.board.bands import Band, band_of, rounded
from clients.board.compared import Compared, compared_with_last
from clients.board.known import Known, known_of
from clients.board.looking import Looking
from clients.board.opened import Opened, opened_pick
from clients.board.slot_acts import SlotActs, acts_of
from clients.board.state import State
from clients.board.words import NONE, counted_words, day_name, number, title_cells, verdict_words
from clients.cycles import WEEK_DAYS, is_rolling, not_kept_words
from clients.models import Block
from programs import labels
from programs.engine.compose import SessionMinutes
from programs.engine.compose.mix import WEEKLY_PATTERNS
from programs.engine.terms import Because
from programs.reasons import sentence_of
from programs.reasons.words import KINDS


@dataclass(frozen=True, slots=True)
class DoseRow:
    name: str
    second: str
    strip: SafeString
    count: str
    mark: str
    words: str
    change: str = ""  # since the last block


@dataclass(frozen=True, slots=True)
class Caution:
    text: str
    url: str = ""


@dataclass(frozen=True, slots=True)
class SessionRow:
    name: str
    day: str
    occurrence: int
    key: str
    on: int | None  # weekday, or day of a rolling cycle
    minutes: str
    cap: str
    over: bool
    sets: int


@dataclass(frozen=True, slots=True)
class Kind:
    word: str
    there: bool


@dataclass(frozen=True, slots=True)
class Page:
    """Everything that ``clients/compose/_board.html`` shows."""

    draft: Any
    looking: Looking
    url: str
    cells: list[dict[str, object]]
    bands: list[Band]
    days: list[dict[str, object]]
    wide: SafeString
    narrow: SafeString
    doses: list[DoseRow]
    dose_line: str
    dose_map: SafeString
    unreached: str
    working_sets: int
    warnings: list[Caution]
    sessions: list[SessionRow]
    kinds: list[Kind]
    pull_to_push: str
    opened: Opened | None
    can_undo: bool
    can_redo: bool
    known: Known
    not_cleared: bool = False
    holds: list[str] = field(default_factory=list)
    ends: Block | None = None
    movable: bool = True
    days_to_choose: list[tuple[int, str]] = field(default_factory=list)
    cycle_days: int = WEEK_DAYS
    rolling: bool = False
    not_kept: str = ""  # whose days a rolling cycle passes over
    slot: SlotActs | None = None  # what can be done with the opened slot
    last: int | None = None  # number of the block before
    compare_url: str = ""
    compared: Compared | None = None


def page_of(state: State, looking: Looking, *, sees_health: bool, typed: Mapping[str, Any] | None = None) -> Page:
    """The page for a state of the draft; the places looked at are those of this draft or none.

    ``typed`` is what stands in the form of a new slot, where it was not taken.
    """
    draft = state.draft
    url = reverse("draft", args=[draft.public_id])
    looking = _settled(state, looking)
    last = draft.client.blocks.order_by("-number").first()
    running = last is None or last.state == Block.State.ACTIVE
    active = last if running else Block.objects.active().filter(client=draft.client).first()
    scale = drawings.strip_scale([found for _group, found in drawings.audited(state)])
    compared = compared_with_last(state, last) if looking.compare and last is not None else None
    doses = [_dose_row(state, group, scale, compared) for group, _found in drawings.audited(state)]
    adding = adding_to(state, looking.add, typed)
    days = state.days
    return Page(
        draft=draft,
        looking=looking,
        url=url,
        cells=title_cells(state, last),
        bands=[
            band_of(state, day, looking, url, compared=compared, adding=adding)
            for day in state.inputs.request.day_types
        ],
        days=_days(state, looking, url),
        wide=drawings.week_drawing(state),
        narrow=drawings.week_drawing(state, narrow=True),
        doses=doses,
        dose_line=_dose_line(doses),
        dose_map=drawings.dose_map(state),
        unreached=drawings.unreached(state),
        working_sets=state.audit.working_sets,
        warnings=[
            *(Caution(text) for text in drawings.short_gaps(state)),
            *(Caution(sentence_of(why, state.names)) for why in state.steep),
            *_warnings(state, looking, url),
        ],
        sessions=[_session_row(state, entry) for entry in _in_week(state)],
        kinds=[Kind(str(KINDS[kind]), kind not in state.audit.patterns_missing) for kind in WEEKLY_PATTERNS],
        pull_to_push="" if state.audit.pull_to_push is None else number(round(state.audit.pull_to_push, 2)),
        opened=opened_pick(state, looking.open, url, looking.query(open="")) if looking.open else None,
        can_undo=state.can_undo,
        can_redo=state.can_redo,
        known=known_of(state),
        not_cleared=not state.standing.cleared,
        holds=[sentence_of(hold) for hold in state.standing.holds] if sees_health else [],
        ends=active,
        movable=bool(days) and None not in days.values(),
        days_to_choose=[(day, day_name(day, state.cycle_days)) for day in range(state.cycle_days)],
        cycle_days=state.cycle_days,
        rolling=is_rolling(state.cycle_days),
        not_kept=_not_kept(state),
        slot=acts_of(state, looking.open[0]) if looking.open else None,
        last=None if last is None else last.number,
        compare_url=f"{url}?{looking.query(compare='' if looking.compare else '1')}",
        compared=compared,
    )


def _not_kept(state: State) -> str:
    client = state.draft.client
    if None in state.days.values():
        return ""
    return not_kept_words(client.name, client.days, len(state.days), state.cycle_days)


def _settled(state: State, looking: Looking) -> Looking:
    slots = state.inputs.slots()
    opened = looking.open
    if opened is not None and (opened[0] not in slots or opened[1] >= slots[opened[0]][0].occurrences):
        opened = None
    sessions = list(state.days)
    session = looking.session if looking.session in sessions else None
    if session is None and opened is not None:
        session = (slots[opened[0]][0].key, opened[1])
    return replace(looking, open=opened, session=session or (sessions[0] if sessions else None))


def _in_week(state: State) -> list[SessionMinutes]:
    """The sessions' minutes in the order of the week."""
    order = list(state.days)
    return sorted(state.audit.minutes, key=lambda entry: order.index((entry.day, entry.occurrence)))


def _session_row(state: State, entry: SessionMinutes) -> SessionRow:
    on = state.days.get((entry.day, entry.occurrence))
    return SessionRow(
        name=state.names[f"{entry.day}:{entry.occurrence}"],
        day=day_name(on, state.cycle_days),
        occurrence=entry.occurrence,
        key=entry.day,
        on=on,
        minutes=number(rounded(entry.minutes)),
        cap="" if entry.cap is None else number(entry.cap),
        over=entry.cap is not None and entry.minutes > entry.cap,
        sets=entry.sets,
    )


def _days(state: State, looking: Looking, url: str) -> list[dict[str, object]]:
    return [
        {
            "label": state.names[f"{day}:{occurrence}"],
            "url": f"{url}?{looking.query(day=f'{day}:{occurrence}', open='')}",
            "current": (day, occurrence) == looking.session,
        }
        for day, occurrence in state.days
    ]


def _dose_row(state: State, group: str, scale: float, compared: Compared | None) -> DoseRow:
    found = state.audit.dose[group]
    mark, words = verdict_words(found)
    second = {"more": _("emphasise"), "keep": _("keep")}.get(state.inputs.request.priorities.get(group, ""), "")
    return DoseRow(
        name=str(labels.GROUPS[group]),
        second=second,
        strip=drawings.strip(group, found, scale),
        count=counted_words(found.dose.counted),
        mark=mark,
        words=words or NONE,
        change=compared.dose_change(state, group) if compared is not None else "",
    )


def _dose_line(doses: list[DoseRow]) -> str:
    """ "9 in range, 2 under, 1 over"."""
    counts = Counter(row.mark for row in doses)
    parts = [_("%(count)d in range") % {"count": counts["in"]}]
    if counts["under"]:
        parts.append(_("%(count)d under") % {"count": counts["under"]})
    if counts["over"]:
        parts.append(_("%(count)d over") % {"count": counts["over"]})
    return ", ".join(parts)


def _warnings(state: State, looking: Looking, url: str) -> list[Caution]:
    """Each names its session and what would mend it, and leads to the pick it is about."""
    found = []
    for why in state.audit.warnings:
        at = _place_of(state, why)
        address = f"{url}?{looking.query(open=at)}" if at else ""
        found.append(Caution(sentence_of(why, state.names), address))
    return found


def _place_of(state: State, why: Because) -> str:
    slot, occurrence, exercise = (why.params.get(name) for name in ("slot", "occurrence", "exercise"))
    if slot and occurrence is not None:
        return f"{slot}:{occurrence}"
    if exercise is None:
        return ""
    slots = state.inputs.slots()
    for (key, number_of), pick in state.picks.items():
        same_session = occurrence is None or (number_of == occurrence and slots[key][0].key == why.params.get("day"))
        if pick.exercise == exercise and same_session:
            return f"{key}:{number_of}"
    return ""
