"""What merging or splitting comes to, in words: what hangs on an exercise, how two differ, what is settled how."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from clients.reads.merging import MINDED, REFUSED, Both, Difference, Held
from clients.reads.splitting import Portion
from programs import labels
from programs.models import Exercise

MOST_NAMES = 6
BETWEEN = "\u00a0· "  # the dot ends a line and never begins one
PERCENT = 100
PARTS = {4: "1", 2: "½", 1: "¼"}
Word = str | Promise

FACTS: Mapping[str, Word] = {
    "load_entry": gettext_lazy("Load means"),
    "rep_unit": gettext_lazy("Counted in"),
    "limbs": gettext_lazy("Sides"),
    "bodyweight_fraction": gettext_lazy("Share of bodyweight moved"),
    "implement": gettext_lazy("Implement"),
    "pattern": gettext_lazy("Pattern"),
    "angle": gettext_lazy("Angle"),
    "grip": gettext_lazy("Grip"),
    "role": gettext_lazy("Role"),
    "skill": gettext_lazy("Skill"),
    "regions": gettext_lazy("Counts for"),
}
FOLLOWS: Mapping[tuple[str, str], Word] = {
    ("load_entry", REFUSED): gettext_lazy("A load that was typed would be read as something else."),
    ("rep_unit", REFUSED): gettext_lazy("Nobody could tell afterwards which of them was counted."),
    ("limbs", REFUSED): gettext_lazy("A set would be read as done with the other number of sides."),
    ("bodyweight_fraction", REFUSED): gettext_lazy("A load on top of the body is not a load by itself."),
    ("implement", REFUSED): gettext_lazy("The numbers of its pin holes would be another machine’s."),
    ("load_entry", MINDED): gettext_lazy("Its sets have no load, and stay without one."),
    ("bodyweight_fraction", MINDED): gettext_lazy("Estimates are reckoned with the share of %(other)s."),
    ("implement", MINDED): gettext_lazy(
        "Loads of both stand in one line, and lines to come keep theirs: look whether they fit."
    ),
    ("pattern", MINDED): gettext_lazy("Its sets stand under the movement of %(other)s from then on."),
    ("regions", MINDED): gettext_lazy("Its sets count for what %(other)s counts for, past weeks too."),
}
COUNTED = ("load_entry", "rep_unit", "limbs")


PICTURES: Mapping[str, Word] = {
    "photo": gettext_lazy("photo"),
    "clip_url": gettext_lazy("link to a clip"),
    "figure": gettext_lazy("drawing"),
}


class Row(NamedTuple):
    """One difference: the fact, both values, what follows from it, and whether it stands in the way."""

    fact: Word
    one: str
    other: str
    follows: str
    refused: bool


class Line(NamedTuple):
    """A sentence, and whether to look at it twice."""

    text: str
    caution: bool = False


def listed(names: Sequence[str]) -> str:
    """At most six names, and how many more there are. Not a comma between, as some of the names have one."""
    shown = BETWEEN.join(names[:MOST_NAMES])
    more = len(names) - MOST_NAMES
    return (
        shown
        if more <= 0
        else ngettext("%(names)s and %(count)d more", "%(names)s and %(count)d more", more)
        % {
            "names": shown,
            "count": more,
        }
    )


def held_rows(held: Held, *, health: bool) -> list[tuple[str, str]]:
    """What hangs on an exercise: label and how much. Pain reports are counted for those who may see them."""
    lines = held.planned + held.past
    found: list[tuple[str, str, int]] = [
        (_("Sets done"), sets_words(held.sets, held.clients), held.sets),
        (_("Lines of sessions"), lines_words(held.planned, held.past), lines),
        (_("Sets from before"), str(held.recent), held.recent),
        (_("Proposals that wait"), str(held.waiting), held.waiting),
        (_("Likes and dislikes"), _tastes(held), held.likes + held.dislikes),
        (_("Limits"), clients_words(held.limits), held.limits),
        (_("How it progresses"), clients_words(held.steered), held.steered),
        (_("Pain reports"), str(held.pain), held.pain if health else 0),
        (
            _("Favourites"),
            ngettext("of %d coach", "of %d coaches", held.favourites) % held.favourites,
            held.favourites,
        ),
        (_("Templates"), listed(held.templates), held.candidates),
        (_("Weeks being composed"), str(held.drafts), held.drafts),
    ]
    return [(label, words) for label, words, count in found if count]


def sets_words(sets: int, clients: int) -> str:
    words = ngettext("%d set", "%d sets", sets) % sets
    return f"{words}, {clients_words(clients)}" if sets else words


def clients_words(count: int) -> str:
    return ngettext("%d client", "%d clients", count) % count


def lines_words(planned: int, past: int) -> str:
    ahead = ngettext("%d to come", "%d to come", planned) % planned
    behind = ngettext("%d behind", "%d behind", past) % past
    return ", ".join(words for words, count in ((ahead, planned), (behind, past)) if count)


def _tastes(held: Held) -> str:
    liked = ngettext("%d likes it", "%d like it", held.likes) % held.likes
    disliked = ngettext("%d dislikes it", "%d dislike it", held.dislikes) % held.dislikes
    return ", ".join(words for words, count in ((liked, held.likes), (disliked, held.dislikes)) if count)


def difference_rows(one: Exercise, other: Exercise, found: Sequence[Difference]) -> list[Row]:
    rows = []
    for each in found:
        follows = FOLLOWS.get((each.name, each.weight), "")
        if each.name in COUNTED and not follows:
            follows = _("Nothing was done or planned with it: nothing can be misread.")
        rows.append(
            Row(
                FACTS[each.name],
                _value(one, each.name),
                _value(other, each.name),
                str(follows) % {"other": other.name},
                each.weight == REFUSED,
            )
        )
    return rows


def _value(exercise: Exercise, name: str) -> str:
    if name == "bodyweight_fraction":
        return f"{exercise.bodyweight_fraction * PERCENT:.0f}\u00a0%"
    if name == "regions":
        rows: Any = exercise.regions.all()
        return BETWEEN.join(f"{labels.REGIONS[row.region]}\u00a0{PARTS[row.quarters]}" for row in rows)
    if name in ("angle", "grip"):
        return getattr(exercise, name) or "–"
    return str(getattr(exercise, f"get_{name}_display")())


def both_lines(one: Exercise, other: Exercise, both: Both) -> list[Line]:
    """How it is settled where both have something and there is place for one only."""
    names = {"one": one.name, "other": other.name}
    agreed = [name for name, differ in both.tastes if not differ]
    differed = [name for name, differ in both.tastes if differ]
    found = [
        Line(_("Likes one and dislikes the other; the dislike stays: %s.") % listed(differed)) if differed else None,
        Line(_("Said the same of both; it stands once: %s.") % listed(agreed)) if agreed else None,
        Line(_("The same limit for both; it stands once: %s.") % listed(both.limits)) if both.limits else None,
        Line(
            _("You decided how each progresses; what you decided for %(other)s stays: %(names)s.")
            % {**names, "names": listed(both.steered)}
        )
        if both.steered
        else None,
        Line(
            _("Spare %(one)s and have %(other)s planned; from then on %(other)s is spared too: %(names)s.")
            % {**names, "names": listed(both.newly_spared)},
            caution=True,
        )
        if both.newly_spared
        else None,
        Line(
            ngettext(
                "%d coach keeps both near: it stands once.",
                "%d coaches keep both near: it stands once.",
                both.favourites,
            )
            % both.favourites
        )
        if both.favourites
        else None,
        Line(
            _("Candidates for the same place; the better rank stays: %s.")
            % listed([f"{template}, {title}" for template, title in both.slots])
        )
        if both.slots
        else None,
        Line(
            ngettext(
                "%d session to come has both: %(other)s stands twice in it then. Look at it afterwards.",
                "%d sessions to come have both: %(other)s stands twice in each then. Look at them afterwards.",
                both.sessions,
            ).replace("%d", str(both.sessions))
            % names,
            caution=True,
        )
        if both.sessions
        else None,
    ]
    return [line for line in found if line is not None]


def pictures_words(names: Sequence[str]) -> str:
    """What is shown of an exercise, by the names of its fields: "photo, link to a clip"."""
    return ", ".join(str(PICTURES[name]) for name in names)


def staying_lines(one: Exercise, other: Exercise, held: Held) -> list[str]:
    """What a merge leaves as it is, and what it does not."""
    names = {"one": one.name, "other": other.name}
    out = _("Sheets that went out keep saying %(one)s; what comes back from them counts for %(other)s.") % names
    if held.sheets_out:
        out += " " + ngettext(
            "%d of a session to come is out now.", "%d of sessions to come are out now.", held.sheets_out
        ) % (held.sheets_out)
    return [
        out,
        _("No figure of a set changes, and nothing that was decided."),
        _("Proposals that wait are reckoned again. They and later ones look at the joined history, as trends do."),
        _("%(one)s stays, hidden. Its page and its names lead to %(other)s.") % names,
    ]


def portion_rows(portion: Portion, *, health: bool) -> list[tuple[str, str]]:
    """What goes along to a new exercise: label and how much."""
    found: list[tuple[str, str, int]] = [
        (_("Sets done"), sets_words(portion.sets, portion.clients), portion.sets),
        (
            _("Lines of sessions"),
            lines_words(portion.planned, portion.past),
            portion.planned + portion.past,
        ),
        (_("Sets from before"), str(portion.recent), portion.recent),
        (_("Pain reports"), str(portion.pain), portion.pain if health else 0),
    ]
    return [(label, words) for label, words, count in found if count]


def left_lines(one: Exercise, portion: Portion) -> list[str]:
    """What stays with the old one, and what holds for both."""
    found = [
        ngettext("%(count)d set stays with %(one)s.", "%(count)d sets stay with %(one)s.", portion.sets_left)
        % {"count": portion.sets_left, "one": one.name}
    ]
    if portion.sheets_out:
        found.append(
            ngettext(
                "%(count)d line to come stays too: its sheet is out and says %(one)s.",
                "%(count)d lines to come stay too: their sheets are out and say %(one)s.",
                portion.sheets_out,
            )
            % {"count": portion.sheets_out, "one": one.name}
        )
    return [
        *found,
        _("Limits, likes, dislikes and how it progresses hold for both from then on. Favourites stay."),
        _("Weeks being composed go on with %(one)s, later ones as their template says.") % {"one": one.name},
        _("No figure of a set changes. Proposals that wait are reckoned again, each from its own history."),
    ]
