"""A coach's own picture of an exercise: whatever was uploaded, what is kept is a JPEG that we wrote ourselves.

The upload is opened by another process with little memory and time (``programs/photos/rewrite.py``), so that a file
made to harm a decoder harms nothing here. Place, time and camera that a phone writes into its pictures are gone after.
"""

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Final

LARGEST_UPLOAD_BYTES: Final = 12 * 1024 * 1024
MEMORY_BYTES: Final = 1024 * 1024 * 1024
SECONDS: Final = 10
REWRITE: Final = Path(__file__).with_name("rewrite.py")


class NotAPhoto(Exception):
    """The upload was refused; ``code`` says why: "too_large", "not_a_picture" (or a broken one), "too_many_pixels"
    or "too_much_work" (it ran out of the memory or the time it was given)."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


@dataclass(frozen=True, slots=True)
class Rewritten:
    """A JPEG without metadata, upright, at most ``rewrite.LONGEST_EDGE`` pixels on its longer side."""

    jpeg: bytes
    width: int
    height: int


def rewritten(upload: bytes, *, memory_bytes: int = MEMORY_BYTES, seconds: int = SECONDS) -> Rewritten:
    """The upload written anew. Raises NotAPhoto."""
    if len(upload) > LARGEST_UPLOAD_BYTES:
        raise NotAPhoto("too_large")
    # Isolated: no environment, no user packages, nothing of ours imported.
    command = [sys.executable, "-I", str(REWRITE), str(memory_bytes), str(seconds)]
    try:
        done = subprocess.run(command, input=upload, capture_output=True, timeout=3 * seconds, cwd=REWRITE.parent)
    except subprocess.TimeoutExpired:
        raise NotAPhoto("too_much_work") from None
    head, _line_end, jpeg = done.stdout.partition(b"\n")
    if done.returncode != 0 or not head:
        raise NotAPhoto("too_much_work")
    found = json.loads(head)
    if "refused" in found:
        raise NotAPhoto(found["refused"])
    return Rewritten(jpeg, found["width"], found["height"])
