"""Cuts the desk's own font files from the two open families that come as pinned packages.

The packages hold whole TTF files. Pages need small WOFF2 files, a set per script; printed sheets need TTF
files and a fontconfig file that lets the text library see these and nothing else, so that the fonts of a
machine never change what a client is handed; form fields in a PDF need a family of their own, because
viewers re-use that font to draw what is typed in. The licence (SIL OFL 1.1) reserves the original name for
unmodified files, so ours carry new ones.

Needs no Django: the starting script may call `build` before anything else is set up.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

if TYPE_CHECKING:
    from fontTools.ttLib import TTFont

PROJECT = Path(__file__).resolve().parent.parent
STAMP = ".stamp"
LICENCE = "https://openfontlicense.org"


class FontsUnavailable(Exception):
    """The font packages or the font tools are not installed; the message is one plain sentence."""


@dataclass(frozen=True)
class Cut:
    """One face to be made: our family, weight and slope, and the package file it is cut from."""

    family: str
    package: str
    source: str
    weight: int
    style_name: str
    italic: bool = False

    @property
    def stem(self) -> str:
        return f"{self.family.lower().replace(' ', '-')}-{self.weight}{'-italic' if self.italic else ''}"

    @property
    def full_name(self) -> str:
        return f"{self.family} {self.style_name}"


@dataclass(frozen=True)
class Built:
    """Where the fonts are; `fresh` says whether this call made them or found them in order."""

    web: Path
    pdf: Path
    fontconfig: Path
    files: tuple[Path, ...]
    fresh: bool


SANS = "font_source_sans_pro"
SERIF = "font_source_serif_pro"
FACES = (
    Cut("Desk Sans", SANS, "SourceSansPro-Regular.ttf", 400, "Regular"),
    Cut("Desk Sans", SANS, "SourceSansPro-Semibold.ttf", 600, "Semibold"),
    Cut("Desk Sans", SANS, "SourceSansPro-Bold.ttf", 700, "Bold"),
    Cut("Desk Sans", SANS, "SourceSansPro-It.ttf", 400, "Italic", italic=True),
    Cut("Desk Serif", SERIF, "SourceSerifPro-Regular.ttf", 400, "Regular"),
    Cut("Desk Serif", SERIF, "SourceSerifPro-Semibold.ttf", 600, "Semibold"),
)
FORM_FACE = Cut("Desk Form", SANS, "SourceSansPro-Regular.ttf", 400, "Regular")

# Code points a file: a browser fetches a script's file only when a page has a letter of it.
SCRIPTS: dict[str, tuple[tuple[int, int], ...]] = {
    "": (
        (0x0020, 0x007E), (0x00A0, 0x017F),  # Latin, Latin-1, Latin Extended-A
        (0x0218, 0x021B), (0x1E80, 0x1E85), (0x1E9E, 0x1E9E), (0x1EF2, 0x1EF3),  # Romanian, Welsh, capital ß
        (0x02C6, 0x02C7), (0x02D8, 0x02DD),
        (0x2007, 0x2007), (0x2009, 0x2009), (0x2010, 0x203A), (0x2044, 0x2044),  # spaces and punctuation
        (0x2070, 0x208E), (0x20AC, 0x20AC), (0x2116, 0x2116), (0x2122, 0x2122),
        (0x2150, 0x215E), (0x2190, 0x2193),  # fractions, arrows
        (0x2206, 0x2206), (0x2212, 0x2215), (0x221E, 0x221E), (0x2248, 0x2248), (0x2260, 0x2265),
        (0x25B2, 0x25B3), (0x25BC, 0x25BD), (0x2713, 0x2713),
    ),
    "greek": ((0x0370, 0x03FF),),
    "cyrillic": ((0x0400, 0x04FF),),
}  # fmt: skip
LATIN_1 = ((0x0020, 0x007E), (0x00A0, 0x00FF))
FEATURES = ["ccmp", "kern", "liga", "locl", "mark", "mkmk", "lnum", "tnum"]

THIN_SPACE, NARROW_NO_BREAK_SPACE, HYPHEN, NO_BREAK_HYPHEN = 0x2009, 0x202F, 0x2010, 0x2011
THIN_SPACE_EM = 0.2


def build(base_dir: Path = PROJECT) -> Built:
    """Makes build/static/fonts (WOFF2, fonts.css) and build/pdf-fonts (TTF, fonts.conf) under base_dir.

    Does nothing when both are there and were made by this version of this module from the same package files.
    Raises FontsUnavailable when a package is missing, OSError when the folders can't be written.
    """
    web, pdf = base_dir / "build" / "static" / "fonts", base_dir / "build" / "pdf-fonts"
    folders = {face.package: _package_files(face.package) for face in FACES}
    stamp = _stamp(folders, pdf)
    stamp_file = pdf / STAMP
    files = tuple(web / name for name in _web_names()) + tuple(pdf / name for name in _pdf_names())
    built = Built(web=web, pdf=pdf, fontconfig=pdf / "fonts.conf", files=files, fresh=False)
    if stamp_file.is_file() and stamp_file.read_text() == stamp and all(path.is_file() for path in files):
        return built
    web.mkdir(parents=True, exist_ok=True)
    pdf.mkdir(parents=True, exist_ok=True)
    for face in FACES:
        source = folders[face.package] / face.source
        for script, ranges in SCRIPTS.items():
            if _draws(face, script):
                _write(web / _web_name(face, script), _cut(source, face, ranges, woff2=True))
        every_range = tuple(pair for script, ranges in SCRIPTS.items() if _draws(face, script) for pair in ranges)
        _write(pdf / f"{face.stem}.ttf", _cut(source, face, every_range))
    _write(
        pdf / f"{FORM_FACE.stem}.ttf",
        _cut(folders[SANS] / FORM_FACE.source, FORM_FACE, LATIN_1, layout=False),
    )
    for name, package in _licence_names().items():
        text = (folders[package] / "LICENSE.txt").read_bytes()
        _write(web / name, text)
        _write(pdf / name, text)
    _write(web / "fonts.css", stylesheet().encode())
    _write(pdf / "fonts.conf", _fontconfig_text(pdf).encode())
    _write(stamp_file, stamp.encode())
    return Built(web=web, pdf=pdf, fontconfig=pdf / "fonts.conf", files=files, fresh=True)


def pdf_fontconfig(base_dir: Path = PROJECT) -> Path:
    """The fontconfig file for printed sheets, made when it is missing.

    Set FONTCONFIG_FILE to it before WeasyPrint is imported for the first time in a process; make a fresh
    FontConfiguration for each render (a shared one is not safe across threads or forks).
    """
    return build(base_dir).fontconfig


def stylesheet() -> str:
    """The @font-face rules for what `build` writes, to lie beside the files."""
    rules = ["/* Made by `manage.py fonts`: Desk Sans and Desk Serif, SIL OFL 1.1, licence files beside this. */"]
    for face in FACES:
        for script, ranges in SCRIPTS.items():
            if _draws(face, script):
                rules.append(
                    f"@font-face {{\n  font-family: '{face.family}';\n"
                    f"  font-style: {'italic' if face.italic else 'normal'};\n  font-weight: {face.weight};\n"
                    f"  font-display: swap;\n  src: url('{_web_name(face, script)}') format('woff2');\n"
                    f"  unicode-range: {_unicode_range(ranges)};\n}}"
                )
    return "\n".join(rules) + "\n"


def _draws(face: Cut, script: str) -> bool:
    """The italic of the package has Latin only."""
    return not (face.italic and script)


def _web_name(face: Cut, script: str) -> str:
    return f"{face.stem}{'-' + script if script else ''}.woff2"


def _web_names() -> Iterator[str]:
    yield from (_web_name(face, script) for face in FACES for script in SCRIPTS if _draws(face, script))
    yield from _licence_names()
    yield "fonts.css"


def _pdf_names() -> Iterator[str]:
    yield from (f"{face.stem}.ttf" for face in (*FACES, FORM_FACE))
    yield from _licence_names()
    yield "fonts.conf"


def _licence_names() -> dict[str, str]:
    return {"OFL-desk-sans.txt": SANS, "OFL-desk-serif.txt": SERIF}


def _package_files(package: str) -> Path:
    found = importlib.util.find_spec(package)
    if found is None or found.origin is None:
        wanted = package.replace("_", "-")
        raise FontsUnavailable(f"The font package {wanted} is missing: run pip install -r requirements.txt.")
    return Path(found.origin).parent / "files"


def _stamp(folders: dict[str, Path], pdf: Path) -> str:
    """Changes with this module, with the package files, and with the place that fonts.conf names."""
    digest = hashlib.sha256(Path(__file__).read_bytes())
    digest.update(str(pdf).encode())
    for face in FACES:
        digest.update(f"{face.source} {(folders[face.package] / face.source).stat().st_size}".encode())
    return digest.hexdigest()


def _write(path: Path, content: bytes) -> None:
    """Another process may be reading the old file, or building too: swap it in whole."""
    beside = path.with_name(f"{path.name}.{os.getpid()}.part")
    beside.write_bytes(content)
    beside.replace(path)


def _cut(
    source: Path, face: Cut, ranges: tuple[tuple[int, int], ...], *, woff2: bool = False, layout: bool = True
) -> bytes:
    """The bytes of one subset, equal from run to run (no time stamps), so that PDFs can be cached by content.

    Without layout there is no kerning, no ligature, no feature: what a PDF viewer needs for a form field.
    """
    try:
        from fontTools import subset
        from fontTools.ttLib import TTFont
    except ImportError as missing:
        raise FontsUnavailable("The package fonttools is missing: run pip install -r requirements.txt.") from missing
    from io import BytesIO

    font = TTFont(source, recalcTimestamp=False)
    _complete_spaces_and_hyphens(font)
    options = subset.Options(
        layout_features=FEATURES if layout else [],
        hinting=False,
        recalc_timestamp=False,
        notdef_outline=True,
        name_IDs=[0],
    )
    options.drop_tables += ["BASE"] if layout else ["BASE", "GDEF", "GPOS", "GSUB"]
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=[point for first, last in ranges for point in range(first, last + 1)])
    subsetter.subset(font)
    _rename(font, face)
    font["OS/2"].usWeightClass = face.weight
    font.flavor = "woff2" if woff2 else None
    out = BytesIO()
    font.save(out)
    return out.getvalue()


def _complete_spaces_and_hyphens(font: TTFont) -> None:
    """Both families lack some of the spaces and hyphens that keep a number and its unit together."""
    glyphs = font.getBestCmap()
    thin = glyphs.get(NARROW_NO_BREAK_SPACE) or glyphs.get(THIN_SPACE)
    if thin is None:
        from fontTools.ttLib.tables._g_l_y_f import Glyph

        thin = "thinspace"
        font["glyf"][thin] = Glyph()
        font["hmtx"][thin] = (round(font["head"].unitsPerEm * THIN_SPACE_EM), 0)
    hyphen = glyphs.get(HYPHEN) or glyphs[ord("-")]
    wanted = {THIN_SPACE: thin, NARROW_NO_BREAK_SPACE: thin, HYPHEN: hyphen, NO_BREAK_HYPHEN: hyphen}
    for table in font["cmap"].tables:
        if table.isUnicode():
            for point, glyph in wanted.items():
                table.cmap.setdefault(point, glyph)


def _rename(font: TTFont, face: Cut) -> None:
    """A new name table: our names, the original copyright line, the licence."""
    from fontTools.ttLib import newTable

    copyright_line = font["name"].getDebugName(0)
    version = font["head"].fontRevision
    grouped = face.style_name in ("Regular", "Bold", "Italic")  # the four-style families of old font menus
    names = {
        0: copyright_line,
        1: face.family if grouped else face.full_name,
        2: face.style_name if grouped else "Regular",
        3: f"{version:.3f};{face.full_name}",
        4: face.full_name,
        5: f"Version {version:.3f}; subset and renamed",
        6: f"{face.family.replace(' ', '')}-{face.style_name}",
        13: "This font is licensed under the SIL Open Font License, Version 1.1.",
        14: LICENCE,
    }
    if not grouped:
        names |= {16: face.family, 17: face.style_name}
    table = font["name"] = newTable("name")
    table.names = []
    for name_id, text in names.items():
        table.setName(text, name_id, 3, 1, 0x409)


def _unicode_range(ranges: tuple[tuple[int, int], ...]) -> str:
    return ", ".join(f"U+{first:04X}" if first == last else f"U+{first:04X}-{last:04X}" for first, last in ranges)


def _fontconfig_text(folder: Path) -> str:
    """No folder but ours, and its cache beside it: the machine's own fonts can't leak into a sheet."""
    return (
        '<?xml version="1.0"?>\n<!DOCTYPE fontconfig SYSTEM "fonts.dtd">\n<fontconfig>\n'
        f"  <dir>{escape(str(folder))}</dir>\n  <cachedir>{escape(str(folder / 'cache'))}</cachedir>\n"
        "</fontconfig>\n"
    )
