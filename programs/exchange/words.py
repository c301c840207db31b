"""The sentences for what files hold, what is wrong with them, and what importing them would do."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format, number_format
from django.utils.text import capfirst
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from programs import labels
from programs.exchange.bounds import FileRefused
from programs.exchange.fields import FIELDS, WORD_COLUMN
from programs.exchange.kinds import Code, short
from programs.exchange.sheets import Problem, Sheet
from programs.models import Exercise, ExerciseText

REFUSED = {
    "empty": _("This file is empty."),
    "too_large": _("This file is larger than %(most)d MB. Take out exercises or photos, or part it in two."),
    "workbook": _("This is a workbook of a spreadsheet. Save the table as “CSV UTF-8” there and choose that file."),
    "not_text": _(
        "This is not a text file, or its letters can’t be made out. Save it as “CSV UTF-8” or choose another."
    ),
    "no_header": _("None of the first rows names the columns: one of them has to be called “name” or “id”."),
    "no_rows": _("Nothing stands in this file to import."),
    "column_twice": _("The column “%(column)s” is there twice. Take one of them out."),
    "broken_quotes": _(
        "A quotation mark is missing or too many near line %(line)d. From there the cells can’t be told."
    ),
    "too_many_columns": _("This table has more than %(most)d columns."),
    "too_many_rows": _("More than %(most)d entries are too many at once. Part the file in several."),
    "too_complicated": _("This document has more brackets and commas than a library can need."),
    "too_deep": _("This document nests more than %(most)d deep. It did not come from here."),
    "broken_json": _("This JSON is broken at line %(line)d, sign %(column)d."),
    "broken_number": _("This JSON holds a number that is none."),
    "not_ours": _("This JSON says nothing of exercises or templates in the format that is written here."),
    "other_form": _("This file holds something else: “%(form)s”. Import it on the other page."),
    "other_version": _("This file is of version %(version)s of the format; version %(known)s is understood here."),
}
PROBLEMS = {
    "needed": _("has to be filled in"),
    "unsound": _("holds a sign that no text has"),
    "too_long": _("is %(length)d characters long; %(most)d is the most"),
    "too_many": _("has more than %(most)d entries"),
    "error_value": _("holds an error of the spreadsheet, %(value)s"),
    "too_many_cells": _("The row has %(cells)d cells and the header %(columns)d: a quotation mark may be missing."),
    "text_wanted": _("is no text"),
    "list_wanted": _("is not written as a list"),
    "key_wanted": _("has signs that a key can’t have: letters, figures, - and _ alone"),
    "address_wanted": _("is no address that begins with https://"),
    "unknown": _("“%(value)s” is not known here"),
    "unknown_near": _("“%(value)s” is not known here; “%(near)s” is"),
    "whole_wanted": _("“%(value)s” is no whole number"),
    "number_wanted": _("“%(value)s” is no number"),
    "two_places": _("“%(value)s” has more than two places"),
    "out_of_range": _("“%(value)s” is not between %(least)s and %(most)s"),
    "tempo_wanted": _("“%(value)s” is no tempo: four figures in seconds, X for as fast as possible"),
    "yes_wanted": _("“%(value)s” is neither yes nor empty"),
    "moment_wanted": _("“%(value)s” is no moment with its zone, such as 2026-03-02T10:00:00+00:00"),
    "id_wanted": _("is no id of an exercise"),
    "pair_wanted": _("is not made of pairs"),
    "region_wanted": _("“%(value)s” does not say a region and 1, ½ or ¼ of a set"),
    "joint_wanted": _("“%(value)s” does not say a joint and 1, 2 or 3"),
    "twice": _("names “%(value)s” twice"),
    "language_wanted": _("“%(value)s” is no language with words in it"),
    "not_an_entry": _("This entry is no exercise."),
    "reps_out_of_order": _("is below the lower end"),
    "bodyweight_entry": _("with bodyweight alone a load is on top of it (“added”), or there is none (“none”)"),
    "band_entry": _("bands are named, not weighed: “band” goes with bands alone"),
    "no_whole_region": _("names no region for which a set counts whole"),
    "same_as_row": _("means the same exercise as row %(row)d"),
    "name_taken": _("“%(name)s” is the name of another exercise. Say in a word what sets this one apart"),
    "means_other": _("“%(name)s” already means %(other)s"),
    "id_taken": _("is taken already; it comes in with another one"),
    "merge_left": _("what is merged into what is not changed by a file"),
    "merged_unknown": _("what it was merged into is not here: it stands alone"),
    "not_a_template": _("This entry is no template."),
    "not_a_part": _("is not written as a part of a template"),
    "key_twice": _("stands twice, or is empty"),
    "cycle_full": _("has more sessions than the %(days)d days of a round"),
    "offsets_wanted": _("names no rising days of the round, one for each session"),
    "spans_wanted": _("is no range from the lower to the upper end"),
    "sets_wanted": _("does not name fewest and most sets for novice, intermediate and advanced"),
    "same_template": _("means the same template as entry %(row)d"),
    "renamed": _("another template has the name: this one comes in as “%(name)s”"),
    "candidate_unknown": _("“%(name)s” is not in the library; left out"),
    "candidate_twice": _("“%(name)s” was named twice; taken once"),
    "candidate_alias": _("“%(name)s” is taken as %(other)s"),
    "photo_wanted": _("is no picture that can be read; left out"),
    "photo_too_many": _("more pictures from elsewhere than one file may bring; left out"),
    "photo_too_large": _("is larger than 12 MB; left out"),
    "photo_not_a_picture": _("is not a whole picture; left out"),
    "photo_too_many_pixels": _("has more than 64 million pixels; left out"),
    "photo_too_much_work": _("could not be opened safely; left out"),
}
ENCODINGS = {
    "utf-8": "UTF-8",
    "utf-8-sig": "UTF-8",
    "utf-16": "UTF-16",
    "utf-16-le": "UTF-16",
    "utf-16-be": "UTF-16",
    "cp1252": _("the Western code page"),
}
DELIMITERS = {",": _("commas"), ";": _("semicolons"), "\t": _("tabs"), "|": _("bars")}
WAYS = {
    "id": _("the same exercise by its id"),
    "seed_key": _("the same exercise of the first library"),
    "name": _("the same name"),
}
OWN_LABELS = {
    "id": _("id"),
    "rep_low": _("reps from"),
    "rep_high": _("reps to"),
    "regions": _("regions"),
    "joints": _("joints"),
    "texts": _("texts"),
    "hidden_at": _("hidden since"),
    "favourite": _("favourite"),
    "merged_into": _("merged into"),
    "photo": _("photo"),
    "seed_key": _("key of the first library"),
    "seed_version": _("state of the first library"),
    "edited_fields": _("edited fields"),
}


def refusal(refused: FileRefused) -> str:
    return str(REFUSED[refused.code]) % refused.params


def label(column: str) -> str:
    """What a column is called on pages: its field's name, and the language of its words."""
    worded = WORD_COLUMN.match(column) if column not in FIELDS else None
    if worded:
        return f"{_named(ExerciseText, worded[1])} ({worded[2]})"
    if column in OWN_LABELS:
        return str(OWN_LABELS[column])
    return _named(Exercise, column)


def _named(model: Any, field: str) -> str:
    return str(model._meta.get_field(field).verbose_name)


def sentence(problem: Problem) -> str:
    """One problem as a plain sentence, the column's name before it."""
    said = str(PROBLEMS[problem.code]) % problem.params
    if not problem.column:
        return said
    return f"{capfirst(label(problem.column))}: {said}."


def how_read(sheet: Sheet) -> list[str]:
    """How the file was understood, a sentence each."""
    said = []
    if sheet.form == "csv":
        said.append(
            gettext("Read as a table with %(delimiter)s between, in %(encoding)s.")
            % {
                "delimiter": DELIMITERS.get(sheet.delimiter, sheet.delimiter),
                "encoding": ENCODINGS[sheet.encoding],
            }
        )
    if sheet.above:
        said.append(
            ngettext(
                "%(count)d row above the header was left out.",
                "%(count)d rows above the header were left out.",
                sheet.above,
            )
            % {"count": sheet.above}
        )
    if sheet.blank:
        said.append(
            ngettext("%(count)d blank row was passed over.", "%(count)d blank rows were passed over.", sheet.blank)
            % {"count": sheet.blank}
        )
    if sheet.unknown:
        names = ", ".join(f"“{name}”" for name in sheet.unknown[:12])
        said.append(
            ngettext(
                "A column is not known here and was left out: %(names)s.",
                "%(count)d columns are not known here and were left out: %(names)s.",
                len(sheet.unknown),
            )
            % {"count": len(sheet.unknown), "names": names}
        )
    return said


def shown(column: str, value: Any) -> str:
    """A value as a page shows it: codes in words, lists with one item a line; a dash for nothing."""
    if column == "photo":
        return gettext("another picture") if isinstance(value, dict) else gettext("the present one") if value else "–"
    if column == "favourite":
        return gettext("yes") if value else gettext("no")
    if value in (None, "", [], {}) or value == ():
        return "–"
    if isinstance(value, datetime):
        return date_format(timezone.localtime(value), "SHORT_DATETIME_FORMAT")
    if isinstance(value, Decimal):
        return number_format(short(value))
    if isinstance(value, Mapping):
        return "\n".join(_part(name, said) for name, said in value.items())
    kind = FIELDS.get(column)
    if isinstance(kind, Code):
        return str(kind.words.get(value, value))
    if isinstance(value, list):
        return "\n".join(_item(item) for item in value)
    return str(value)


def _part(name: str, said: Any) -> str:
    if isinstance(said, int):
        return f"{labels.JOINT_TAGS[name]} {said}"
    quarters, stretched = said
    share = {4: "1", 2: "½", 1: "¼"}[quarters]
    long = f", {gettext('loaded while long')}" if stretched else ""
    return f"{labels.REGIONS[name]} {share}{long}"


def _item(item: Any) -> str:
    if isinstance(item, list):
        if all(one in labels.STATIONS for one in item):
            return gettext(" or ").join(str(labels.STATIONS[one]) for one in item)
        return " → ".join(item)
    return str(labels.STATIONS.get(item, item))
