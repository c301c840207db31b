"""What the acts of the library and the templates share: copying rows, matching rows, telling the journal."""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from django.db import models
from django.utils.translation import gettext as _

from coachdesk.practice.journal import Recording
from programs.models import Exercise, Outline

NAME_LENGTH = {Exercise: 120, Outline: 80}
# What a copy does not take over from the row it was made from.
OWN = frozenset(
    {"id", "public_id", "created_at", "seed_key", "seed_version", "edited_fields", "hidden_at", "merged_into"}
)


def about(row: Exercise | Outline) -> str:
    return f"{row._meta.model_name}:{row.public_id}"


def made(entry: Recording, rows: Iterable[models.Model]) -> None:
    """Journals new rows as the database holds them: a number that was typed "2" is kept as 2.00."""
    for row in rows:
        row.refresh_from_db()
        entry.made(row)


def match(
    entry: Recording,
    rows: Iterable[models.Model],
    key: str,
    wanted: Mapping[str, Mapping[str, Any]],
    new: Any,
) -> bool:
    """Brings the rows of one exercise to what is wanted, by their key, and says whether any had to change."""
    present = {getattr(row, key): row for row in rows}
    changed = False
    for code, values in wanted.items():
        row = present.get(code)
        if row is None:
            row = new({key: code, **values})
            row.save()
            entry.made(row)
            changed = True
        elif any(getattr(row, name) != value for name, value in values.items()):
            entry.change(row)
            for name, value in values.items():
                setattr(row, name, value)
            row.save()
            changed = True
    for code, row in present.items():
        if code not in wanted:
            entry.change(row)
            # Not row.delete(): the journal needs the key that the row had.
            type(row)._default_manager.filter(pk=row.pk).delete()
            changed = True
    return changed


def fresh(row: Any, **changes: Any) -> Any:
    """An unsaved copy of a row."""
    values = {
        field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields if field.name not in OWN
    }
    new = type(row)(**values)
    for name, value in changes.items():
        setattr(new, name, value)
    return new


def duplicate(row: Any, **changes: Any) -> Any:
    new = fresh(row, **changes)
    new.save()
    return new


def is_copy_name(name: str) -> bool:
    """Whether it is a name that copying gave, until somebody finds a better one."""
    first, further = (re.escape(text) for text in (_(" (copy)"), _(" (copy %(number)d)")))
    return re.search(rf"(?:{first}|{further.replace(re.escape('%(number)d'), '[0-9]+')})$", name) is not None


def copy_name(row: Exercise | Outline, others: models.QuerySet) -> str:
    taken = set(others.values_list("name", flat=True))
    number, most = 1, NAME_LENGTH[type(row)]
    while True:
        ending = _(" (copy)") if number == 1 else _(" (copy %(number)d)") % {"number": number}
        name = row.name[: most - len(ending)] + ending
        if name not in taken:
            return name
        number += 1
