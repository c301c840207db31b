"""What a template comes to, for ``programs/outlines/_preview.html``: worked out here, only placed by the template.

``comes_to(outline)`` gives the whole context; ``outline`` comes from ``with_preview()``, and no query is made.
"""

import math
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import Any

from django.utils.dates import WEEKDAYS, WEEKDAYS_ABBR
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from programs import labels
from programs.drawings.bodymap import body_map
from programs.drawings.dose_strip import dose_strip
from programs.drawings.lettering import text_width
from programs.drawings.marks import legend_mark
from programs.drawings.recovery_gaps import recovery_gaps
from programs.engine import calendar
from programs.engine.compose import GroupDose, Weights
from programs.engine.compose.mix import WEEKLY_PATTERNS
from programs.engine.compose.outlook import LONG_SESSION_MINUTES, Outlook
from programs.engine.compose.recovering import session_key
from programs.engine.dose import target_range
from programs.engine.terms import Because, Exercise
from programs.engine.vocabulary import AUDITED_GROUPS, EXPERIENCES, REGIONS
from programs.models import Outline
from programs.preview import names_of, previews
from programs.reasons import sentence_of
from programs.reasons.words import KINDS, NBSP, in_text, listing, number, sets
from programs.week_lanes import lanes_of

STRIP_WIDTH = 150
SCALE_ROOM = 4  # sets drawn beyond the highest ceiling
DRAWING_WIDTH, NAMES_LEAST, NAMES_MOST = 328, 60, 140
NAME_SIZE = 13
MAP_HEIGHT_MM = 46
WEEK = calendar.WEEK_DAYS


@dataclass(frozen=True, slots=True)
class Level:
    """One experience: its word, whether the template says it serves it, and "11 in range, 1 under"."""

    name: str
    word: Any
    served: bool
    line: str
    sets: int


@dataclass(frozen=True, slots=True)
class StripRow:
    """One group's sets for one experience: the drawing, the count, and the verdict in words."""

    experience: Any
    served: bool
    strip: SafeString
    counted: str
    verdict: str
    words: str


@dataclass(frozen=True, slots=True)
class Caution:
    """A plain sentence; ``whose`` says for whom where it does not hold for everybody the template serves."""

    text: str
    whose: str


@dataclass(frozen=True, slots=True)
class Minutes:
    figure: int
    long: bool
    served: bool


@dataclass(frozen=True, slots=True)
class Kind:
    word: str
    there: bool


@dataclass(frozen=True, slots=True)
class Preview:
    """Everything that the fragment shows. ``outlooks`` are the engine's own values, one an experience."""

    outlooks: list[Outlook]
    levels: list[Level]
    cautions: list[Caution]
    others: list[Caution]
    groups: list[tuple[Any, list[StripRow]]]
    legend: list[tuple[SafeString, str]]
    sessions: list[tuple[str, list[Minutes]]]
    longest: int
    week: SafeString
    week_words: str
    least_gap: str
    days_words: str
    body: SafeString
    body_words: list[tuple[str, str]]
    kinds: list[Kind]
    pull_to_push: str
    rolling: bool
    composed: bool

    @property
    def line(self) -> str:
        """ "novice: 10 in range, 2 under; 9 to look at", for whom it serves first."""
        level = next(level for level in self.levels if level.served)
        words = {"level": level.word, "line": level.line, "count": len(self.cautions)}
        return (_("%(level)s: %(line)s; %(count)d to look at") if self.cautions else _("%(level)s: %(line)s")) % words


def comes_to(
    outline: Outline,
    week_start: int = 0,
    library: Mapping[str, Exercise] | None = None,
    weights: Weights | None = None,
) -> Preview:
    """Dose, minutes, recovery, what is trained and what to look at; ``week_start`` is the week's first day.

    With the practice's ``library`` the weeks are composed from it, by its ``weights``, which takes up to a second.
    """
    outlooks = previews(outline, library, weights)
    names = {key: exercise.name for key, exercise in (library or {}).items()} | names_of(outline)
    served = [name for name in EXPERIENCES if name in outline.serves] or list(EXPERIENCES)
    shown = [found for found in outlooks if found.experience in served]
    leading = shown[0]
    rolling = outline.cycle_days != WEEK
    return Preview(
        outlooks=outlooks,
        levels=[_level(found, served) for found in outlooks],
        cautions=_cautions(shown, names),
        others=_cautions([found for found in outlooks if found.experience not in served], names),
        groups=_dose(outlooks, served),
        legend=_legend(),
        sessions=_sessions(outlooks, outline, names, served),
        longest=LONG_SESSION_MINUTES,
        week=_week(leading, names, outline, 0 if rolling else week_start),
        week_words=_week_words(leading, names, rolling=rolling),
        least_gap=_least_gap(leading, names),
        days_words=_days_words(leading, outline),
        body=_body(leading),
        body_words=_body_words(leading),
        kinds=[Kind(str(KINDS[kind]), kind not in leading.audit.patterns_missing) for kind in WEEKLY_PATTERNS],
        pull_to_push="" if leading.audit.pull_to_push is None else number(round(leading.audit.pull_to_push, 2)),
        rolling=rolling,
        composed=library is not None,
    )


def _level(found: Outlook, served: Sequence[str]) -> Level:
    verdicts = [found.audit.dose[group].judged.verdict for group in AUDITED_GROUPS]
    said = (
        ("in_range", _("%(count)d in range")),
        ("under", _("%(count)d under")),
        ("over", _("%(count)d over")),
    )
    line = ", ".join(
        words % {"count": verdicts.count(verdict)}
        for verdict, words in said
        if verdict == "in_range" or verdicts.count(verdict)
    )
    word = labels.EXPERIENCES[found.experience]
    return Level(found.experience, word, found.experience in served, line, found.audit.working_sets)


def _cautions(found: Sequence[Outlook], names: Mapping[str, str]) -> list[Caution]:
    """The warnings of some experiences in their order.

    What holds for several experiences or several sessions of a day type is said once, with the first one's figures.
    """
    merged: dict[object, list[tuple[str, Because]]] = {}
    for one in found:
        for why in one.warnings:
            merged.setdefault(_subject(why), []).append((one.experience, why))
    return [
        Caution(sentence_of(same[0][1], names), _likewise(same, names, {one.experience for one in found}))
        for same in merged.values()
    ]


def _subject(why: Because) -> object:
    """What a warning is about, its figures, its occurrence and (but where it says it) its experience left aside."""
    about = {key: value for key, value in why.params.items() if isinstance(value, str)}
    return why.code, tuple(sorted(about.items()))


def _likewise(same: Sequence[tuple[str, Because]], names: Mapping[str, str], everybody: AbstractSet[str]) -> str:
    """For whom else, or for which other sessions, it holds; for whom alone, where it does not hold for everybody."""
    experiences = list(dict.fromkeys(experience for experience, _why in same))
    sessions = dict.fromkeys(
        names[f"{why.params['day']}:{why.params['occurrence']}"]
        for _experience, why in same
        if "day" in why.params and "occurrence" in why.params
    )
    parts = []
    if len(sessions) > 1:
        parts.append(_("also %(names)s") % {"names": listing(list(sessions)[1:], pgettext("in a list", "and"))})
    if "experience" not in same[0][1].params and set(experiences) != everybody:
        parts.append(listing([str(labels.EXPERIENCES[name]) for name in experiences], pgettext("in a list", "and")))
    return "; ".join(parts)


def _legend() -> list[tuple[SafeString, str]]:
    kinds = (("solid", _("direct")), ("by-share", _("by share")), ("target", _("target")))
    return [(mark_safe(legend_mark(kind)), words) for kind, words in kinds]  # noqa: S308  our own marks


def _dose(outlooks: Sequence[Outlook], served: Sequence[str]) -> list[tuple[Any, list[StripRow]]]:
    """Of every audited group one strip an experience, all on one scale."""
    ranges = [target_range(group, name) for group in AUDITED_GROUPS for name in EXPERIENCES]
    counted = [found.audit.dose[group].dose.counted for found in outlooks for group in AUDITED_GROUPS]
    scale = max([*(found.ceiling for found in ranges if found), *counted]) + SCALE_ROOM
    return [
        (
            labels.GROUPS[group],
            [
                _strip(group, found.experience, found.audit.dose[group], scale, found.experience in served)
                for found in outlooks
            ],
        )
        for group in AUDITED_GROUPS
    ]


def _strip(group: str, experience: str, found: GroupDose, scale: float, served: bool) -> StripRow:
    applies = found.judged.range
    low, high = (applies.low, applies.high) if applies else (None, None)
    counted = number(found.dose.counted)
    words = _verdict(found)
    title = _("%(group)s, %(experience)s: %(sets)s a week, %(verdict)s") % {
        "group": labels.GROUPS[group],
        "experience": labels.EXPERIENCES[experience],
        "sets": sets(found.dose.counted).replace(NBSP, " "),
        "verdict": words,
    }
    drawn = dose_strip(found.dose.direct, found.dose.counted, low, high, scale, title=title, width=STRIP_WIDTH)
    return StripRow(
        labels.EXPERIENCES[experience],
        served,
        mark_safe(drawn),  # noqa: S308  the drawing escapes its title
        counted,
        found.judged.verdict,
        words,
    )


def _verdict(found: GroupDose) -> str:
    judged, by = found.judged, {"sets": number(found.judged.by)}
    if judged.verdict == "under":
        return _("far under, %(sets)s") % by if judged.strong else _("%(sets)s under") % by
    if judged.verdict == "over":
        return _("far over, %(sets)s") % by if judged.strong else _("%(sets)s over") % by
    return _("in range")


def _sessions(
    outlooks: Sequence[Outlook], outline: Outline, names: Mapping[str, str], served: Sequence[str]
) -> list[tuple[str, list[Minutes]]]:
    """Each session of the round with its minutes by experience, day type by day type."""
    taken = {
        (found.experience, entry.day, entry.occurrence): round(entry.minutes)
        for found in outlooks
        for entry in found.audit.minutes
    }
    rows = []
    for day in outline.days.all():
        for occurrence in range(max(1, outline.order.count(day.key))):
            minutes = [taken[name, day.key, occurrence] for name in EXPERIENCES]
            rows.append(
                (
                    names[session_key(day.key, occurrence)],
                    [
                        Minutes(figure, figure > LONG_SESSION_MINUTES, name in served)
                        for name, figure in zip(EXPERIENCES, minutes, strict=True)
                    ],
                )
            )
    return rows


def _week(found: Outlook, names: Mapping[str, str], outline: Outline, week_start: int) -> SafeString:
    """The sessions on their days with the hours between those that load the same groups; empty without days."""
    if not found.days:
        return SafeString("")
    rolling = outline.cycle_days != WEEK
    columns = [(week_start + index) % outline.cycle_days for index in range(outline.cycle_days)]
    placed = {
        (day.key, occurrence): columns.index(found.days[key])
        for day in found.request.day_types
        for occurrence in range(day.occurrences)
        if (key := session_key(day.key, occurrence)) in found.days
    }
    width = max([NAMES_LEAST, *(math.ceil(text_width(day.name, NAME_SIZE)) + 8 for day in found.request.day_types)])
    beside = width <= NAMES_MOST  # longer names stand at the sessions, below the lane
    drawn = recovery_gaps(
        [str(day + 1) if rolling else str(WEEKDAYS_ABBR[day]) for day in columns],
        lanes_of(placed, found.gaps, names, [_day(day, rolling=rolling) for day in columns], letters=beside),
        title=_week_words(found, names, rolling=rolling),
        width=DRAWING_WIDTH,
        name_width=width if beside else 0,
    )
    return mark_safe(drawn)  # noqa: S308  the drawings escape what they are given


def _day(day: int, *, rolling: bool) -> str:
    return _("day %d") % (day + 1) if rolling else str(WEEKDAYS[day])


def _week_words(found: Outlook, names: Mapping[str, str], *, rolling: bool) -> str:
    """The drawing in words."""
    sessions = [
        _("%(session)s on %(day)s") % {"session": names[key], "day": _day(day, rolling=rolling)}
        for key, day in sorted(found.days.items(), key=lambda entry: entry[1])
    ]
    gaps = [
        _("%(hours)d h from %(earlier)s to %(later)s")
        % {"hours": gap.hours, "earlier": names[gap.earlier], "later": names[gap.later]}
        for gap in found.gaps
    ]
    return ". ".join([*([", ".join(sessions)] if sessions else []), *([", ".join(gaps)] if gaps else [])])


def _least_gap(found: Outlook, names: Mapping[str, str]) -> str:
    """The tightest pair against what it needs, as a sentence."""
    if not found.gaps:
        return _("No two sessions load the same groups.") if found.days else ""
    tightest = min(found.gaps, key=lambda gap: (gap.hours - gap.needed_h, gap.hours))
    return _("Tightest: %(earlier)s to %(later)s, %(hours)d h for %(groups)s; %(needed)s are wanted.") % {
        "earlier": names[tightest.earlier],
        "later": names[tightest.later],
        "hours": tightest.hours,
        "groups": in_text(labels.GROUPS[tightest.group]),
        "needed": number(tightest.needed_h),
    }


def _days_words(found: Outlook, outline: Outline) -> str:
    """What the recovery is reckoned on."""
    if not found.days:
        return _("More sessions than days: nothing can be said about recovery.") if outline.order else ""
    if outline.cycle_days != WEEK:
        days = listing([str(day + 1) for day in sorted(found.days.values())], pgettext("in a list", "and"))
        return _("On days %(days)s of %(cycle)d.") % {"days": days, "cycle": outline.cycle_days}
    days = listing([str(WEEKDAYS_ABBR[day]) for day in sorted(found.days.values())], pgettext("in a list", "and"))
    return _("On %(days)s, as so many sessions are usually spread; a client’s own days decide later.") % {"days": days}


def _regions(found: Outlook) -> tuple[list[str], list[str]]:
    """Regions that some exercise of the week counts wholly for, and those only by share."""
    exercises = [found.request.library[pick.exercise] for pick in found.picks]
    whole = {region for exercise in exercises for region in exercise.primary_regions()}
    touched = {entry.region for exercise in exercises for entry in exercise.regions} - whole
    return [code for code in REGIONS if code in whole], [code for code in REGIONS if code in touched]


def _body(found: Outlook) -> SafeString:
    whole, by_share = _regions(found)
    drawn = body_map(
        whole,
        by_share,
        height_mm=MAP_HEIGHT_MM,
        title=". ".join(f"{head}: {words}" for head, words in _body_words(found)) or _("Nothing is trained yet."),
        id_prefix="outline-map",
    )
    return mark_safe(drawn)  # noqa: S308  the drawing escapes its title


def _body_words(found: Outlook) -> list[tuple[str, str]]:
    """What is trained wholly, by share, and not at all."""
    whole, by_share = _regions(found)
    neither = [code for code in REGIONS if code not in whole and code not in by_share]
    said = ((_("Aimed at"), whole), (_("Helped along"), by_share), (_("Left alone"), neither))
    return [(head, ", ".join(str(labels.REGIONS[code]) for code in codes)) for head, codes in said if codes]
