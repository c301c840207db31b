"""What was done, in words: the acts of the change journal that a list of undos names."""

from collections.abc import Callable, Mapping
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from coachdesk.practice.models import JournalEntry

Word = str | Promise
Params = Mapping[str, Any]


def _counted(one: Callable[[int], str], alone: Word) -> Callable[[Params], str]:
    """For one of them its name, for several their number."""

    def words(params: Params) -> str:
        count = int(params.get("count") or 1)
        if count == 1 and params.get("exercise"):
            return str(alone) % params
        return one(count)

    return words


def _sheets(params: Params) -> str:
    count = int(params.get("count") or 1)
    return ngettext("Sent %d sheet", "Sent %d sheets", count) % count


def _sets(params: Params) -> str:
    count = int(params.get("sets") or 0)
    if not count:
        return _("Corrected a log: %(session)s") % {"session": params.get("session", "")}
    return ngettext("Typed in %(n)d set, %(session)s", "Typed in %(n)d sets, %(session)s", count) % {
        "n": count,
        "session": params.get("session", ""),
    }


ACTS: Mapping[str, Callable[[Params], str]] = {
    "proposal.accept": _counted(
        lambda count: ngettext("Accepted %d proposal", "Accepted %d proposals", count) % count,
        gettext_lazy("Accepted %(exercise)s"),
    ),
    "proposal.decline": _counted(
        lambda count: ngettext("Declined %d proposal", "Declined %d proposals", count) % count,
        gettext_lazy("Declined %(exercise)s"),
    ),
    "progression.save": lambda params: _("Changed how %(exercise)s progresses") % params,
    "sheet.issue": _sheets,
    "sheet.withdraw": lambda params: _("Withdrew a sheet"),
    "proposal.went_out": _counted(
        lambda count: (
            ngettext("%d plain change went out by itself", "%d plain changes went out by themselves", count) % count
        ),
        gettext_lazy("%(exercise)s went out by itself"),
    ),
    "proposal.release": lambda params: _("Released %(exercise)s") % {"exercise": params.get("exercise", "")},
    "client.plain_goes_out": lambda params: (
        _("Let plain changes go out by themselves") if params.get("on") else _("Kept plain changes for the coach")
    ),
    "log.enter": _sets,
    "log.edit": lambda params: _("Corrected a set: %(exercise)s") % {"exercise": params.get("exercise", "")},
    "log.settle": lambda params: _("Settled a doubt: %(exercise)s") % {"exercise": params.get("exercise", "")},
    "log.take_back": lambda params: _("Took a set back: %(exercise)s") % {"exercise": params.get("exercise", "")},
    "session.missed": lambda params: _("Marked %(session)s as missed") % {"session": params.get("session", "")},
    "session.dropped": lambda params: _("Left out %(session)s") % {"session": params.get("session", "")},
    "session.planned": lambda params: _("Planned %(session)s again") % {"session": params.get("session", "")},
    "session.shorten": lambda params: _("Cut %(session)s to %(minutes)s minutes") % params,
    "session.move": lambda params: _("Moved %(session)s") % {"session": params.get("session", "")},
    "sessions.missed": lambda params: _("Marked %(count)s sessions as missed") % {"count": params.get("count", "")},
    "sessions.next": lambda params: _("Put %(count)s missed sessions next") % {"count": params.get("count", "")},
    "sessions.dropped": lambda params: _("Left out %(count)s sessions") % {"count": params.get("count", "")},
    "sessions.days": lambda params: _("Put %(count)s sessions on other days") % {"count": params.get("count", "")},
    "sessions.anew": lambda params: _("Built the rest of a block anew for other days"),
    "sessions.draft": lambda params: _("Opened a draft for other days"),
    "sessions.part": lambda params: (
        _("Changed part of a block: %(count)s sessions") % {"count": params.get("count", "")}
    ),
    "sessions.shift": lambda params: _("Shifted %(count)s sessions") % {"count": params.get("count", "")},
    "sessions.again": lambda params: _("Had a week done again"),
    "sessions.insert": lambda params: _("Put a week into a block"),
    "sessions.drop": lambda params: _("Left out what was to come of a week"),
    "sessions.ease": lambda params: _("Made a deload of a week"),
    "sessions.end": lambda params: _("Ended a block early"),
    "note.seen": lambda params: _("Marked a note as seen"),
    "block.assign": lambda params: _("Assigned a block"),
    "client.pause": lambda params: _("Paused"),
    "client.wait": lambda params: _("Changed when a pause ends"),
    "client.leave": lambda params: _("Let leave"),
    "client.come_back": lambda params: _("Took back"),
    "client.coach": lambda params: _("Handed over to %(coach)s") % params,
    "exercise.merge": lambda params: _("Merged %(name)s into %(into)s") % params,
    "exercise.split": lambda params: _("Split %(made)s off %(name)s") % params,
    "library.import": lambda params: _("Imported exercises: %(new)d new, %(changed)d changed") % params,
    "templates.import": lambda params: _("Imported templates: %(new)d new, %(changed)d changed") % params,
    "outline.start": lambda params: _("Started the template %(name)s") % params,
    "outline.save": lambda params: _("Saved the template %(name)s as version %(version)s") % params,
    "outline.discard": lambda params: _("Threw away the work on the template %(name)s") % params,
    "outline.archive": lambda params: _("Archived the template %(name)s") % params,
    "outline.restore": lambda params: _("Restored the template %(name)s") % params,
    "outline.from_block": lambda params: _("Made the template %(name)s from a block") % params,
    "caps.save": lambda params: _("Changed how far loads may change"),
    "weights.save": lambda params: (
        ngettext("Changed %d weight of composing", "Changed %d weights of composing", int(params.get("count") or 1))
        % int(params.get("count") or 1)
    ),
    "pain.answer": lambda params: _("Answered a pain report"),
}
# Acts about health: named only to those who may see it.
HEALTH_ACTS = frozenset(("pain.answer",))


def act_words(entry: JournalEntry, names: Mapping[str, str]) -> str | None:
    """The act in words, with the client's name where it was about one; None for an act that no list names."""
    words = ACTS.get(entry.act)
    if words is None:
        return None
    name = names.get(entry.about, "")
    text = words(entry.params)
    return _("%(act)s, %(name)s") % {"act": text, "name": name} if name else text
