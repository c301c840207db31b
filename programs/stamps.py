"""When what is kept in memory of a practice's exercises is still true: a stamp that the database itself renews.

Triggers write a random number at every change to the rows below: by a page, an undo, the seeding, an import or a
statement typed by hand, in this process or another. Random and not counted up, so that a number that was rolled back
never comes again for other rows. They are set up after every migration, as altering a table drops those it had.
"""

from collections.abc import Iterator
from typing import Any

from django.db import connections

from coachdesk.practice.models import Practice
from programs.models import Exercise, ExerciseJoint, ExerciseRegion, ExerciseText
from programs.models.stamps import LibraryStamp

PARTS = (ExerciseRegion, ExerciseJoint, ExerciseText)
RANDOM = {"sqlite": "random()", "postgresql": "((random() - 0.5) * 18e18)::bigint"}
ROWS_OF = {"insert": ("NEW",), "update": ("OLD", "NEW"), "delete": ("OLD",)}


def stamp_of(practice: Practice) -> int | None:
    """One query; None where nothing is known, and then nothing may be kept."""
    return LibraryStamp.objects.filter(practice=practice).values_list("stamp", flat=True).first()


def set_up_stamps(using: str, **kwargs: Any) -> None:
    """Makes the triggers anew and renews every stamp. A database that we know no triggers for gets no stamps."""
    connection = connections[using]
    if connection.vendor not in RANDOM or not _present(connection):
        return
    with connection.cursor() as cursor:
        for statement in _statements(connection.vendor):
            cursor.execute(statement)


def _present(connection: Any) -> bool:
    """Whether the tables are there: an older state of the database may have been asked for."""
    there = set(connection.introspection.table_names())
    return {model._meta.db_table for model in (LibraryStamp, Exercise, *PARTS)} <= there


def _statements(vendor: str) -> Iterator[str]:
    stamps, exercises = LibraryStamp._meta.db_table, Exercise._meta.db_table
    random = RANDOM[vendor]
    renew = f"UPDATE {stamps} SET stamp = {random}"  # noqa: S608  table names of our own models
    missing = (
        f"INSERT INTO {stamps} (practice_id, stamp) SELECT {{source}}, {random} "  # noqa: S608
        f"WHERE NOT EXISTS (SELECT 1 FROM {stamps} WHERE practice_id = {{source}})"
    )
    for act, rows in ROWS_OF.items():
        owners = ", ".join(f"{row}.practice_id" for row in rows)
        body = f"{renew} WHERE practice_id IN ({owners});"
        if act != "delete":  # A practice that is being deleted must not get its stamp back.
            body += f" {missing.format(source='NEW.practice_id')};"
        yield from _trigger(vendor, exercises, act, body)
        whose = ", ".join(f"{row}.exercise_id" for row in rows)
        of_part = f"{renew} WHERE practice_id IN (SELECT practice_id FROM {exercises} WHERE id IN ({whose}));"  # noqa: S608
        for part in PARTS:
            yield from _trigger(vendor, part._meta.db_table, act, of_part)
    yield renew
    yield (
        f"INSERT INTO {stamps} (practice_id, stamp) SELECT id, {random} FROM {Practice._meta.db_table} "  # noqa: S608
        f"WHERE id NOT IN (SELECT practice_id FROM {stamps})"
    )


def _trigger(vendor: str, table: str, act: str, body: str) -> Iterator[str]:
    name = f"{table}_stamp_{act}"
    if vendor == "sqlite":
        yield f"DROP TRIGGER IF EXISTS {name}"
        yield f"CREATE TRIGGER {name} AFTER {act.upper()} ON {table} FOR EACH ROW BEGIN {body} END"
        return
    yield (
        f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {body} RETURN NULL; END $$"
    )
    yield f"DROP TRIGGER IF EXISTS {name} ON {table}"
    yield f"CREATE TRIGGER {name} AFTER {act.upper()} ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()"
