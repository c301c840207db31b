"""What the preview of an import shows: the outcomes by kind, each with what would change or what is wrong."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import FieldDoesNotExist
from django.core.paginator import Page, Paginator
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from programs import labels
from programs.exchange import outlines, words
from programs.exchange.plans import CHANGED, KINDS, NEW, REFUSED, UNCHANGED, Outcome, Plan
from programs.exchange.sheets import Problem
from programs.models import Outline, OutlineDay, OutlineLine, OutlineSlot

SECTION_ROWS = 20
PAGE_ROWS = 100
HEADINGS: Mapping[str, str | Promise] = {
    REFUSED: gettext_lazy("Refused"),
    CHANGED: gettext_lazy("Changed"),
    NEW: gettext_lazy("New"),
    UNCHANGED: gettext_lazy("As they are"),
}


@dataclass(frozen=True, slots=True)
class Line:
    """One field of one entry: what it is called, the value here and the value in the file."""

    label: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class Row:
    number: int
    name: str
    url: str
    about: str
    lines: list[Line]
    problems: list[str]
    remarks: list[str]
    otherwise: bool


@dataclass(frozen=True, slots=True)
class Section:
    kind: str
    heading: Any
    count: int
    page: Page
    rows: list[Row]
    more: int


Shown = Callable[[Outcome, bool], Row]


def sections(plan: Plan, only: str, number: str | None, shown: Shown, otherwise: set[int]) -> list[Section]:
    """All kinds that occur, the first rows of each; or one kind page by page. What is as it is shows when asked."""
    found = []
    for kind in (only,) if only in KINDS else KINDS:
        outcomes = [one for one in plan.outcomes if one.kind == kind]
        if not outcomes or (kind == UNCHANGED and only != UNCHANGED):
            continue
        # What comes out otherwise than it was previewed stands first.
        outcomes.sort(key=lambda one: (one.number not in otherwise, one.number))
        page = Paginator(outcomes, PAGE_ROWS if only in KINDS else SECTION_ROWS).get_page(number if only else 1)
        rows = [shown(one, one.number in otherwise) for one in page]
        more = 0 if only in KINDS else len(outcomes) - len(rows)
        found.append(Section(kind, HEADINGS[kind], len(outcomes), page, rows, more))
    return found


def exercise_row(one: Outcome, otherwise: bool) -> Row:
    present = one.present
    return Row(
        number=one.number,
        name=one.name,
        url=reverse("exercise", args=[present.row.public_id]) if present is not None else "",
        about=_about_exercise(one),
        lines=[
            Line(capfirst(words.label(change.name)), *_two(change.name, change.old, change.new))
            for change in one.changes
        ],
        problems=[words.sentence(problem) for problem in one.problems],
        remarks=[words.sentence(remark) for remark in one.remarks],
        otherwise=otherwise,
    )


def _two(name: str, old: Any, new: Any) -> tuple[str, str]:
    column = words.WORD_COLUMN.match(name)
    field = "" if column and name not in words.FIELDS else name
    return words.shown(field, old), words.shown(field, new)


def _about_exercise(one: Outcome) -> str:
    """Of a new one what it is; of a present one how it was found, where that is not by its id."""
    if one.kind == NEW:
        record = one.record
        return f"{labels.PATTERNS[record['pattern']]} · {labels.STATIONS[record['implement']]}"
    if one.kind != REFUSED and one.by in ("seed_key", "name"):
        return _("found by %(way)s") % {"way": words.WAYS[one.by]}
    return ""


def template_row(one: Outcome, otherwise: bool) -> Row:
    places = outlines.places(one.record) if one.kind == CHANGED else {}
    if one.kind == CHANGED:
        places = {**outlines.places(outlines.record_of(one.present)), **places}
    return Row(
        number=one.number,
        name=one.name,
        url=reverse("template", args=[one.present.public_id]) if one.present is not None else "",
        about=_about_template(one),
        lines=[
            Line(
                _place(change.name, places),
                _template_value(change.name, change.old),
                _template_value(change.name, change.new),
            )
            for change in one.changes
        ],
        problems=[template_sentence(problem) for problem in one.problems],
        remarks=list(dict.fromkeys(template_sentence(remark) for remark in one.remarks)),
        otherwise=otherwise,
    )


def _about_template(one: Outcome) -> str:
    if one.kind == CHANGED:
        return _("becomes version %(number)d; blocks keep theirs") % {"number": one.present.version + 1}
    if one.kind == NEW:
        days = one.record["days"]
        slots = sum(len(day["slots"]) for day in days)
        sessions = len(one.record["order"])
        return " · ".join(
            [
                ngettext("%(count)d session", "%(count)d sessions", sessions) % {"count": sessions},
                ngettext("%(count)d day type", "%(count)d day types", len(days)) % {"count": len(days)},
                ngettext("%(count)d slot", "%(count)d slots", slots) % {"count": slots},
            ]
        )
    return ""


def template_label(column: str) -> str:
    own = {
        "id": _("id"),
        "key": _("key"),
        "days": _("day types"),
        "slots": _("slots"),
        "lines": _("lines"),
        "candidates": _("candidates"),
        "position": _("place"),
        "occurrence": _("occurrence"),
        "rank": _("rank"),
        "seed_key": _("key of the first library"),
    }
    if column in own:
        return own[column]
    for model in (Outline, OutlineSlot, OutlineDay, OutlineLine):
        try:
            return str(model._meta.get_field(column).verbose_name)  # type: ignore[union-attr]
        except FieldDoesNotExist:
            continue
    return column


def template_sentence(problem: Problem) -> str:
    where = problem.params.get("where", "")
    said = str(words.PROBLEMS[problem.code]) % problem.params
    if not problem.column:
        return f"{where}: {said}" if where else said
    label = template_label(problem.column)
    if where and problem.column == "candidates":
        return f"{where}: {said}."
    return f"{where}: {label} {said}." if where else f"{capfirst(label)}: {said}."


def _place(name: str, places: Mapping[str, str]) -> str:
    where, _sign, field = name.rpartition("|")
    label = template_label(field)
    return f"{places.get(where, where)}: {label}" if where else capfirst(label)


def _template_value(name: str, value: Any) -> str:
    field = name.rpartition("|")[2]
    if value in (None, "", [], {}):
        return "–"
    if field == "position":
        return str(value + 1)
    if field == "candidates":
        return "\n".join(f"{'ABCDEFG'[occurrence]}: {', '.join(names)}" for occurrence, names in value.items())
    if field == "sets":
        return "\n".join(f"{labels.EXPERIENCES[level]} {_span(span)}" for level, span in value.items())
    if field == "reps":
        return ", ".join(_span(span) for span in value)
    if field == "lines":
        return "\n".join(str(text) for _start, text, _minutes in value)
    known: dict[str, Mapping[str, Any]] = {
        "region": labels.REGIONS,
        "also_regions": labels.REGIONS,
        "patterns": labels.PATTERNS,
        "role": labels.ROLES,
        "serves": labels.EXPERIENCES,
    }
    if field == "offsets":
        return ", ".join(str(day + 1) for day in value)
    if isinstance(value, list):
        return ", ".join(str(known.get(field, {}).get(one, one)) for one in value)
    return str(known.get(field, {}).get(value, value))


def _span(span: Iterable[int]) -> str:
    low, high = span
    return str(low) if low == high else f"{low}–{high}"
