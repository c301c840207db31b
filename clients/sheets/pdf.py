"""Sheets as PDF: phone-sized pages and paper, rendered once and kept under a name made of all that decides them.

WeasyPrint is imported late: it takes half a second, needs native text libraries, and reads its font settings once.
"""

import hashlib
import os
import threading
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

import segno
from django.conf import settings
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.safestring import SafeString, mark_safe
from django.utils.text import slugify
from django.utils.translation import gettext as _

import coachdesk.fonts as fonts
import coachdesk.textlibraries as textlibraries
from clients.models import SheetLink, SheetVersion
from clients.services import links
from clients.sheets import printed

LAYOUTS = ("phone", "paper")
TEMPLATES = {"phone": "sheets/phone.html", "paper": "sheets/paper.html"}
SOURCES = (
    "templates/sheets",
    "clients/sheets",
    "clients/phone/labels.py",
    "clients/phone/rows.py",
    "programs/drawings",
)

# The text library is not safe across threads, and two renders at once are no faster than one after the other.
_lock = threading.Lock()


class CannotRender(Exception):
    """The native text libraries are missing; ``coachdesk.textlibraries`` says which, and how to get them."""


def render_all(version: SheetVersion) -> int:
    """Renders the layouts of a version that are not in the cache yet; returns how many, 0 where none can be."""
    if not textlibraries.can_render():
        return 0
    _make_link(version)
    made = 0
    for layout in LAYOUTS:
        path = path_for(version, layout)
        if not path.is_file():
            _render_into(path, version, layout)
            made += 1
    return made


def file_for(version: SheetVersion, layout: str) -> Path:
    """The file of a layout, rendered now where the worker has not come to it. Raises CannotRender."""
    path = path_for(version, layout)
    if path.is_file():
        return path
    _make_link(version)
    path = path_for(version, layout)
    if not path.is_file():
        _render_into(path, version, layout)
    return path


def _make_link(version: SheetVersion) -> None:
    """The code's link, where phones may follow it."""
    if links.may_have_links(version.session.block.client):
        links.sheet_link(version.session)


def path_for(version: SheetVersion, layout: str, address: str | None = None) -> Path:
    """Where a layout of a version is kept: its name changes with the document, the design and the link on it.

    ``address`` is the link's where it is known already; else it is asked for.
    """
    said = sheet_address(version) if address is None else address
    parts = (version.digest, str(version.number), layout, said, design_digest())
    key = hashlib.sha256("\n".join(parts).encode()).hexdigest()
    return Path(settings.PDF_DIR) / key[:2] / f"{key}.pdf"


def sheet_address(version: SheetVersion) -> str:
    """The address on the sheet's code; "" where phones could not reach it or no link was made yet."""
    if not settings.PUBLIC_URL:
        return ""
    link = SheetLink.objects.filter(session=version.session_id, revoked_at=None).first()
    return links.address_of(link) if link is not None else ""


def file_name(version: SheetVersion, layout: str) -> str:
    """What the file is called where it is saved: whose, which session and day, which version."""
    document = version.document
    session = document["session"]
    parts = (document["client"]["initials"], session["name"], session["planned_on"] or "", f"v{version.number}")
    return f"{slugify(' '.join(parts))}{'-a4' if layout == 'paper' else ''}.pdf"


def html_for(version: SheetVersion, layout: str) -> str:
    """The finished HTML of a layout, in the client's language: everything is in it, nothing is fetched."""
    with translation.override(version.document["client"]["language"]):
        context = printed.context(version.document, version.number, layout)
        address = sheet_address(version)
        context["address"] = address
        context["code"] = code_for(address) if address else ""
        return render_to_string(TEMPLATES[layout], context)


def code_for(address: str, ground: str | None = None) -> SafeString:
    """The address as a drawn code with a quiet margin, named for readers who cannot see it; black on ``ground``."""
    out = BytesIO()
    made = segno.make(address, error="m", micro=False)
    title = _("Code that opens this sheet")
    look = {"border": 1, "omitsize": True, "title": title, "light": ground}
    made.save(out, kind="svg", xmldecl=False, svgns=True, nl=False, **look)
    return mark_safe(out.getvalue().decode())  # noqa: S308  drawn from an address of our own


def to_pdf(html: str) -> bytes:
    """The finished HTML as a tagged PDF. Raises CannotRender."""
    weasyprint = _weasyprint()
    with _lock:
        document: bytes = weasyprint.HTML(string=html, url_fetcher=_fetcher()).write_pdf(
            pdf_variant="pdf/ua-1", font_config=_font_configuration()
        )
    return document


def _render_into(path: Path, version: SheetVersion, layout: str) -> None:
    content = to_pdf(html_for(version, layout))
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f"{path.stem}.{os.getpid()}.{threading.get_ident()}.part")
    beside.write_bytes(content)
    beside.replace(path)


def _weasyprint() -> Any:
    if not textlibraries.can_render():
        raise CannotRender
    os.environ["FONTCONFIG_FILE"] = str(fonts.pdf_fontconfig())
    try:
        import weasyprint
    except OSError as missing:
        raise CannotRender from missing
    return weasyprint


def _fetcher() -> Any:
    """Nothing a coach or a client typed can make the machine open a file or an address."""
    from weasyprint.urls import URLFetcher

    return URLFetcher(allowed_protocols={"data"})


def _font_configuration() -> Any:
    from weasyprint.text.fonts import FontConfiguration

    return FontConfiguration()


@cache
def design_digest() -> str:
    """Changes with every template, drawing and wording that a printed sheet is made of."""
    digest = hashlib.sha256()
    for source in SOURCES:
        path = settings.BASE_DIR / source
        for file in sorted(path.rglob("*")) if path.is_dir() else [path]:
            if file.suffix in (".py", ".html", ".css", ".toml"):
                digest.update(file.read_bytes())
    return digest.hexdigest()
