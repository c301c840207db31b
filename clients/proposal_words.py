"""A proposal in words: what kind of change, what it would be, old and new figures, and why."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from clients.cycles import round_words
from clients.models import Proposal
from clients.sheets import wording
from programs.capping import LEVER_WORDS
from programs.reasons import sentence_of

Word = str | Promise
EVIDENCE = "sets_used"
HEALTH_REASONS = frozenset({"plain.health", "plain.not_cleared"})
NOTHING = "0"
LOAD_UNITS = ("kg", "lb")

# The flag's word, and what the change is, by the engine's name for it.
KINDS: Mapping[str, tuple[Word, Word]] = {
    "same": (gettext_lazy("repeat"), gettext_lazy("the same again")),
    "reps_up": (gettext_lazy("more reps"), gettext_lazy("the same load, more reps")),
    "load_up": (gettext_lazy("step up"), gettext_lazy("one step up")),
    "load_down": (gettext_lazy("step down"), gettext_lazy("one step down")),
    "time_up": (gettext_lazy("longer"), gettext_lazy("longer than last time")),
    "find_load": (gettext_lazy("find load"), gettext_lazy("the client finds the load")),
    "first_load": (gettext_lazy("first load"), gettext_lazy("a first load")),
    "after_deload": (gettext_lazy("back up"), gettext_lazy("back to the load before the easier week")),
    "deload": (gettext_lazy("easier week"), gettext_lazy("fewer sets, lighter, more in reserve")),
    "return": (gettext_lazy("return"), gettext_lazy("back after time away, lighter")),
    "returning": (gettext_lazy("returning"), gettext_lazy("a step back towards the old load")),
    "freeze": (gettext_lazy("held back"), gettext_lazy("no rise while it hurts")),
    "stop": (gettext_lazy("paused"), gettext_lazy("left out until you decide")),
    "step_too_big": (gettext_lazy("big step"), gettext_lazy("more reps for now, the next load is a big step")),
    "load_ceiling": (gettext_lazy("heaviest"), gettext_lazy("the heaviest load is reached: your choice")),
    "stall_check": (gettext_lazy("stalled"), gettext_lazy("look for the cause before anything changes")),
    "wave": (gettext_lazy("wave"), gettext_lazy("the next week of the wave")),
    "test_day": (gettext_lazy("test"), gettext_lazy("a test of strength")),
    "ill": (gettext_lazy("held back"), gettext_lazy("less than usual for now, or nothing")),
}
OFFERS: Mapping[str, Word] = {
    "take_step": gettext_lazy("take the step all the same"),
    "take_step_down": gettext_lazy("take a step down"),
    **LEVER_WORDS,
    "variation": gettext_lazy("a harder variation"),
    "one_heavier_set": gettext_lazy("one heavier set"),
    "deload": gettext_lazy("an easier week"),
    "rep_range": gettext_lazy("another rep range"),
    "swap": gettext_lazy("another exercise"),
    "variant_without_joint": gettext_lazy("a variant that spares it"),
    "shorter_range": gettext_lazy("a shorter range"),
    "without_help": gettext_lazy("without help"),
}


@dataclass(frozen=True, slots=True)
class Figure:
    """Old and new in figures; ``old`` is "" where there is nothing to compare with."""

    old: str
    new: str
    unit: str = ""
    small: bool = True  # no load but words, or sets and reps, which need more room


def flag_word(kind: str) -> str:
    return str(KINDS[kind][0]) if kind in KINDS else kind


def what(proposal: Proposal) -> str:
    """ "Back squat, 4 × 6–8: one step up." """
    ask = asked_words(proposal.new)
    name = proposal.exercise.name
    named = f"{name}, {ask}" if ask else name
    change = KINDS[proposal.kind][1] if proposal.kind in KINDS else proposal.kind
    return _("%(exercise)s: %(change)s.") % {"exercise": named, "change": change}


def asked_words(ask: Mapping[str, Any]) -> str:
    """A prescription in short: "4 × 6–8", "3 × 45 s"; "" for none."""
    sets, much = ask.get("sets") or 0, _amount(ask)
    if not sets:
        return ""
    times = f"{wording.NBSP}{wording.TIMES}{wording.NBSP}"
    return f"{sets}{times}{much}" if much else ngettext("%d set", "%d sets", sets) % sets


def _amount(ask: Mapping[str, Any]) -> str:
    if ask.get("seconds") is not None:
        return wording.seconds_words(ask["seconds"])
    if ask.get("metres") is not None:
        return f"{ask['metres']}{wording.NBSP}m"
    low, high = ask.get("reps_low"), ask.get("reps_high")
    if low is None:
        return ""
    return str(low) if high in (None, low) else f"{low}{wording.RANGE}{high}"


def figure(proposal: Proposal) -> Figure:
    """The load where it changes, else what is asked; an en dash for no load yet."""
    old, new = proposal.old, proposal.new
    unit = new.get("unit") or old.get("unit") or ""
    if new.get("find_load"):
        return Figure(_load(old), _("to find"))
    if not new.get("sets"):
        return Figure("", _("left out"))
    was, now = _load(old), _load(new)
    if now and was != now:
        return _of_load(was, now, unit, proposal)
    if old.get("sets") == new.get("sets") and _amount(old) != _amount(new):
        return Figure(_amount(old), _amount(new), _("reps") if new.get("reps_low") is not None else "")
    asked_before, asked_now = asked_words(old), asked_words(new)
    if asked_before != asked_now:
        return Figure(asked_before, asked_now)
    return _of_load("", now, unit, proposal) if now else Figure("", asked_now)


def _of_load(was: str, now: str, unit: str, proposal: Proposal) -> Figure:
    """A load as it is meant: help of a machine, or what is added to the body, with its unit."""
    if unit not in LOAD_UNITS:
        return Figure(was, now)
    exercise, below = proposal.exercise, now.startswith(wording.MINUS)
    size = now.removeprefix(wording.MINUS)
    if exercise.load_entry == "assisted" and not below:
        return Figure(was, now, _("%(unit)s help") % {"unit": unit}, small=False)
    if exercise.load_entry == "added" and exercise.bodyweight_fraction and below:
        # Help on one line with what is added: less of it is more.
        return Figure(was.removeprefix(wording.MINUS), size, _("%(unit)s help") % {"unit": unit}, small=False)
    if exercise.load_entry in ("added", "assisted") and exercise.bodyweight_fraction:
        if now == NOTHING and not was:
            return Figure("", _("bodyweight"))
        return Figure(was, size if now == NOTHING else f"+{size}", unit, small=False)
    return Figure(was, now, unit, small=False)


def whole_words(ask: Mapping[str, Any], proposal: Proposal) -> str:
    """What is asked for, load and all: "75 kg, 4 × 6–8", "bodyweight, 3 × 8"; that it is left out, or to be found."""
    asked = asked_words(ask)
    if not asked:
        return _("left out")
    now = _load(ask)
    if ask.get("find_load"):
        return _("%(asked)s, load to find") % {"asked": asked}
    if not now:
        return asked
    shown = _of_load("", now, ask.get("unit") or "", proposal)
    return f"{shown.new}{wording.NBSP}{shown.unit}, {asked}" if shown.unit else f"{shown.new}, {asked}"


def _load(ask: Mapping[str, Any]) -> str:
    return "" if ask.get("load") is None else wording.number(ask["load"])


def load_words(load: float, unit: str) -> str:
    figure = wording.number(load)
    return f"{figure}{wording.NBSP}{unit}" if unit in LOAD_UNITS else figure


def because(proposal: Proposal) -> str:
    """Why, in at most two lines: what was done, and what decides. All reasons stand on the proposal's own page."""
    evidence = next((reason for reason in proposal.reasons if reason["code"] == EVIDENCE), None)
    others = [reason for reason in proposal.reasons if reason["code"] != EVIDENCE]
    words = [_evidence(evidence["params"])] if evidence is not None else []
    words += [sentence_of(reason, None, proposal.new.get("unit") or "") for reason in others[-1:]]
    return " ".join(words)


def _evidence(params: Mapping[str, Any]) -> str:
    """ "8/8/8 with 2 in reserve on 23 Nov." """
    done = params.get("reps") or params.get("seconds") or params.get("metres") or ""
    rir = str(params.get("rir") or "")
    # The same reserve in every set is said once.
    effort = rir.partition("/")[0] if len(set(rir.split("/"))) == 1 else rir
    words = {"done": done, "rir": effort, "day": wording.day(str(params.get("day") or ""), "j M")}
    if effort:
        return _("%(done)s with %(rir)s in reserve on %(day)s.") % words
    return _("%(done)s on %(day)s, effort not said.") % words


def reasons(proposal: Proposal, names: Mapping[str, str] | None = None) -> list[str]:
    unit = proposal.new.get("unit") or ""
    return [sentence_of(reason, names, unit) for reason in proposal.reasons]


def offers(proposal: Proposal) -> list[str]:
    """Other ways on, in words."""
    found: Sequence[Mapping[str, Any]] = proposal.new.get("offers") or ()
    return [str(OFFERS.get(offer["code"], offer["code"])) for offer in found]


def not_plain(proposal: Proposal, *, sees_health: bool = True) -> list[str]:
    """Why it waits for the coach's own eye; empty for a plain one."""
    return why_not(proposal.new.get("not_plain") or (), sees_health=sees_health)


def why_not(reasons: Iterable[Mapping[str, Any]], *, sees_health: bool = True) -> list[str]:
    """The same for the reasons of several, each said once. What health answers bound is for those who may see them."""
    # Many proposals give the same reason: each is put into words once.
    different = {(reason["code"], *reason["params"].items()): reason for reason in reasons}
    said = [
        _("Changes of this client always wait for you.")
        if not sees_health and reason["code"] in HEALTH_REASONS
        else sentence_of(reason)
        for reason in different.values()
    ]
    return list(dict.fromkeys(said))


def decided_words(proposal: Proposal) -> str:
    """What the line asks for now: "75 kg, 4 × 6–8"."""
    return whole_words(proposal.decided or {}, proposal)


def session_words(proposal: Proposal) -> str:
    """ "Lower A, Tue 14 Oct"."""
    session = proposal.session
    if session.planned_on is None:
        return f"{session.name}, {round_words(session.cycle, session.block.cycle_days)}"
    return f"{session.name}, {wording.day(session.planned_on)}"
