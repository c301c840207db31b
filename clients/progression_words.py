"""How an exercise goes on, in words: what holds, the weeks of a wave, the last sessions."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from clients import proposal_words
from clients.forms.progressions import policy_name
from clients.models import Progression, Proposal
from clients.reads.progressions import Going
from clients.sheets import wording
from programs.engine import terms
from programs.engine.progress.history import Session
from programs.engine.terms import Because
from programs.reasons import sentence_of

FACTOR_TELLS_FROM = 0.05  # a smaller difference from the usual curve is not worth a word


@dataclass(frozen=True, slots=True)
class Fact:
    label: str
    value: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class WeekRow:
    number: int
    sets: str
    next: bool


@dataclass(frozen=True, slots=True)
class SessionRow:
    day: str
    load: str
    done: str
    reserve: str


def holds(going: Going) -> list[Fact]:
    """What holds now: the policy, where a wave stands, the estimate, from when the history counts, what is asked."""
    steer = going.steer
    facts = [_policy(going)]
    if steer.policy == Progression.Policy.WAVES and steer.working_max is not None:
        maximum = proposal_words.load_words(float(steer.working_max), steer.working_max_unit)
        note = ngettext("%d round trained", "%d rounds trained", steer.rounds) % steer.rounds if steer.rounds else ""
        wave = going.wave
        above = wave is not None and going.estimate is not None and wave.working_max > going.estimate
        notes = [note, _("above the estimate: what is proposed from it may be too much") if above else ""]
        facts.append(Fact(_("Working max"), maximum, "; ".join(filter(None, notes))))
        week = _("week %(week)d of %(of)d") % {"week": steer.week + 1, "of": max(1, len(steer.weeks))}
        facts.append(Fact(_("Comes next"), week))
    facts.append(_estimate(going))
    if steer.baseline_on is not None:
        since = wording.day(steer.baseline_on, "j M Y")
        facts.append(Fact(_("History counts from"), since, steer.get_baseline_reason_display()))
    if steer.test != Progression.Test.NONE:
        facts.append(Fact(_("Asked for"), steer.get_test_display(), _("until the session with it has been trained")))
    names = [line.session.name for line in going.coming]
    facts.append(Fact(_("Planned in"), ", ".join(names) or _("no session to come")))
    return facts


def _policy(going: Going) -> Fact:
    if going.steer.policy:
        return Fact(_("Progresses"), policy_name(going.steer.policy), _("as you decided"))
    return Fact(_("Progresses"), policy_name(going.usual), _("as usual for role and experience"))


def _estimate(going: Going) -> Fact:
    label = _("Estimated maximum")
    if going.estimate is None:
        why = _("Nothing that was logged tells it.")
        if not going.trusted:
            why = _("A beginner’s ratings tell it once a check set agrees.")
        return Fact(label, "–", why)
    notes = []
    if going.moves_body:
        notes.append(_("of what is moved, the body’s share among it"))
    if abs(going.factor - 1) >= FACTOR_TELLS_FROM:
        more = (
            _("does more reps at a share than most") if going.factor > 1 else _("does fewer reps at a share than most")
        )
        notes.append(more)
    return Fact(label, proposal_words.load_words(round(going.estimate, 1), going.unit), "; ".join(notes))


def week_rows(going: Going) -> list[WeekRow]:
    return [WeekRow(week.number, _sets(week.sets, going.unit), week.next) for week in going.weeks()]


def _sets(sets: tuple[terms.TargetSet, ...], unit: str) -> str:
    """ "2 × 5 at 70 kg, 1 × 3+ at 80 kg"."""
    found: list[list] = []
    for one in sets:
        reps = f"{one.reps_low}+" if one.open_ended else str(one.reps_low)
        load = "–" if one.load is None else proposal_words.load_words(one.load, unit)
        if found and found[-1][1:] == [reps, load]:
            found[-1][0] += 1
        else:
            found.append([1, reps, load])
    times = f"{wording.NBSP}{wording.TIMES}{wording.NBSP}"
    return ", ".join(
        _("%(sets)s at %(load)s") % {"sets": f"{count}{times}{reps}", "load": load} for count, reps, load in found
    )


def session_rows(going: Going) -> list[SessionRow]:
    """The last sessions that count, the newest first."""
    return [_session(one, going) for one in going.last]


def _session(one: Session, going: Going) -> SessionRow:
    params = one.used().params
    done = params.get("reps") or params.get("seconds") or params.get("metres") or "–"
    load = "–" if one.load is None else proposal_words.load_words(one.load, going.unit)
    day = wording.day(one.day, "j M Y")
    named = _("%(day)s, easier week") % {"day": day} if one.deload else day
    return SessionRow(named, load, str(done), str(params.get("rir") or "?"))


def barred_words(why: Because | None) -> str:
    return "" if why is None else sentence_of(why)


def waiting(going: Going) -> list[tuple[Proposal, str, str]]:
    """What waits to be decided: the proposal, what it is, and its session."""
    return [(row, proposal_words.what(row), proposal_words.session_words(row)) for row in going.proposals]
