"""Photos of exercises: what is taken, what is refused, what is kept of it, and who may see it."""

import io
import struct
import zlib
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.models import Photo
from programs.photos import LARGEST_UPLOAD_BYTES, NotAPhoto, rewritten
from programs.photos.rewrite import LARGEST_JPEG_BYTES, LONGEST_EDGE
from programs.services import photos as services
from tests.factories import ExerciseFactory, PhotoFactory

ORIENTATION, PLACE, TAKEN_AT = 0x0112, 0x8825, 0x0132


def picture(size=(40, 30), kind="JPEG", colour="teal", **options) -> bytes:
    written = io.BytesIO()
    Image.new("RGBA" if kind == "PNG" else "RGB", size, colour).save(written, kind, **options)
    return written.getvalue()


def png_that_says(width: int, height: int) -> bytes:
    """A PNG of a few bytes whose head claims any size."""

    def chunk(name: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 100)) + chunk(b"IEND", b"")
    )


def refusal(upload: bytes, **limits) -> str:
    with pytest.raises(NotAPhoto) as refused:
        rewritten(upload, **limits)
    return refused.value.code


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_picture_becomes_a_jpeg_of_its_size(kind):
    found = rewritten(picture(kind=kind))
    with Image.open(io.BytesIO(found.jpeg)) as opened:
        assert (opened.format, opened.mode, opened.size) == ("JPEG", "RGB", (40, 30))
    assert (found.width, found.height) == (40, 30)


def test_a_large_picture_is_made_smaller_and_keeps_its_shape():
    found = rewritten(picture((4000, 2000)))
    assert (found.width, found.height) == (LONGEST_EDGE, LONGEST_EDGE // 2)


def test_even_noise_stays_within_the_bytes_allowed():
    noise = Image.effect_noise((1600, 1600), 120)
    written = io.BytesIO()
    noise.save(written, "PNG")
    assert len(rewritten(written.getvalue()).jpeg) <= LARGEST_JPEG_BYTES


def test_a_picture_taken_sideways_stands_upright_and_forgets_where_and_when():
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    exif[TAKEN_AT] = "2026:03:02 06:00:00"
    exif.get_ifd(PLACE)[1] = "N"
    found = rewritten(picture((40, 30), exif=exif))
    assert (found.width, found.height) == (30, 40)
    with Image.open(io.BytesIO(found.jpeg)) as opened:
        assert dict(opened.getexif()) == {}
    assert b"2026:03:02" not in found.jpeg


def test_what_is_see_through_becomes_paper():
    found = rewritten(picture(kind="PNG", colour=(0, 0, 0, 0)))
    with Image.open(io.BytesIO(found.jpeg)) as opened:
        assert opened.getpixel((5, 5)) == (255, 255, 255)


@pytest.mark.parametrize(
    "upload",
    [
        b"",
        b"no picture at all",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"GIF89a\x01\x00\x01\x00\x00\x00\x00;",
        picture()[:200],
        b"\xff\xd8\xff\xe0" + b"\0" * 3000,
        png_that_says(100, 100),
    ],
    ids=["empty", "text", "svg", "gif", "cut short", "zeros", "too little data"],
)
def test_what_is_no_whole_picture_is_refused(upload):
    assert refusal(upload) == "not_a_picture"


def test_a_picture_that_would_unfold_to_too_much_is_refused_before_it_is_opened():
    assert refusal(png_that_says(30_000, 30_000)) == "too_many_pixels"


def test_an_upload_beyond_the_limit_is_not_even_read():
    assert refusal(b"\xff" * (LARGEST_UPLOAD_BYTES + 1)) == "too_large"


def test_a_decoder_that_wants_more_memory_than_it_may_have_is_stopped():
    written = io.BytesIO()
    Image.new("RGB", (7000, 7000)).save(written, "PNG")
    assert refusal(written.getvalue(), memory_bytes=160 * 1024 * 1024) == "too_much_work"


def upload(content: bytes, name="row.jpg"):
    return SimpleUploadedFile(name, content, "image/jpeg")


@pytest.mark.django_db
def test_a_coach_puts_up_a_photo_and_sees_it(as_ana, ana):
    exercise = ExerciseFactory(practice=ana.practice)
    answer = as_ana.post(
        reverse("exercise-photo", args=[exercise.public_id]), {"picture": upload(picture()), "shows": "Start: tall"}
    )
    assert answer.status_code == 302
    exercise.refresh_from_db()
    page = as_ana.get(reverse("exercise", args=[exercise.public_id])).content.decode()
    assert reverse("photo", args=[exercise.photo.public_id]) in page
    assert 'alt="Start: tall"' in page
    shown = as_ana.get(reverse("photo", args=[exercise.photo.public_id]))
    assert shown["Content-Type"] == "image/jpeg"
    assert Image.open(io.BytesIO(shown.content)).size == (40, 30)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("posted", "sentence"),
    [
        ({"shows": "Start"}, "Choose a picture."),
        ({"picture": upload(picture()), "shows": ""}, "Fill this in."),
        ({"picture": upload(b"words"), "shows": "Start"}, "This is not a whole JPEG, PNG or WebP picture."),
    ],
)
def test_what_is_wrong_stands_beside_the_field_and_the_words_stay(as_ana, ana, posted, sentence):
    exercise = ExerciseFactory(practice=ana.practice)
    answer = as_ana.post(reverse("exercise-photo", args=[exercise.public_id]), posted)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert sentence in page
    assert f'value="{posted["shows"]}"' in page or not posted["shows"]
    assert not Photo.objects.exists()


@pytest.mark.django_db
def test_a_photo_is_described_anew_without_another_upload(as_ana, ana):
    exercise = ExerciseFactory(practice=ana.practice, photo=PhotoFactory(practice=ana.practice))
    as_ana.post(reverse("exercise-photo", args=[exercise.public_id]), {"shows": "End: elbows straight"})
    photo = Photo.objects.get()
    assert photo.shows == "End: elbows straight"
    journal.undo(JournalEntry.objects.latest("pk"), ana)
    photo.refresh_from_db()
    assert (photo.shows, bytes(photo.image)) == ("Start: elbows under the bar", b"\xff\xd8 a picture")


@pytest.mark.django_db
def test_taking_a_photo_down_can_be_undone_for_a_month(as_ana, ana):
    photo = PhotoFactory(practice=ana.practice)
    exercise = ExerciseFactory(practice=ana.practice, photo=photo)
    as_ana.post(reverse("exercise-photo-remove", args=[exercise.public_id]))
    exercise.refresh_from_db()
    assert exercise.photo is None
    assert services.empty_forgotten(ana.practice, timezone.now() + timedelta(days=29)) == 0
    journal.undo(JournalEntry.objects.latest("pk"), ana)
    exercise.refresh_from_db()
    assert exercise.photo == photo
    assert services.empty_forgotten(ana.practice, timezone.now() + timedelta(days=99)) == 0


@pytest.mark.django_db
def test_a_photo_that_nothing_shows_is_emptied_after_a_month(as_ana, ana):
    photo = PhotoFactory(practice=ana.practice)
    exercise = ExerciseFactory(practice=ana.practice, photo=photo)
    services.remove_photo(exercise, ana)
    assert services.empty_forgotten(ana.practice, timezone.now() + timedelta(days=31)) == 1
    assert bytes(Photo.objects.get().image) == b""
    assert as_ana.get(reverse("photo", args=[photo.public_id])).status_code == 404


@pytest.mark.django_db
def test_the_journal_never_holds_the_picture(as_ana, ana):
    exercise = ExerciseFactory(practice=ana.practice)
    address = reverse("exercise-photo", args=[exercise.public_id])
    as_ana.post(address, {"picture": upload(picture()), "shows": "Start"})
    as_ana.post(address, {"shows": "End"})
    kept = [row for entry in JournalEntry.objects.all() for row in entry.rows]
    assert len(kept) == 2
    assert not any("image" in (row["before"] or {}) or "image" in row["after"] for row in kept)


@pytest.mark.django_db
def test_another_practice_sees_no_photo(as_cleo, ana):
    exercise = ExerciseFactory(practice=ana.practice, photo=PhotoFactory(practice=ana.practice))
    assert as_cleo.get(reverse("photo", args=[exercise.photo.public_id])).status_code == 404
    assert as_cleo.get(reverse("exercise-photo", args=[exercise.public_id])).status_code == 404
