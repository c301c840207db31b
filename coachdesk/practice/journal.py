"""The one change journal: every act that a person may want back is written here with its rows before and after.

    with journal.act(practice, coach, "draft.swap", about=f"draft:{draft.public_id}") as entry:
        entry.change(draft)      # remembers the row as it is
        draft.document = ...
        draft.save()

Undo puts every row back, in one transaction, and refuses when a later act built on what it would undo.

Where one field of a great many rows changes alike, ``entry.move`` does it in a few statements and remembers which
rows instead of what stood in them; undo then puts that field back and leaves alone what else has changed since.
"""

import json
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import datetime
from itertools import groupby
from typing import Any

from django.apps import apps
from django.core import serializers
from django.core.serializers.json import DjangoJSONEncoder
from django.db import IntegrityError, models, transaction

from coachdesk.practice.models import Coach, JournalEntry, Practice

# Keys a statement names at once: SQLite takes 32766 values.
KEYS_AT_ONCE = 10_000


class CannotUndo(Exception):
    """Undo was refused; ``code`` says why: "done" (already undone) or "later" (later acts depend on it)."""

    def __init__(self, code: str, params: dict[str, Any] | None = None) -> None:
        super().__init__(code)
        self.code = code
        self.params = params or {}


class _Milliseconds(DjangoJSONEncoder):
    """Writes a moment as it will read once it was put back: the shorter form of a whole second is for these alone."""

    def default(self, value: Any) -> Any:
        if isinstance(value, datetime):
            value = value.replace(microsecond=value.microsecond // 1000 * 1000)
        return super().default(value)


def _all_fields(row: models.Model) -> dict[str, Any]:
    return json.loads(serializers.serialize("json", [row], cls=_Milliseconds))[0]["fields"]


def _fields(row: models.Model) -> dict[str, Any]:
    """What the journal remembers of a row: all but the model's ``unjournalled`` fields, such as a revision that
    must rise with an undo too."""
    left_out: frozenset[str] = getattr(row, "unjournalled", frozenset())
    return {name: value for name, value in _all_fields(row).items() if name not in left_out}


_followers: list[Callable[[JournalEntry, Coach | None], None]] = []


def follows_undo(
    follower: Callable[[JournalEntry, Coach | None], None],
) -> Callable[[JournalEntry, Coach | None], None]:
    """Registers a function(undone entry, actor) that is called in the same transaction once the rows are put back:
    for what hangs on them without being a row of the act. It may raise CannotUndo, and then nothing is undone."""
    if follower not in _followers:
        _followers.append(follower)
    return follower


_clearers: list[Callable[[JournalEntry], None]] = []


def clears_before_undo(clearer: Callable[[JournalEntry], None]) -> Callable[[JournalEntry], None]:
    """Registers a function(entry to be undone) that is called before it is asked what hangs on the rows that the act
    made: for rows that were only reckoned from them and would be again, so that they hold no undo up. What it takes
    away comes back when the undo is refused, since all of it is one transaction."""
    if clearer not in _clearers:
        _clearers.append(clearer)
    return clearer


class Recording:
    """The open entry of an act: tell it each row before changing it, or after making it."""

    def __init__(self) -> None:
        self.params: dict[str, Any] = {}
        self.entry: JournalEntry | None = None
        # Row, its key (a deleted row forgets it), and its fields before; None for a row that the act made.
        self._watched: list[tuple[models.Model, Any, dict[str, Any] | None]] = []
        self._seen: set[int] = set()  # by identity, which the list above keeps alive
        self.moves: list[dict[str, Any]] = []

    def change(self, *rows: models.Model) -> None:
        for row in rows:
            if id(row) not in self._seen:
                self._seen.add(id(row))
                self._watched.append((row, row.pk, _fields(row)))

    def made(self, *rows: models.Model) -> None:
        self._seen.update(map(id, rows))
        self._watched.extend((row, row.pk, None) for row in rows)

    def move(self, rows: models.QuerySet, field: str, before: Any, after: Any) -> int:
        """Changes one field of those of the rows that have it at ``before``, and returns how many they were.

        ``before`` and ``after`` are values as JSON has them; of a foreign key the row's key. Two statements, and one
        more for each further KEYS_AT_ONCE rows.
        """
        keys = sorted(rows.order_by().filter(**{field: before}).values_list("pk", flat=True))
        if keys:
            move = {"model": rows.model._meta.label_lower, "field": field, "before": before, "after": after}
            self.moves.append({**move, "pks": keys})
            _write_field(self.moves[-1], after)
        return len(keys)

    def rows(self) -> list[dict[str, Any]]:
        """What changed, read back from the database: one query a model, one more for each further KEYS_AT_ONCE rows."""
        watched: dict[str, list[Any]] = {}
        for row, pk, _before in self._watched:
            watched.setdefault(row._meta.label_lower, []).append(pk)
        stored = _stored(watched)
        written = []
        for row, pk, before in self._watched:
            after = stored.get((row._meta.label_lower, pk))
            if before != after:
                written.append({"model": row._meta.label_lower, "pk": pk, "before": before, "after": after})
        return written


_larger: ContextVar[Recording | None] = ContextVar("larger", default=None)


@contextmanager
def act(practice: Practice, actor: Coach | None, act: str, *, about: str = "", **params: Any) -> Iterator[Recording]:
    """One transaction and, if any row changed, one journal entry (``recording.entry`` afterwards).

    Within ``whole`` it is a part of that act: its rows go there, and there is no entry of its own.
    """
    larger = _larger.get()
    if larger is not None:
        with transaction.atomic():
            yield larger
        return
    recording = Recording()
    recording.params.update(params)
    with transaction.atomic():
        yield recording
        rows = recording.rows()
        if rows or recording.moves:
            recording.entry = JournalEntry.objects.create(
                practice=practice,
                actor=actor,
                act=act,
                about=about,
                params=recording.params,
                rows=rows,
                moves=recording.moves,
            )


@contextmanager
def whole(practice: Practice, actor: Coach | None, name: str, *, about: str = "", **params: Any) -> Iterator[Recording]:
    """An act made of others, such as composing and assigning at once: one entry, one undo."""
    with act(practice, actor, name, about=about, **params) as recording:
        token = _larger.set(recording)
        try:
            yield recording
        finally:
            _larger.reset(token)


def undo(entry: JournalEntry, actor: Coach | None) -> JournalEntry:
    """Puts back what ``entry`` changed and returns the entry that says so (undo that one to redo).

    Raises CannotUndo when it was undone already, a row has been changed since, or another has taken its place.
    """
    try:
        return _undone(entry, actor)
    except IntegrityError as taken:
        raise CannotUndo("later") from taken


def _undone(entry: JournalEntry, actor: Coach | None) -> JournalEntry:
    with transaction.atomic():
        entry = JournalEntry.objects.select_for_update().get(pk=entry.pk)
        if JournalEntry.objects.filter(undoes=entry).exists():
            raise CannotUndo("done")
        current = _stored(_by_model(entry.rows))
        for row in entry.rows:
            if current.get((row["model"], row["pk"])) != row["after"]:
                raise CannotUndo("later", {"model": row["model"]})
        for move in reversed(entry.moves):
            _move_back(move)
        for clearer in _clearers:
            clearer(entry)
        _refuse_what_others_need(entry)
        for (label, gone), rows in groupby(reversed(entry.rows), lambda row: (row["model"], row["before"] is None)):
            if gone:
                for some in _some([row["pk"] for row in rows]):
                    apps.get_model(label)._base_manager.filter(pk__in=some).delete()
            else:
                for row in rows:
                    _put(label, row["pk"], row["before"])
        for follower in _followers:
            follower(entry, actor)
        return JournalEntry.objects.create(
            practice_id=entry.practice_id,
            actor=actor,
            act=entry.act,
            about=entry.about,
            params=entry.params,
            rows=[{**row, "before": row["after"], "after": row["before"]} for row in reversed(entry.rows)],
            moves=[{**move, "before": move["after"], "after": move["before"]} for move in reversed(entry.moves)],
            undoes=entry,
        )


def _some(keys: list[Any]) -> Iterator[list[Any]]:
    for start in range(0, len(keys), KEYS_AT_ONCE):
        yield keys[start : start + KEYS_AT_ONCE]


def _write_field(move: dict[str, Any], value: Any) -> None:
    manager = apps.get_model(move["model"])._base_manager
    for keys in _some(move["pks"]):
        manager.filter(pk__in=keys).update(**{move["field"]: value})


def _move_back(move: dict[str, Any]) -> None:
    """Refused when one of the rows was moved on since. A row that is gone by now, as with its client, has nothing to
    be put back."""
    manager, field = apps.get_model(move["model"])._base_manager, move["field"]
    for keys in _some(move["pks"]):
        if manager.filter(pk__in=keys).exclude(**{field: move["after"]}).exists():
            raise CannotUndo("later", {"model": move["model"]})
    try:
        with transaction.atomic():
            _write_field(move, move["before"])
    except IntegrityError as taken:
        # Another row has the place by now that this one had.
        raise CannotUndo("later", {"model": move["model"]}) from taken


def open_steps(practice: Practice, about: str, apart_from: Iterable[str] = ()) -> tuple[list[int], list[int]]:
    """Keys of the entries about one thing that undo and redo would turn back, the next one last. One query.

    ``apart_from`` names acts that are no step among the others.
    """
    entries: Iterable[tuple[int, int | None]] = (
        JournalEntry.objects.for_practice(practice)
        .filter(about=about)
        .exclude(act__in=list(apart_from))
        .order_by("pk")
        .values_list("pk", "undoes_id")
    )
    undo_steps: list[int] = []
    redo_steps: list[int] = []
    for pk, turned_back in entries:
        if turned_back is None:
            undo_steps.append(pk)
            redo_steps.clear()
        elif turned_back in undo_steps:
            undo_steps.remove(turned_back)
            redo_steps.append(pk)
        elif turned_back in redo_steps:
            redo_steps.remove(turned_back)
            undo_steps.append(pk)
    return undo_steps, redo_steps


def _by_model(rows: Iterable[dict[str, Any]]) -> dict[str, list[Any]]:
    grouped: dict[str, list[Any]] = {}
    for row in rows:
        grouped.setdefault(row["model"], []).append(row["pk"])
    return grouped


def _stored(keys: dict[str, list[Any]]) -> dict[tuple[str, Any], dict[str, Any]]:
    """Rows as they stand in the database, by model and key: one query a model, one more for each further KEYS_AT_ONCE
    rows."""
    return {
        (label, row.pk): _fields(row)
        for label, pks in keys.items()
        for some in _some(pks)
        for row in apps.get_model(label)._base_manager.filter(pk__in=some)
    }


def _refuse_what_others_need(entry: JournalEntry) -> None:
    """A row that this act made may by now have rows hanging from it that the act neither made nor will put back."""
    ours = {(row["model"], row["pk"]) for row in entry.rows}
    for label, pks in _by_model(row for row in entry.rows if row["before"] is None).items():
        for relation in _pointing_at(apps.get_model(label)):
            related: Any = relation.related_model
            for some in _some(pks):
                hanging = related._base_manager.filter(**{f"{relation.field.name}__in": some})
                if any((related._meta.label_lower, pk) not in ours for pk in hanging.values_list("pk", flat=True)):
                    raise CannotUndo("later", {"model": related._meta.label_lower})


def _pointing_at(model: type[models.Model]) -> list[Any]:
    """Every foreign key that leads to the model, those without a name for the way back among them."""
    return [
        field
        for field in model._meta.get_fields(include_hidden=True)
        if field.auto_created and not field.concrete and (field.one_to_one or field.one_to_many)
    ]


def _put(label: str, pk: Any, fields: dict[str, Any]) -> None:
    present = apps.get_model(label)._base_manager.filter(pk=pk).first()
    whole = {**_all_fields(present), **fields} if present is not None else fields
    text = json.dumps([{"model": label, "pk": pk, "fields": whole}])
    for deserialized in serializers.deserialize("json", text):
        deserialized.save()
