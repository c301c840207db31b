"""The archive: every file of a client's export, written one after the other."""

import json
import tempfile
from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path
from typing import IO, Any
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from django.core.serializers.json import DjangoJSONEncoder
from django.utils import formats, translation
from django.utils.text import slugify
from django.utils.translation import gettext as _

from clients.export import tables
from clients.export.block_days import block_days
from clients.export.documents import client_document, health_document
from clients.models import Client, SheetLink, SheetVersion
from clients.services import links
from clients.sheets import pdf

SHEETS_AT_ONCE = 20
IN_MEMORY = 4 << 20  # bytes; what is larger goes to disk
SHEETS = "sheets"


def file_name(client: Client, now: datetime) -> str:
    return f"{slugify(client.name) or 'client'}-{now:%Y-%m-%d}.zip"


def write(client: Client, now: datetime, *, health: bool = False) -> IO[bytes]:
    """The archive as an open file at its beginning, on disk where it is large; whoever asked closes it.

    ``now`` is on the client's clock. Words and numbers are in the client's language. ``health`` adds a file of its
    own: only for coaches who may read it. A fixed number of queries; tables and sheets are written row by row, only the
    two documents are held whole.
    """
    out = tempfile.SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115  handed on to the response, which closes it
    try:
        _fill(out, client, now, health)
    except BaseException:
        out.close()
        raise
    out.seek(0)
    return out


def _fill(out: IO[bytes], client: Client, now: datetime, health: bool) -> None:
    with translation.override(client.language), ZipFile(out, "w", ZIP_DEFLATED) as archive:
        comma = formats.get_format("DECIMAL_SEPARATOR") == ","
        _write(archive, "README.txt", now, [_read_me(client, health=health).encode()])
        _write(archive, "client.json", now, _json(client_document(client, now)))
        for table in tables.TABLES:
            _write(archive, table.file, now, table.lines(client, comma))
        _write(archive, "block.ics", now, [block_days(client, now)])
        for name, pieces, packed in _sheets(client):
            _write(archive, f"{SHEETS}/{name}", now, pieces, packed=packed)
        if health:
            _write(archive, "health.json", now, _json(health_document(client, now)))


def _write(archive: ZipFile, name: str, now: datetime, pieces: Iterable[bytes], *, packed: bool = False) -> None:
    """``packed`` are files that are packed already, such as PDFs."""
    info = ZipInfo(name, now.timetuple()[:6])
    info.compress_type = ZIP_STORED if packed else ZIP_DEFLATED
    info.external_attr = 0o600 << 16
    with archive.open(info, "w", force_zip64=True) as file:
        for piece in pieces:
            file.write(piece)


def _json(document: Any) -> list[bytes]:
    return [json.dumps(document, cls=DjangoJSONEncoder, ensure_ascii=False, indent=1).encode()]


def _sheets(client: Client) -> Iterator[tuple[str, Iterable[bytes], bool]]:
    """Every sheet as it was handed out, and its PDFs where they are kept: (name, content, packed already)."""
    addresses = _addresses(client)
    versions = (
        SheetVersion.objects.for_client(client)
        .select_related("session__block")
        .defer("session__block__document")
        .order_by("session__block__number", "session__cycle", "session__position", "number")
    )
    for version in versions.iterator(chunk_size=SHEETS_AT_ONCE):
        session = version.session
        at = f"{session.block.number}-{session.cycle:02}-{session.position + 1}"
        day = f"-{session.planned_on}" if session.planned_on else ""
        name = f"{at}{day}-{slugify(session.name)}-v{version.number}"
        state = {"state": version.state, "issued_at": version.issued_at, "session_id": session.public_id}
        yield f"{name}.json", _json({**state, "number": version.number, "document": version.document}), False
        for layout in pdf.LAYOUTS:
            path = _stored(version, layout, addresses.get(session.pk, ""))
            if path is not None:
                yield f"{name}-{layout}.pdf", _pieces(path), True


def _addresses(client: Client) -> dict[int, str]:
    """What the codes on the sheets say, revoked ones too: their PDFs were made with them. One query."""
    rows = SheetLink.objects.filter(session__block__client=client)
    return {link.session_id: links.address_of(link) for link in rows}


def _stored(version: SheetVersion, layout: str, address: str) -> Path | None:
    for said in dict.fromkeys((address, "")):
        path = pdf.path_for(version, layout, said)
        if path.is_file():
            return path
    return None


def _pieces(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while piece := file.read(1 << 16):
            yield piece


def _read_me(client: Client, *, health: bool) -> str:
    """What each file is and what its columns mean, in words."""
    lines = [
        _("Everything about %(name)s, from %(practice)s.") % {"name": client.name, "practice": client.practice.name},
        "",
        _("Tables are CSV in UTF-8, one row a line; every cell is quoted."),
        _("Days are written 2026-03-31. A text that a spreadsheet would run has an apostrophe before it."),
        _("Ids join the files: a set names its session, a part its set."),
        "",
        _("client.json: the profile, limits, blocks and drafts, and the coaches’ notes."),
        _("block.ics: the days of the last block, for any calendar."),
        _("sheets: each sheet as it was handed out, and its PDF where one is kept."),
    ]
    if health:
        lines.append(_("health.json: health answers, conditions, clearances, pain, illness, notes, and who looked."))
    for table in tables.TABLES:
        lines += ["", f"{table.file}: {table.meaning}"]
        lines += [f"  {column.name}: {column.meaning}" for column in table.columns]
    return "\r\n".join(lines) + "\r\n"
