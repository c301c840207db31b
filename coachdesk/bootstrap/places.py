"""Where things are kept, before Django's settings say so."""

import os
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent


def environment_folder() -> Path:
    return Path(os.environ.get("COACHDESK_VENV") or ROOT / ".venv").expanduser().absolute()


def data_folder() -> Path:
    return Path(os.environ.get("COACHDESK_DATA") or ROOT / "data").expanduser().absolute()
