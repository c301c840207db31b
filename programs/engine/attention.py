"""Who needs the coach first today, and why. Pure values in, one ordered list out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from programs.engine.cautions.pain import ACTIONS
from programs.engine.cautions.red_flags import EMERGENCY
from programs.engine.terms import Because, Params

# Most pressing first. A client has at most one matter of a kind, which counts all of them.
KINDS: Final = (
    "red_flag",
    "pain",
    "clearance_missing",
    "proposal",
    "sheet_not_sent",
    "doubt",
    "absence",
    "block_ending",
    "clearance_expiring",
)
# The desk's four groups.
GROUP_OF_KIND: Final[dict[str, str]] = {
    "red_flag": "pain",
    "pain": "pain",
    "clearance_missing": "decide",
    "proposal": "decide",
    "sheet_not_sent": "waiting",
    "doubt": "read",
    "absence": "waiting",
    "block_ending": "waiting",
    "clearance_expiring": "waiting",
}
GROUPS: Final = ("pain", "decide", "read", "waiting")

REASONS: Final[dict[str, tuple[str, ...]]] = {
    "red_flag_written": ("code", "day", "count"),
    "pain_reported": ("part", "side", "score", "day", "count"),
    "clearance_missing": ("day",),
    "proposals_waiting": ("count", "plain", "day"),
    "sheet_due": ("day", "days", "count"),
    "logs_doubtful": ("count", "day"),
    "sessions_missed": ("count", "day"),
    "away_for_long": ("days", "day"),
    "block_ends": ("day", "days"),
    "clearance_ends": ("day", "days"),
}

SHEET_AHEAD: Final = timedelta(days=3)  # a sheet is missed this long before its session (coaching practice)
BLOCK_AHEAD: Final = timedelta(days=10)
CLEARANCE_AHEAD: Final = timedelta(days=30)
AWAY_FROM_DAYS: Final = 11  # from here on loads come down


@dataclass(frozen=True, slots=True)
class Pain:
    """A report not yet answered: the action that cautions derive, and where it hurts."""

    day: date
    score: int
    action: str
    part: str
    side: str = "both"


@dataclass(frozen=True, slots=True)
class Flag:
    """Words in a note that must be seen: a code and urgency of cautions.red_flags."""

    day: date
    code: str
    urgency: str


@dataclass(frozen=True, slots=True)
class Waiting:
    """A proposal that waits since ``day``."""

    day: date
    plain: bool


@dataclass(frozen=True, slots=True)
class Standing:
    """All that may need the coach for one client. Days are the client's own; empty means nothing.

    ``unsent`` are days of planned sessions without an issued sheet, ``missed`` days of sessions gone by
    since the coach last looked, ``doubts`` the days of logs with open questions. ``next_ready`` is True
    when what follows the block is prepared. ``cleared`` False keeps back every sheet.
    """

    client: str
    pains: Sequence[Pain] = ()
    flags: Sequence[Flag] = ()
    proposals: Sequence[Waiting] = ()
    unsent: Sequence[date] = ()
    doubts: Sequence[date] = ()
    missed: Sequence[date] = ()
    last_session: date | None = None
    block_ends: date | None = None
    next_ready: bool = False
    cleared: bool = True
    cleared_until: date | None = None


@dataclass(frozen=True, slots=True)
class Matter:
    """One row of the desk. ``day`` is when it arose or is due; ``urgency`` orders matters of one kind."""

    client: str
    kind: str
    day: date
    urgency: float
    because: Because

    @property
    def group(self) -> str:
        return GROUP_OF_KIND[self.kind]


def ranked(standings: Iterable[Standing], today: date) -> tuple[Matter, ...]:
    """Every matter of every client, most pressing first: by kind, then urgency, then the older, then the name."""
    matters = [matter for standing in standings for matter in matters_of(standing, today)]
    return tuple(sorted(matters, key=_order))


def _order(matter: Matter) -> tuple[int, float, date, str]:
    return KINDS.index(matter.kind), -matter.urgency, matter.day, matter.client


def clients_first(standings: Iterable[Standing], today: date) -> tuple[str, ...]:
    """Clients who need something, each once, in the order of their most pressing matter."""
    return tuple(dict.fromkeys(matter.client for matter in ranked(standings, today)))


def matters_of(standing: Standing, today: date) -> tuple[Matter, ...]:
    """One client's matters in no particular order."""
    found = (
        _flag(standing),
        _pain(standing),
        _clearance_missing(standing, today),
        _proposals(standing, today),
        _sheet(standing, today),
        _doubts(standing, today),
        _absence(standing, today),
        _block(standing, today),
        _clearance(standing, today),
    )
    return tuple(matter for matter in found if matter is not None)


def _flag(one: Standing) -> Matter | None:
    if not one.flags:
        return None
    worst = min(one.flags, key=lambda flag: (flag.urgency != EMERGENCY, -flag.day.toordinal(), flag.code))
    params: Params = {"code": worst.code, "day": worst.day.isoformat(), "count": len(one.flags)}
    because = Because("red_flag_written", params)
    return Matter(one.client, "red_flag", worst.day, float(worst.urgency == EMERGENCY), because)


def _pain(one: Standing) -> Matter | None:
    if not one.pains:
        return None
    worst = max(one.pains, key=lambda pain: (ACTIONS.index(pain.action), pain.score, pain.day, pain.part))
    params: Params = {
        "part": worst.part,
        "side": worst.side,
        "score": worst.score,
        "day": worst.day.isoformat(),
        "count": len(one.pains),
    }
    urgency = 100.0 * ACTIONS.index(worst.action) + worst.score
    return Matter(one.client, "pain", worst.day, urgency, Because("pain_reported", params))


def _clearance_missing(one: Standing, today: date) -> Matter | None:
    expired = one.cleared_until is not None and one.cleared_until < today
    if one.cleared and not expired:
        return None
    day = one.cleared_until if expired and one.cleared_until is not None else today
    return Matter(one.client, "clearance_missing", day, 0.0, Because("clearance_missing", {"day": day.isoformat()}))


def _proposals(one: Standing, today: date) -> Matter | None:
    """Those that need thought come before plain ones, longer waits before shorter."""
    if not one.proposals:
        return None
    oldest = min(proposal.day for proposal in one.proposals)
    plain = sum(proposal.plain for proposal in one.proposals)
    params: Params = {"count": len(one.proposals), "plain": plain, "day": oldest.isoformat()}
    urgency = 1000.0 * (plain < len(one.proposals)) + (today - oldest).days
    return Matter(one.client, "proposal", oldest, urgency, Because("proposals_waiting", params))


def _sheet(one: Standing, today: date) -> Matter | None:
    due = sorted(day for day in one.unsent if today <= day <= today + SHEET_AHEAD)
    if not due:
        return None
    days = (due[0] - today).days
    because = Because("sheet_due", {"day": due[0].isoformat(), "days": days, "count": len(due)})
    return Matter(one.client, "sheet_not_sent", due[0], float(-days), because)


def _doubts(one: Standing, today: date) -> Matter | None:
    if not one.doubts:
        return None
    oldest = min(one.doubts)
    because = Because("logs_doubtful", {"count": len(one.doubts), "day": oldest.isoformat()})
    return Matter(one.client, "doubt", oldest, float((today - oldest).days), because)


def _absence(one: Standing, today: date) -> Matter | None:
    """Days away count before sessions missed: after some the loads come down."""
    away = (today - one.last_session).days if one.last_session is not None else 0
    if away >= AWAY_FROM_DAYS and one.last_session is not None:
        params: Params = {"days": away, "day": one.last_session.isoformat()}
        return Matter(one.client, "absence", one.last_session, 100.0 + away, Because("away_for_long", params))
    if not one.missed:
        return None
    latest = max(one.missed)
    because = Because("sessions_missed", {"count": len(one.missed), "day": latest.isoformat()})
    return Matter(one.client, "absence", latest, float(len(one.missed)), because)


def _block(one: Standing, today: date) -> Matter | None:
    ends = one.block_ends
    if ends is None or one.next_ready or ends > today + BLOCK_AHEAD:
        return None
    days = (ends - today).days
    return Matter(
        one.client, "block_ending", ends, float(-days), Because("block_ends", {"day": ends.isoformat(), "days": days})
    )


def _clearance(one: Standing, today: date) -> Matter | None:
    until = one.cleared_until
    if until is None or not today <= until <= today + CLEARANCE_AHEAD or not one.cleared:
        return None
    days = (until - today).days
    because = Because("clearance_ends", {"day": until.isoformat(), "days": days})
    return Matter(one.client, "clearance_expiring", until, float(-days), because)
