"""Photos in a JSON file: those that this installation wrote come back as they were, all others are written anew.

What we write carries a seal over the picture's bytes, made with the installation's own key. A picture without a
sound seal is taken through the same door as an upload by hand (``programs.photos``) before anything is shown.
"""

import base64
import binascii
import hashlib
import time
from typing import Any, Final

from django.core import signing
from django.utils.crypto import constant_time_compare

from programs.exchange.bounds import Bad
from programs.exchange.fields import ID
from programs.exchange.kinds import Text
from programs.photos import LARGEST_UPLOAD_BYTES, NotAPhoto, rewritten

MOST_REWRITTEN: Final = 60  # of one file, as each takes a moment
SECONDS_FOR_ALL: Final = 60
LARGEST_EDGE: Final = 32767
SHOWS: Final = Text(200)
_SIGNER = signing.Signer(salt="programs.exchange.photo")


def photo_to_json(public_id: str, image: bytes, width: int, height: int, shows: str) -> dict[str, Any]:
    return {
        "id": public_id,
        "shows": shows,
        "width": width,
        "height": height,
        "jpeg": base64.b64encode(image).decode(),
        "seal": _seal(image, width, height),
    }


def _seal(image: bytes, width: int, height: int) -> str:
    return _SIGNER.signature(f"{hashlib.sha256(image).hexdigest()} {width} {height}")


def photo_from_json(value: Any) -> dict[str, Any] | None:
    """The photo of an entry that ``with_sealed_photos`` has been over; None for none. Raises Bad."""
    if value is None:
        return None
    if not isinstance(value, dict):
        raise Bad("photo_wanted")
    if isinstance(value.get("refused"), str):
        return {"refused": value["refused"]}
    image, width, height = _picture(value), value.get("width"), value.get("height")
    if not _is_sealed(value, image):
        raise Bad("photo_wanted")
    return {
        "id": ID.from_json(value.get("id", "")),
        "shows": SHOWS.from_json(value.get("shows", "")),
        "width": width,
        "height": height,
        "image": image,
    }


def with_sealed_photos(entries: list[Any]) -> None:
    """Writes anew, in place, every picture that was not written here; says of each that can't be why."""
    made, until = 0, time.monotonic() + SECONDS_FOR_ALL
    for entry in entries:
        photo = entry.get("photo") if isinstance(entry, dict) else None
        if not isinstance(photo, dict):
            continue
        try:
            image = _picture(photo)
        except Bad as bad:
            entry["photo"] = {"refused": bad.code}
            continue
        if _is_sealed(photo, image):
            continue
        if made >= MOST_REWRITTEN or time.monotonic() > until:
            entry["photo"] = {"refused": "photo_too_many"}
            continue
        made += 1
        try:
            fresh = rewritten(image, seconds=5)
        except NotAPhoto as refused:
            entry["photo"] = {"refused": f"photo_{refused.code}"}
        else:
            shows = photo.get("shows", "")
            entry["photo"] = photo_to_json("", fresh.jpeg, fresh.width, fresh.height, "") | {"shows": shows}


def _picture(photo: dict[str, Any]) -> bytes:
    written = photo.get("jpeg")
    if not isinstance(written, str) or len(written) > LARGEST_UPLOAD_BYTES * 4 // 3 + 4:
        raise Bad("photo_wanted")
    try:
        return base64.b64decode(written, validate=True)
    except (binascii.Error, ValueError):
        raise Bad("photo_wanted") from None


def _is_sealed(photo: dict[str, Any], image: bytes) -> bool:
    width, height, seal = photo.get("width"), photo.get("height"), photo.get("seal")
    if not all(isinstance(edge, int) and 0 < edge <= LARGEST_EDGE for edge in (width, height)):
        return False
    return isinstance(seal, str) and constant_time_compare(seal, _seal(image, width, height))  # type: ignore[arg-type]
