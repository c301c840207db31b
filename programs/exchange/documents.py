"""Library and templates as JSON: the same as the table and more, pictures among it.

{"format": "coachdesk-library", "version": 1, "exercises": [{"id": ..., "name": ...}, ...]}
{"format": "coachdesk-templates", "version": 1, "templates": [...]}
"""

import json
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, Final

from programs.exchange.bounds import DEEPEST, MOST_PARTS, MOST_ROWS, Bad, FileRefused
from programs.exchange.fields import FIELDS, LANGUAGE, WORDS, Record
from programs.exchange.photos import photo_from_json
from programs.exchange.sheets import Problem, Read, Sheet, decoded

LIBRARY: Final = "coachdesk-library"
TEMPLATES: Final = "coachdesk-templates"
VERSION: Final = 1
LISTS: Final = {LIBRARY: "exercises", TEMPLATES: "templates"}


def write(records: Iterable[Record], photos: Mapping[str, dict[str, Any]]) -> bytes:
    """The library's file; ``photos`` by the id of the exercise, as ``photos.photo_to_json`` makes them."""
    return dumped(LIBRARY, [{**_plain(record), "photo": photos.get(record["id"])} for record in records])


def dumped(form: str, entries: list[dict[str, Any]]) -> bytes:
    document = {"format": form, "version": VERSION, LISTS[form]: entries}
    return json.dumps(document, ensure_ascii=False, indent=1, default=float).encode()


def _plain(record: Record) -> dict[str, Any]:
    texts = {
        language: {word: WORDS[word].to_json(value) for word, value in said.items()}
        for language, said in record["texts"].items()
    }
    return {**{name: kind.to_json(record[name]) for name, kind in FIELDS.items()}, "texts": texts}


def is_json(data: bytes) -> bool:
    return data.lstrip(b"\xef\xbb\xbf\xff\xfe\x00 \t\r\n")[:1] in (b"{", b"[")


def loaded(data: bytes, form: str) -> list[Any]:
    """The entries of a document of this form. Raises FileRefused."""
    text, _encoding = decoded(data)
    if sum(map(text.count, "{[,")) > MOST_PARTS:
        raise FileRefused("too_complicated")
    try:
        document = json.loads(text, parse_float=Decimal, parse_constant=_no_number)
    except RecursionError:
        raise FileRefused("too_deep", most=DEEPEST) from None
    except json.JSONDecodeError as error:
        raise FileRefused("broken_json", line=error.lineno, column=error.colno) from None
    except ValueError:
        raise FileRefused("broken_number") from None
    if not isinstance(document, dict) or document.get("format") not in LISTS:
        raise FileRefused("not_ours")
    if document["format"] != form:
        raise FileRefused("other_form", form=document["format"])
    if document.get("version") != VERSION:
        raise FileRefused("other_version", version=str(document.get("version"))[:20], known=VERSION)
    entries = document.get(LISTS[form])
    if not isinstance(entries, list):
        raise FileRefused("not_ours")
    if not entries:
        raise FileRefused("no_rows")
    if len(entries) > MOST_ROWS:
        raise FileRefused("too_many_rows", most=MOST_ROWS)
    if deeper_than(entries, DEEPEST):
        raise FileRefused("too_deep", most=DEEPEST)
    return entries


def _no_number(name: str) -> float:
    raise ValueError(name)


def deeper_than(value: Any, most: int) -> bool:
    layer = [value]
    for _depth in range(most):
        layer = [
            inner
            for outer in layer
            for inner in (outer.values() if isinstance(outer, dict) else outer)
            if isinstance(inner, dict | list)
        ]
        if not layer:
            return False
    return True


def read(data: bytes) -> Sheet:
    """The library's file. Raises FileRefused where no exercise of it can be made out."""
    entries = loaded(data, LIBRARY)
    unknown: dict[str, None] = {}
    rows = [_read_entry(number, entry, unknown) for number, entry in enumerate(entries, start=1)]
    photos = any("photo" in row.record for row in rows)
    return Sheet(tuple(rows), "json", unknown=tuple(unknown), with_photos=photos)


def _read_entry(number: int, entry: Any, unknown: dict[str, None]) -> Read:
    if not isinstance(entry, dict):
        return Read(number, {}, (Problem("", "not_an_entry"),))
    record: Record = {}
    problems: list[Problem] = []
    for name, value in entry.items():
        if name in FIELDS:
            try:
                record[name] = FIELDS[name].from_json(value)
            except Bad as bad:
                problems.append(Problem(name, bad.code, bad.params))
        elif name == "photo":
            try:
                record["photo"] = photo_from_json(value)
            except Bad as bad:
                problems.append(Problem(name, bad.code, bad.params))
        elif name != "texts":
            unknown[name[:60]] = None
    texts = entry.get("texts", {})
    if not isinstance(texts, dict):
        problems.append(Problem("texts", "list_wanted"))
        texts = {}
    for language, said in texts.items():
        _read_words(language, said, record, problems, unknown)
    return Read(number, record, tuple(problems))


def _read_words(language: str, said: Any, record: Record, problems: list[Problem], unknown: dict[str, None]) -> None:
    if not LANGUAGE.fullmatch(language) or not isinstance(said, dict):
        problems.append(Problem("texts", "language_wanted", {"value": language[:20]}))
        return
    for word, value in said.items():
        if word not in WORDS:
            unknown[f"texts.{language}.{word}"[:60]] = None
            continue
        try:
            record.setdefault("texts", {}).setdefault(language, {})[word] = WORDS[word].from_json(value)
        except Bad as bad:
            problems.append(Problem(f"{word}_{language}", bad.code, bad.params))
