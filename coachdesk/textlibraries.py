"""The native text libraries that PDF rendering needs: which are missing, and how to get them.

Standard library only, since it also runs before anything is installed. Pango is a must for PDFs; without
HarfBuzz's subset library they work but take several times as long.
"""

import contextlib
import ctypes
import ctypes.util
import os
import shutil
import sys
from collections.abc import Callable

from coachdesk.bootstrap import packages
from coachdesk.bootstrap.problems import as_root

# What a person calls it -> (file names by platform, Debian package).
LIBRARIES = {
    "Pango": (("libpango-1.0.so.0", "libpango-1.0-0.dll", "pango-1.0"), "libpango-1.0-0"),
    "PangoFT2": (("libpangoft2-1.0.so.0", "libpangoft2-1.0-0.dll", "pangoft2-1.0"), "libpangoft2-1.0-0"),
    "HarfBuzz subset": (
        ("libharfbuzz-subset.so.0", "libharfbuzz-subset-0.dll", "harfbuzz-subset"),
        "libharfbuzz-subset0",
    ),
}
OPTIONAL = frozenset({"HarfBuzz subset"})

# Where WeasyPrint looks on Windows, in its order.
WINDOWS_FOLDERS = r"C:\msys64\ucrt64\bin;C:\msys64\mingw64\bin;C:\Program Files\GTK3-Runtime Win64\bin"

# The tool that tells a system apart -> the line that installs all it lacks.
INSTALL_LINES = {
    "dnf": "dnf install pango harfbuzz",
    "zypper": "zypper install libpango-1_0-0 libharfbuzz-subset0",
    "pacman": "pacman -S pango",
    "apk": "apk add pango harfbuzz-subset",
}


def missing() -> list[str]:
    """Names of the libraries that can't be loaded now; [] when PDFs render at full speed."""
    return [name for name, (files, _) in LIBRARIES.items() if not _loads(files)]


def can_render() -> bool:
    """Whether PDFs can be rendered at all."""
    return set(missing()) <= OPTIONAL


def install_line() -> str:
    """The one line that installs what is missing on this machine; "" when nothing is."""
    absent = missing()
    if not absent:
        return ""
    if sys.platform == "darwin":
        return "brew install pango"
    if os.name == "nt":
        return (
            "winget install MSYS2.MSYS2 & "
            'C:\\msys64\\usr\\bin\\bash -lc "pacman -S --noconfirm mingw-w64-ucrt-x86_64-pango"'
        )
    for tool, line in INSTALL_LINES.items():
        if shutil.which(tool):
            return as_root(line)
    return as_root("apt install " + " ".join(LIBRARIES[name][1] for name in absent))


def install_where_allowed(say: Callable[[str], None]) -> None:
    """Install what is missing as root on Debian or Ubuntu; elsewhere say the line that does. Never fails."""
    absent = missing()
    if absent and packages.is_debian_root():
        packages.install([LIBRARIES[name][1] for name in absent], "the text libraries for PDFs", say)
        absent = missing()
    if not absent:
        return
    if can_render():
        say("PDFs will be slow, as the HarfBuzz subset library is missing. This line installs it:")
    else:
        say(f"Everything works but PDFs: {' and '.join(absent)} missing. This line installs what they need:")
    say(f"  {install_line()}")


def _loads(files: tuple[str, ...]) -> bool:
    if os.name == "nt":
        for folder in os.environ.get("WEASYPRINT_DLL_DIRECTORIES", WINDOWS_FOLDERS).split(";"):
            with contextlib.suppress(OSError):
                os.add_dll_directory(folder)  # type: ignore[attr-defined]
    for file in files:
        with contextlib.suppress(OSError):
            ctypes.CDLL(file)
            return True
    if sys.platform == "darwin" and (path := ctypes.util.find_library(files[-1])):
        with contextlib.suppress(OSError):
            ctypes.CDLL(path)
            return True
    return False
