"""Words in a language that has no catalogue of ours: all of them in English, only numbers and dates in its own way."""

import re
from pathlib import Path

from django.conf import settings
from django.utils import translation
from django.utils.dates import WEEKDAYS
from django.utils.translation.trans_real import DjangoTranslation

from programs import labels
from programs.reasons.words import _and as last_word
from programs.reasons.words import in_text, listing

TEMPLATES = Path(settings.BASE_DIR) / "templates"
WITHOUT_CONTEXT = re.compile(r'{%\s*translate\s+"([^"]+)"(?![^%]*\bcontext\b)')


def test_no_page_takes_a_word_from_the_catalogue_of_the_framework():
    """A word that the framework knows too stands with its context, else a page is half in one language."""
    theirs = DjangoTranslation("de").gettext
    taken = {
        word
        for path in TEMPLATES.rglob("*.html")
        for word in WITHOUT_CONTEXT.findall(path.read_text())
        if theirs(word) != word
    }
    assert theirs("Remove") == "Entfernen" and taken == set()


def test_a_list_ends_with_one_word_in_the_language_of_its_sentence():
    with translation.override("de"):
        assert listing(["chest", "lats"], last_word()) == "chest and lats"


def test_a_word_without_a_translation_reads_as_english_within_a_sentence():
    with translation.override("de"):
        assert in_text(labels.GROUPS["upper_back"]) == "upper back"
        assert in_text(WEEKDAYS[0]) == "Montag"
