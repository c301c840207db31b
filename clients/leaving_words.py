"""What the pages for pausing, leaving, coming back and another coach say: what happens, what stays, each named."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from clients.cycles import is_rolling
from clients.models import Client, Draft, SheetVersion, TrainingSession
from clients.reads.blocks import day_words
from clients.reads.leaving import Before, Links, Return, Way
from coachdesk.practice.models import Coach
from programs.reasons.words import days, listing

NAMED = 6


@dataclass(frozen=True, slots=True)
class Said:
    """One thing: what it is about, a sentence, and each of what is meant by name."""

    head: str
    text: str
    items: tuple[str, ...] = ()


def _few(words: Sequence[str]) -> tuple[str, ...]:
    more = len(words) - NAMED
    if more <= 1:
        return tuple(words)
    return (*words[:NAMED], ngettext("and %d more", "and %d more", more) % more)


def _full(day: date) -> str:
    return date_format(day, "j M Y")


def session_words(row: TrainingSession) -> str:
    return f"{row.name}, {day_words(row.planned_on)}"


def _sheets(sheets: Iterable[SheetVersion], text: str) -> Said:
    named = _few([session_words(version.session) for version in sheets])
    return Said(_("Sheets"), text if named else _("None is out."), named)


def _link_items(links: Links) -> tuple[str, ...]:
    items = [_("the client’s link, open until %s") % _full(link.expires_at.date()) for link in links.client]
    codes = len(links.sheets)
    if codes:
        names = listing([session_words(link.session) for link in links.sheets[:NAMED]], pgettext("in a list", "and"))
        if codes > NAMED:
            names = _("%(some)s and more") % {"some": names}
        items.append(
            ngettext("%(n)d code on a sheet: %(names)s", "%(n)d codes on sheets: %(names)s", codes)
            % {"n": codes, "names": names}
        )
    items += [_("the calendar feed") for _feed in links.feeds]
    return tuple(items)


def _proposals(found: Before) -> Said | None:
    if not found.proposals:
        return None
    text = ngettext(
        "%d waits: it counts as overtaken, and is reckoned anew when there is a session again.",
        "%d wait: they count as overtaken, and are reckoned anew when there is a session again.",
        found.proposals,
    )
    return Said(_("Proposals"), text % found.proposals)


def _behind(found: Before) -> Said | None:
    if not found.behind:
        return None
    text = ngettext(
        "%d session before that day has no log. It stays as it is, to be settled in the calendar.",
        "%d sessions before that day have no log. They stay as they are, to be settled in the calendar.",
        len(found.behind),
    )
    return Said(_("Without a log"), text % len(found.behind), _few([session_words(row) for row in found.behind]))


def _drafts(drafts: Sequence[Draft]) -> Said | None:
    if not drafts:
        return None
    named = [_("%(name)s, from %(day)s") % {"name": row.outline.name, "day": _full(row.starts_on)} for row in drafts]
    return Said(_("Drafts"), _("Kept as they are."), _few(named))


def _kept(*also: Said | None) -> list[Said]:
    logs = Said(
        _("Logs and baselines"),
        _("Every set, weight and decision, every baseline and what a sheet said when it was handed out."),
    )
    return [logs, *_only(*also)]


def _only(*said: Said | None) -> list[Said]:
    return [one for one in said if one is not None]


def pausing(found: Before, *, until: date | None, close: bool) -> tuple[list[Said], list[Said]]:
    """What happens, and what stays."""
    if found.block is None:
        block = Said(_("Block"), _("None is running."))
    else:
        text = ngettext(
            "%(n)d session of block %(block)d goes on hold: not sent, not due, not missed.",
            "%(n)d sessions of block %(block)d go on hold: not sent, not due, not missed.",
            len(found.ahead),
        )
        words = {"n": len(found.ahead), "block": found.block.number}
        block = Said(_("Block"), text % words, _few([session_words(row) for row in found.ahead]))
    ahead = {row.pk for row in found.ahead}
    withdrawn = [version for version in found.sheets if version.session_id in ahead]
    earlier = [version for version in found.sheets if version.session_id not in ahead]
    items = _link_items(found.links)
    happens = _only(
        block,
        _sheets(withdrawn, _("Withdrawn. A PDF that was saved can’t be called back.")),
        _proposals(found),
        _behind(found),
        Said(_("Links"), _("Closed for good, undo or not."), items) if close and items else None,
        _back(until),
    )
    open_links = Said(_("Links"), _("Stay open, so that what was trained can still come in."), items)
    still_out = _sheets(earlier, _("Those of sessions before that day stay out.")) if earlier else None
    return happens, _kept(open_links if items and not close else None, still_out, _drafts(found.drafts))


def awaiting(found: Before, *, until: date | None) -> tuple[list[Said], list[Said]]:
    """Of somebody who pauses already: another day to be back on."""
    held = [session_words(row) for row in found.ahead if row.state == TrainingSession.State.HELD]
    block = Said(_("Block"), _("It stays on hold."), _few(held)) if held else None
    return [_back(until)], _kept(block, _drafts(found.drafts))


def _back(until: date | None) -> Said:
    if until is None:
        return Said(_("Back"), _("Not known. Nothing starts by itself."))
    text = _("Expected on %s; the Desk and the list of clients say so from that day on. Nothing starts by itself.")
    return Said(_("Back"), text % _full(until))


def leaving(found: Before, *, keep_until: date) -> tuple[list[Said], list[Said]]:
    block = None
    if found.block is not None:
        text = ngettext(
            "Block %(block)d ends, and %(n)d session that was to come is left out.",
            "Block %(block)d ends, and %(n)d sessions that were to come are left out.",
            len(found.ahead),
        )
        words = {"n": len(found.ahead), "block": found.block.number}
        block = Said(_("Block"), text % words, _few([session_words(row) for row in found.ahead]))
    items = _link_items(found.links)
    closed = _("Closed for good, undo or not. What waits on the phone without a signal can’t come in any more.")
    happens = _only(
        Said(_("Links and feed"), closed if items else _("None is open."), items),
        _sheets(found.sheets, _("Withdrawn. A PDF that was saved can’t be called back.")),
        block,
        _proposals(found),
        _behind(found),
        Said(
            _("Kept until"),
            _("%s. From then on the list of clients says that the data may be erased; nothing erases itself.")
            % _full(keep_until),
        ),
    )
    return happens, _kept(_drafts(found.drafts))


def returning(found: Return, *, last: date | None) -> tuple[list[Said], list[Said]]:
    """``last`` is the day of the last session."""
    if last is None:
        loads = _("Nothing was logged yet: the first loads are found as with anybody new.")
    else:
        away = {"away": days(max(0, (found.day - last).days)), "day": _full(last)}
        loads = _(
            "%(away)s since the last session, on %(day)s: loads go on from what was logged, lighter by the table for "
            "time away."
        )
        loads %= away
    decided = pinned = None
    if found.decided:
        text = ngettext(
            "%d load that was decided before is reckoned anew and waits for you.",
            "%d loads that were decided before are reckoned anew and wait for you.",
            len(found.decided),
        )
        decided = Said(_("Decided before"), text % len(found.decided), _lines(found.decided))
    if found.pinned:
        text = ngettext(
            "%d load is pinned and stays as it is. Look whether it is still right.",
            "%d loads are pinned and stay as they are. Look whether they are still right.",
            len(found.pinned),
        )
        pinned = Said(_("Pinned"), text % len(found.pinned), _lines(found.pinned))
    questions = Said(
        _("Health questions"),
        _("Asked anew: what was answered before this return no longer counts, and no sheet goes out until then."),
    )
    linkless = None if found.links.client else Said(_("Links"), _("None is open. Make a new one under Documents."))
    return _only(questions, Said(_("Loads"), loads), decided, pinned, linkless), _kept(_drafts(found.drafts))


def _lines(rows: Iterable[Any]) -> tuple[str, ...]:
    return _few([f"{row.exercise.name}, {row.session.name}" for row in rows])


def way_words(way: Way, found: Return) -> tuple[str, str]:
    """What a way for the block is called, and what it comes to."""
    block = found.block
    ends = _full(way.ends_on) if way.ends_on else ""
    if way.code == "on" and block is not None:
        name = _("Go on where it stopped")
        count = len(way.resumed)
        sessions = ngettext("%d session", "%d sessions", count) % count
        words = {"sessions": sessions, "day": ends, "days": days(way.moved), "rounds": way.moved}
        if not way.moved:
            return name, _("%(sessions)s on their own days, the last one on %(day)s.") % words
        if any(row.planned_on for row in way.resumed):
            return name, _("%(sessions)s, each %(days)s later, the last one on %(day)s.") % words
        text = (
            ngettext("%(sessions)s, %(rounds)d cycle later", "%(sessions)s, %(rounds)d cycles later", way.moved)
            if is_rolling(block.cycle_days)
            else ngettext("%(sessions)s, %(rounds)d week later", "%(sessions)s, %(rounds)d weeks later", way.moved)
        )
        return name, _("%(what)s, to %(day)s.") % {"what": text % words, "day": ends}
    if way.code == "dates":
        left = len(way.left_out)
        text = ngettext(
            "What fell into the pause, %(n)d session, is left out; the last one stays on %(day)s.",
            "What fell into the pause, %(n)d sessions, is left out; the last one stays on %(day)s.",
            left,
        )
        return _("Keep the old dates"), text % {"n": left, "day": ends}
    left = len(way.left_out)
    text = ngettext(
        "%d session is left out; compose a new block.", "%d sessions are left out; compose a new block.", left
    )
    return _("End this block"), text % left


def changing_coach(found: Before, client: Client, to: Coach, *, new_ones: bool) -> tuple[list[Said], list[Said]]:
    """``new_ones`` is whether sheets may go out to this client at all."""
    who = {"old": client.coach.name, "new": to.name}
    sheets = None
    if found.sheets:
        text = (
            _("Each is replaced by one that names %(new)s instead of %(old)s as the coach.")
            if new_ones
            else _("They name %(old)s as the coach and are withdrawn; no sheet goes out to this client now.")
        )
        sheets = _sheets(found.sheets, text % who)
    access = _("Every coach of the practice opens all of its clients: %(new)s does, and %(old)s still does.") % who
    health = (
        _("%(new)s may read the health pages.") if to.sees_health else _("%(new)s may not read the health pages.")
    ) % who
    happens = _only(
        Said(_("Responsible coach"), _("%(old)s until now, %(new)s from now on.") % who),
        sheets,
        Said(_("Who sees what"), f"{access} {health}"),
    )
    waiting = None
    if found.proposals:
        text = ngettext("%d waits on, on the same desk.", "%d wait on, on the same desk.", found.proposals)
        waiting = Said(_("Proposals"), text % found.proposals)
    items = _link_items(found.links)
    links = Said(_("Links"), _("Stay open."), items) if items else None
    return happens, _kept(links, waiting, _drafts(found.drafts))
