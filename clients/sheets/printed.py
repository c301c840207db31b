"""What the templates of printed sheets are given: the document's values as words and black drawings."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from clients.phone import labels, rows
from clients.sheets import poses, wording
from clients.sheets.fitting import PX_PER_MM, Page, fit_cues
from programs.drawings.bodymap import body_map
from programs.drawings.loaded_bar import DISCS, loaded_bar
from programs.drawings.set_ladder import set_ladder
from programs.drawings.svg import Ink
from programs.units import load_of

PHONE_WIDTH_MM, PHONE_TEXT_HEIGHT_MM = 81.0, 164.4
BOX_MM, BOX_GAP_MM = 7.0, 1.3
SET_COLUMN_MM, BOX_COLUMN_MM, WIDE_BOX_COLUMN_MM = 6.0, 13.6, 21.6
CELL_PADDING_MM, ROW_PADDING_MM = 2.0, 0.7
SIZE_PT, LARGE_PT = 10.0, 12.5
PAPER_SIZE_PT, PAPER_LARGE_PT = 9.5, 11.5
OVERVIEW_MAP_MM, LINE_MAP_MM = 23.0, 19.0
LADDER_PLOT = 34
MOST_SWAPS = 2
PAPER_CUES_MM = 24.0
CUES_ABOVE_MM = 2.0
SPARE_MM = 1.0
TECHNIQUE_BELOW_MM = 1.5
SVG_HEIGHT = re.compile(r'<svg[^>]* height="([\d.]+)"')
SERIF = 1.1  # how much wider the serif runs


def context(document: Mapping[str, Any], number: int, layout: str) -> dict[str, Any]:
    """The context of a layout's template; the language must be active."""
    session, large = document["session"], document["client"]["large_print"]
    sizes = (SIZE_PT, LARGE_PT) if layout == "phone" else (PAPER_SIZE_PT, PAPER_LARGE_PT)
    size = sizes[1] if large else sizes[0]
    page = Page(PHONE_WIDTH_MM, PHONE_TEXT_HEIGHT_MM, size)
    exercises = [line for line in document["lines"] if not line["free"]]
    reasons = _in_two_lines(wording.session_reasons(document), page)
    place = document["place"]["name"]
    lines = [_line(line, len(document["lines"]), page, layout, reasons, place) for line in exercises]
    return {
        "document": document,
        "language": document["client"]["language"],
        "session": session,
        "number": number,
        "size": f"{size:g}",
        "paper": document["practice"]["paper"],
        "day": wording.day(session["planned_on"], "l j F"),
        "day_short": wording.day(session["planned_on"]),
        "day_foot": wording.day(session["planned_on"], "j M" if layout == "phone" else "D j M"),
        "minutes": wording.minutes_words(session["minutes"]),
        "map": _map(document["regions"], OVERVIEW_MAP_MM, "session"),
        "regions": wording.group_words(document["regions"]["primary"]),
        "reason": " ".join(reasons),
        "unit": _shared_unit(exercises),
        "table": [_table_row(line, _shared_unit(exercises)) for line in document["lines"]],
        "lines": lines,
        "free": [_table_row(line, "") for line in document["lines"] if line["free"]],
        "pairs": [lines[at : at + 2] for at in range(0, len(lines), 2)],
        "before": labels.BEFORE_YOU_START,
        "cautions": [*labels.CAUTIONS, *(labels.ADVICE[code] for code in document["effort"]["advice"])],
        "stop_at_once": labels.STOP_AT_ONCE,
        "stop_exercise": labels.STOP_EXERCISE,
        "no_diagnosis": labels.NO_DIAGNOSIS,
        "coach": document["coach"]["name"],
    }


def _in_two_lines(reasons: Sequence[str], page: Page) -> Sequence[str]:
    """As many of the reasons as stay within two lines, the first in any case."""
    fits = page.lines(" ".join(reasons), (page.width_mm - 5) / SERIF) <= 2
    return reasons if fits else reasons[:1]


def _table_row(line: Mapping[str, Any], unit: str) -> dict[str, Any]:
    if line["free"]:
        return {"number": line["number"], "name": line["text"], "free": True}
    return {
        "number": line["number"],
        "name": line["exercise"]["name"],
        "superset": line["superset"],
        "sets": wording.sets_words(line),
        "load": _table_load(line, unit),
        "rest": wording.rests_words(line),
        "free": False,
    }


def _table_load(line: Mapping[str, Any], unit: str) -> str:
    if line["exercise"]["load_entry"] == "none":
        return wording.RANGE
    if all(target["load"] is None for target in wording.working(line)):
        return _("find")
    return wording.loads_figure(line) if line["unit"] == unit else wording.loads_words(line)


def _shared_unit(exercises: Sequence[Mapping[str, Any]]) -> str:
    """The unit most loads are in: it stands in the head, the others stand with their figures."""
    units = [line["unit"] for line in exercises if line["unit"] in ("kg", "lb")]
    return max(sorted(set(units)), key=units.count, default="kg")


def _line(
    line: Mapping[str, Any], count: int, page: Page, layout: str, said: Sequence[str], place: str
) -> dict[str, Any]:
    exercise = line["exercise"]
    found = {
        "number": line["number"],
        "count": count,
        "name": exercise["name"],
        "regions": wording.group_words(exercise["primary"]),
        "superset": line["superset"],
        "facts": wording.facts(line),
        "prescription": wording.prescription(line),
        "load": wording.loads_words(line),
        "ladder": _ladder(line),
        "plates": _plates(line),
        "instead": " ".join(wording.instead_words(line, place)),
        "warm_up": _warm_up(line),
        "finding": _finding(line),
        "technique": line.get("technique", ""),
        "columns": _columns(line),
        "rows": [_row(line, target, place) for place, target in enumerate(wording.working(line))],
        "has_last": line["last"] is not None,
        # What the overview says already is not said again.
        "reason": next((text for text in wording.line_reasons(line) if text not in said), ""),
        "caution": exercise["cautions"],
        "swap_words": _swaps(line),
    }
    if layout == "phone":
        found["map"] = _map(
            {"primary": exercise["primary"], "secondary": exercise["secondary"]}, LINE_MAP_MM, f"e{line['number']}"
        )
        _fit(found, line, page)
    else:
        found["poses"] = poses.poses_of(exercise)
        found["cues"] = fit_cues(exercise["set_up"], exercise["execution"], page, PAPER_CUES_MM)
    return found


def _fit(found: dict[str, Any], line: Mapping[str, Any], page: Page) -> None:
    """Adds the cues, and the drawing of start and end where a phone page has room for it beside them.

    It stands beside the ladder at the largest scale that fits there, else in a row of its own.
    """
    exercise, ladder = line["exercise"], found["ladder"]
    given = (exercise["set_up"], exercise["execution"])
    room = _room(found, page)
    found["poses"], found["cues"] = None, fit_cues(*given, page, room)
    drawn = [one for scale in poses.PHONE_MM_PER_UNIT if (one := poses.poses_of(exercise, scale)) is not None]
    beside = (poses.beside_ladder(one, ladder, lambda width: _ladder(line, width), page) for one in drawn)
    for one, closer in (*filter(None, beside), *((one, ladder) for one in drawn)):
        left = room - poses.takes_mm(one, closer)
        cues = fit_cues(*given, page, left)
        if cues == found["cues"] or poses.leaves_room(cues, given, page, left):
            found.update(poses=one, ladder=closer, cues=cues)
            return


def _room(found: Mapping[str, Any], page: Page) -> float:
    """The height in mm that a phone page has left for cues beside all that must stand on it."""
    line = page.line_mm
    name = page.lines(found["name"], 54, semibold=True, size_pt=1.8 * page.size_pt) * 1.8 * line
    used = max(LINE_MAP_MM * 1.03, line + name + line * page.lines(found["regions"], 54))
    used += 1.4 + 2.2 * line + 2  # facts
    if found["technique"]:
        used += page.height(f"{_('Technique')} {found['technique']}") + TECHNIQUE_BELOW_MM
    if found["ladder"]:
        drawn = SVG_HEIGHT.search(found["ladder"])
        used += (float(drawn[1]) if drawn else LADDER_PLOT) / PX_PER_MM + 1.5
    if found["plates"]:
        used += 19
    if found["instead"]:
        used += page.height(found["instead"]) + 1.5
    if found["finding"]:
        used += page.height(found["finding"]) + 1.5
    used += line + 2.4 + sum(_row_mm(found, row, page) for row in found["rows"])
    if found["reason"]:
        used += page.height(found["reason"], page.width_mm - 6) * SERIF + 2
    ends = [found["caution"], found["swap_words"] and f"{_('Station taken?')} {found['swap_words']}"]
    used += sum(page.height(words) + 2 for words in ends if words) + 2
    return page.height_mm - used - CUES_ABOVE_MM - SPARE_MM


def _row_mm(found: Mapping[str, Any], row: Mapping[str, Any], page: Page) -> float:
    """The height of a row to write in: its boxes', or its aim's where that takes a second line."""
    boxes = len(found["columns"])
    words = page.width_mm - SET_COLUMN_MM - boxes * (BOX_COLUMN_MM if boxes > 2 else WIDE_BOX_COLUMN_MM)
    column = words / (2 if found["has_last"] else 1) - CELL_PADDING_MM
    aim = page.lines(row["aim"], column, semibold=True)
    return max(BOX_MM + BOX_GAP_MM, aim * page.line_mm + ROW_PADDING_MM)


def _swaps(line: Mapping[str, Any]) -> str:
    names = [swap["exercise"]["name"] for swap in line["swaps"][:MOST_SWAPS]]
    if not names:
        return ""
    return _("%(exercises)s, same sets and reps.") % {"exercises": _(" or ").join(names)}


def _columns(line: Mapping[str, Any]) -> list[str]:
    """Heads of the write-in boxes."""
    exercise = line["exercise"]
    heads = []
    if exercise["load_entry"] != "none":
        heads.append({"setting": _("hole"), "band": _("band")}.get(line["unit"], line["unit"]))
    rep_unit = {"reps": _("reps"), "seconds": _("seconds"), "metres": _("metres")}[exercise["rep_unit"]]
    heads.append(_("L / R") if exercise["limbs"] == "one" and exercise["rep_unit"] == "reps" else rep_unit)
    if exercise["rep_unit"] == "reps":
        heads.append(_("RIR"))
    return heads


def _row(line: Mapping[str, Any], target: Mapping[str, Any], place: int) -> dict[str, Any]:
    last = wording.last_of(line, place)
    return {
        "number": str(place + 1),
        "last": wording.done_words(line, last) if last else wording.RANGE,
        "aim": wording.aim_words(line, target),
        "aim_parts": [part for part in wording.aim_parts(line, target) if part],
    }


def _ladder(line: Mapping[str, Any], width_mm: float = PHONE_WIDTH_MM) -> SafeString:
    rungs = rows.rungs(line, ())
    if not rungs or line["finding"]:
        return mark_safe("")
    title = _("%(exercise)s: %(sets)s, %(load)s") % {
        "exercise": line["exercise"]["name"],
        "sets": wording.sets_words(line),
        "load": wording.loads_words(line) or _("no load"),
    }
    width = width_mm * PX_PER_MM
    drawn = set_ladder(rungs, title=title, width=width, plot=LADDER_PLOT, full_width=False, ink=Ink.PRINT)
    return mark_safe(drawn)  # noqa: S308  our own drawing


def _plates(line: Mapping[str, Any]) -> dict[str, Any] | None:
    loading, unit = line["plates"], line["unit"]
    if loading is None or (loading["bar"] is None and not loading["per_side"]):
        return None
    words, bar = wording.plates_words(loading, unit), wording.bar_words(loading)
    title = f"{wording.put_on_words(loading, unit)}, {bar}"
    drawing = ""
    if unit in DISCS:
        weights = [load_of(plate["value"], plate["unit"]).in_unit(unit) or 0.0 for plate in loading["per_side"]]
        drawing = loaded_bar(
            weights,
            None if loading["bar"] is None else float(loading["bar"]["value"]),
            unit,
            title=title,
            format_number=wording.number,
            labels=[wording.plate_words(plate, unit) for plate in loading["per_side"]],
            ink=Ink.PRINT,
        )
    heading = wording.plates_heading(loading)
    return {"heading": heading, "words": words, "bar": bar, "drawing": mark_safe(drawing)}  # noqa: S308  our own drawing


def _warm_up(line: Mapping[str, Any]) -> list[dict[str, str]]:
    return [
        {
            "load": wording.load_figure(line, step["load"]),
            "words": wording.load_words(line, step["load"]),
            "reps": str(step["reps"]),
            "plates": wording.plates_words(step["plates"], line["unit"]) if step["plates"] else "",
        }
        for step in line["warm_up"]
    ]


def _finding(line: Mapping[str, Any]) -> str:
    if not line["finding"]:
        return ""
    procedure = line["finding"]
    loads = ", ".join(wording.load_words(line, load) for load in procedure["loads"])
    return _(
        "No load yet. Sets of %(reps)s, two minutes apart, at %(loads)s: go up while %(go_on)s or more are left, "
        "stop at %(stop)s. The last one is your first set."
    ) % {"reps": procedure["reps"], "loads": loads, "go_on": procedure["go_on"], "stop": procedure["stop"]}


def _map(regions: Mapping[str, Any], height_mm: float, name: str) -> SafeString:
    title = _("Body map: %(regions)s") % {"regions": wording.region_words(regions["primary"]) or _("no region")}
    drawn = body_map(
        regions["primary"], regions["secondary"], height_mm=height_mm, ink=Ink.PRINT, title=title, id_prefix=name
    )
    return mark_safe(drawn)  # noqa: S308  our own drawing
