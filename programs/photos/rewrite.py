"""Run by itself: reads a picture from standard input and writes it anew as a JPEG to standard output.

The answer is one line of JSON, {"width", "height"} followed by the JPEG, or {"refused": code} alone. The limits are
set before the decoder is loaded; whoever called takes any other end as a refusal.
"""

import io
import json
import sys

LONGEST_EDGE = 1280
MOST_PIXELS = 64_000_000  # the largest that phones make is 50 million
LARGEST_JPEG_BYTES = 400_000
QUALITIES = (85, 75, 65)
SMALLER = 0.75
PAPER = (255, 255, 255)


def limit(memory_bytes: int, seconds: int) -> None:
    """Memory, computing time, no files: where the system knows such limits."""
    try:
        import resource
    except ImportError:
        return
    for kind, most in (
        (resource.RLIMIT_AS, memory_bytes),
        (resource.RLIMIT_CPU, seconds),
        (resource.RLIMIT_FSIZE, 0),
        (resource.RLIMIT_CORE, 0),
    ):
        _soft, hard = resource.getrlimit(kind)
        ceiling = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(kind, (ceiling, ceiling))


def rewrite(upload: bytes) -> tuple[dict, bytes]:
    from PIL import Image, ImageOps, UnidentifiedImageError

    Image.MAX_IMAGE_PIXELS = None  # counted here, before anything is decoded
    try:
        with Image.open(io.BytesIO(upload), formats=("JPEG", "PNG", "WEBP")) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                return {"refused": "too_many_pixels"}, b""
            opened.draft("RGB", (2 * LONGEST_EDGE, 2 * LONGEST_EDGE))
            opened.thumbnail((LONGEST_EDGE, LONGEST_EDGE))
            picture = flat(ImageOps.exif_transpose(opened))
    except MemoryError:
        return {"refused": "too_much_work"}, b""
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError, IndexError, TypeError, KeyError):
        return {"refused": "not_a_picture"}, b""  # what decoders raise over broken files
    while True:
        for quality in QUALITIES:
            written = io.BytesIO()
            picture.save(written, "JPEG", quality=quality, optimize=True)
            if written.tell() <= LARGEST_JPEG_BYTES:
                return {"width": picture.width, "height": picture.height}, written.getvalue()
        picture = picture.resize((max(1, int(picture.width * SMALLER)), max(1, int(picture.height * SMALLER))))


def flat(picture):
    """Three colours on paper white, a new picture that carries nothing of the old file."""
    from PIL import Image

    whole = picture.convert("RGBA")
    paper = Image.new("RGB", whole.size, PAPER)
    paper.paste(whole, mask=whole.getchannel("A"))
    return paper


if __name__ == "__main__":
    limit(int(sys.argv[1]), int(sys.argv[2]))
    answer, jpeg = rewrite(sys.stdin.buffer.read())
    sys.stdout.buffer.write(json.dumps(answer).encode() + b"\n" + jpeg)
