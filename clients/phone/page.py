"""What the templates of the client's pages are given, worked out from one sheet.

Every value that a script needs to go on without signal stands in the page as data: the words it says, the loads
to step through, what each body part would pause.
"""

import json
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from clients.clock import today_for
from clients.models import SheetVersion
from clients.phone import labels, rows
from clients.phone.forms import SetForm
from clients.phone.set_forms import set_form
from clients.reads.phone import Sheet
from clients.sheets import wording
from programs.drawings.bodymap import body_map
from programs.drawings.loaded_bar import DISCS, loaded_bar
from programs.drawings.set_ladder import set_ladder
from programs.pictures import start_and_end
from programs.units import Load

LADDER_WIDTH = 328
LADDER_PLOT = 58
LADDER_PLOT_SHORT = 44  # where the name takes two lines, so that the button stays above the rest bar
LONG_NAME = 24
PHONE_MM_PER_UNIT = 0.36


def stamp() -> int:
    """The present moment in milliseconds: what a page and an answer say about how fresh they are."""
    return int(timezone.now().timestamp() * 1000)


def words() -> str:
    """What the script says, as JSON for a data attribute."""
    return json.dumps(
        {
            "waitingOne": _("1 set on this phone"),
            "waiting": _("{n} sets on this phone"),
            "waitingOther": _("a report on this phone"),
            "allSent": _("all sent"),
            "refused": _("not taken, look again"),
            "closed": _("open your link again"),
            "saved": _("Set {n} saved."),
            "savedTry": _("Try saved."),
            "undone": _("Set {n} taken back."),
            "undoneTry": _("Try taken back."),
            "savedNote": _("Saved."),
            "badLoad": _("Loads are numbers such as 62.5 or 62,5."),
            "badAmount": _("Type a whole number, 0 to 100 for reps."),
            "needRir": _("Say how many more you could have done, so that the load can be found."),
            "set": _("Set {n} of {m}"),
            "extra": _("Extra set {n}"),
            "setDone": _("Set {n} done"),
            "restOver": _("The rest is over."),
            "restStarts": _("Rest {time}."),
            "restOf": _("of {time}, set {n} ended {at}"),
            "rest": _("Rest"),
            "over": _("Over"),
            "kept": _("This session is kept on this phone: it opens without signal."),
            "notKept": _(
                "Without https this phone cannot keep the pages: load them before the signal is gone and leave "
                "them open. Sets are kept and sent later all the same."
            ),
            "paused": _("paused until your coach answers"),
            "leaveUnsent": _("Sets on this phone are not sent yet. Close anyway?"),
            "change": pgettext("button", "Change"),
            "notSent": _("not sent yet"),
        }
    )


def frame(sheet: Sheet) -> dict[str, Any]:
    """What every page of a sheet says: whose it is, which version, whether a newer one stands."""
    session = sheet.document["session"]
    version = sheet.version
    keep = [
        reverse("today"),
        reverse("sheet", args=[version.public_id]),
        reverse("report-pain", args=[version.public_id]),
        *(reverse("sheet-line", args=[version.public_id, line["number"]]) for line in sheet.lines),
    ]
    return {
        "version": version,
        "document": sheet.document,
        "session": session,
        "day_words": wording.day(session["planned_on"]),
        "newest": sheet.newest,
        "withdrawn": version.state == SheetVersion.State.WITHDRAWN and sheet.newest is None,
        "owner": sheet.client.public_id,
        "rendered": stamp(),
        "words": words(),
        "keep": json.dumps(keep),
        "coach": sheet.document["coach"]["name"],
    }


def overview(sheet: Sheet, day: str) -> dict[str, Any]:
    document = sheet.document
    today = today_for(sheet.client)
    planned = document["session"]["planned_on"]
    entries = contents(sheet)
    said = sheet.said
    return {
        **frame(sheet),
        "entries": entries,
        "started": any(entry["done"] for entry in entries),
        "map": session_map(document),
        "regions": wording.group_words(document["regions"]["primary"]),
        "minutes": wording.minutes_words(document["session"]["minutes"]),
        "before": labels.BEFORE_YOU_START,
        "cautions": [*labels.CAUTIONS, *(labels.ADVICE[code] for code in document["effort"]["advice"])],
        "stop_at_once": labels.STOP_AT_ONCE,
        "stop_exercise": labels.STOP_EXERCISE,
        "no_diagnosis": labels.NO_DIAGNOSIS,
        "reasons": wording.session_reasons(document),
        "said": said,
        "sleep": choices(labels.SLEEP, said.sleep if said else None),
        "energy": choices(labels.ENERGY, said.energy if said else None),
        "efforts": choices(labels.EFFORTS, said.effort if said else None),
        "note": said.text if said else "",
        "wants_bodyweight": sheet.wants_bodyweight(today),
        "unit": sheet.client.unit,
        "day": day,
        "today": today.isoformat(),
        "late": bool(planned and planned < today.isoformat() and not entries_done(entries)),
        "planned_day": planned or "",
        "problem": "",
        "typed": "",
        "pdfs": [("phone", _("for the phone")), ("paper", _("for paper"))],
    }


def contents(sheet: Sheet, current: int | None = None) -> list[dict[str, Any]]:
    """The list of lines: name, sets in short, how many are done, whether it waits for the coach."""
    ticked = set(sheet.said.lines_ticked) if sheet.said else set()
    found = []
    for line in sheet.lines:
        if line["free"]:
            done = line["number"] in ticked
            entry = {"name": line["text"], "sets": "", "load": "", "second": "", "complete": done, "done": int(done)}
        else:
            state = sheet.state(line)
            made = sum(1 for done in state.done if not done.is_try)
            entry = {
                "name": line["exercise"]["name"],
                "sets": wording.sets_words(line),
                "load": wording.loads_words(line),
                "complete": state.complete,
                "done": made,
                "asked": state.asked,
                "words": _("%(done)s of %(asked)s done") % {"done": "{done}", "asked": state.asked},
                "superset": line["superset"],
            }
        entry.update(
            number=line["number"],
            free=line["free"],
            held=sheet.held(line),
            facts="" if line["free"] else facts_json(line),
            now=line["number"] == current,
        )
        found.append(entry)
    return found


def entries_done(entries: Sequence[Mapping[str, Any]]) -> bool:
    return any(entry["done"] for entry in entries if not entry["free"])


def free_line(sheet: Sheet, line: Mapping[str, Any]) -> dict[str, Any]:
    ticked = sheet.said.lines_ticked if sheet.said else []
    return {
        **frame(sheet),
        **neighbours(sheet, line),
        "line": line,
        "entries": contents(sheet, line["number"]),
        "ticked": line["number"] in ticked,
        "minutes": wording.minutes_words(line["minutes"]),
        "day": "",
    }


def line(
    sheet: Sheet,
    line: Mapping[str, Any],
    *,
    chosen: int | None,
    swap: str,
    day: str,
    anyway: bool,
    form: SetForm | None,
) -> dict[str, Any]:
    """Log mode. ``chosen`` names the set whose form is open, else it is the one in hand."""
    state = sheet.state(line)
    numbers = [row.number for row in state.rows]
    opened = form.set_number if form is not None else chosen  # type: ignore[attr-defined]
    current = opened if opened in numbers else (state.now if state.now is not None else None)
    stand_in = next((one["exercise"] for one in line["swaps"] if one["exercise"]["id"] == swap), None)
    exercise = stand_in or line["exercise"]
    name = exercise["name"]
    logged = sheet.logged.get(line["number"], [])
    forms = [
        set_form(line, exercise, state, row, form if form and row.number == opened else None) for row in state.rows
    ]
    partners = [
        {"number": other["number"], "name": other["exercise"]["name"]}
        for other in sheet.exercise_lines
        if line["superset"] and other["superset"] == line["superset"] and other is not line
    ]
    held = sheet.held(line)
    return {
        **frame(sheet),
        **neighbours(sheet, line),
        "line": line,
        "exercise": exercise,
        "stand_in": stand_in,
        "entries": contents(sheet, line["number"]),
        "state": state,
        "forms": forms,
        "extra_number": state.rows[-1].number,
        "current": current,
        "held": held,
        "open_form": not held or anyway,
        "facts_json": facts_json(line),
        "prescription": wording.prescription(line),
        "load_words": wording.loads_words(line),
        "figure": start_and_end(exercise.get("figure", ""), mm_per_unit=PHONE_MM_PER_UNIT),
        "ladder": ladder(line, logged, state.now, name),
        "plates": plates(line),
        "instead": wording.instead_words(line, sheet.document["place"]["name"]),
        "warm_up": warm_up(line),
        "partners": partners,
        "finding": finding(line) if state.finding else None,
        "reasons": [{"text": text} for text in wording.line_reasons(line)],
        "day": day,
        "try_head": _("Try %(number)s: find your load") % {"number": "{n}"},
        "day_shown": wording.day(day) if day else "",
        "last_key": logged[-1].key if logged else "",
        "last_on": wording.day(line["last"]["on"]) if line["last"] else "",
        "tempo": wording.tempo_words(wording.common(line, "tempo")),
    }


def neighbours(sheet: Sheet, line: Mapping[str, Any]) -> dict[str, Any]:
    numbers = [one["number"] for one in sheet.lines]
    at = numbers.index(line["number"])
    return {
        "place": at + 1,
        "places": len(numbers),
        "previous": numbers[at - 1] if at else None,
        "next": numbers[at + 1] if at + 1 < len(numbers) else None,
    }


def finding(line: Mapping[str, Any]) -> dict[str, Any]:
    """The way to a first load, in words and as data."""
    procedure = line["finding"]
    return {
        "loads": [wording.load_words(line, load) for load in procedure["loads"]],
        "steps": json.dumps([load["value"] for load in procedure["loads"]]),
        "reps": procedure["reps"],
        "go_on": procedure["go_on"],
        "stop": procedure["stop"],
        "count": len(procedure["loads"]),
    }


def facts_json(line: Mapping[str, Any]) -> str:
    """What decides whether pain somewhere pauses this line."""
    exercise = line["exercise"]
    return json.dumps({name: exercise[name] for name in ("pattern", "joints", "regions")})


def warm_up(line: Mapping[str, Any]) -> list[dict[str, str]]:
    """The ramp: each step's load, reps and plates."""
    own = [
        {"load": target["load"], "reps": wording.amount(target), "plates": None}
        for target in line["sets"]
        if target["kind"] == "warm_up"
    ]
    return [
        {
            "name": f"w{place}",
            "load": wording.load_words(line, step["load"]),
            "reps": str(step["reps"]),
            "plates": wording.put_on_words(step["plates"], line["unit"]) if step["plates"] else "",
        }
        for place, step in enumerate([*line["warm_up"], *own], start=1)
    ]


def plates(line: Mapping[str, Any], **options: Any) -> dict[str, str] | None:
    """What to put on the bar for the first working set, drawn and in words."""
    loading = line["plates"]
    if loading is None or (loading["bar"] is None and not loading["per_side"]):
        return None
    unit = line["unit"]
    shown = wording.plates_words(loading, unit)
    bar = wording.bar_words(loading)
    title = f"{wording.put_on_words(loading, unit)}, {bar}" if loading["per_side"] else bar
    drawing = ""
    if unit in DISCS:
        weights = [Load(Decimal(plate["value"]), plate["unit"]).in_unit(unit) or 0.0 for plate in loading["per_side"]]
        labelled = [wording.plate_words(plate, unit) for plate in loading["per_side"]]
        weight = None if loading["bar"] is None else float(loading["bar"]["value"])
        drawing = loaded_bar(
            weights, weight, unit, title=title, format_number=wording.number, labels=labelled, **options
        )
    heading = wording.plates_heading(loading)
    return {"heading": heading, "words": shown, "bar": bar, "drawing": mark_safe(drawing)}  # noqa: S308  our own drawing


def ladder(line: Mapping[str, Any], logged: Sequence[Any], now: int | None, name: str) -> SafeString:
    found = rows.rungs(line, logged, now=now, named=True)
    if not found:
        return mark_safe("")
    title = _("%(exercise)s: %(sets)s, %(load)s") % {
        "exercise": name,
        "sets": wording.sets_words(line),
        "load": wording.loads_words(line) or _("no load"),
    }
    plot = LADDER_PLOT if len(name) <= LONG_NAME else LADDER_PLOT_SHORT
    return mark_safe(set_ladder(found, title=title, width=LADDER_WIDTH, plot=plot))  # noqa: S308  our own drawing


def session_map(document: Mapping[str, Any], **options: Any) -> SafeString:
    primary, secondary = document["regions"]["primary"], document["regions"]["secondary"]
    title = _("Body map: %(regions)s") % {"regions": wording.region_words(primary) or _("no region")}
    return mark_safe(  # noqa: S308  our own drawing
        body_map(primary, secondary, title=title, **{"height_mm": 60, "id_prefix": "map", **options})
    )


def choices(words_of: Mapping[int, Any], chosen: int | None) -> list[dict[str, Any]]:
    return [{"value": value, "label": label, "chosen": value == chosen} for value, label in words_of.items()]
