"""The font files that are cut from the packages: their names, their signs, and when they are made."""

import re
from xml.etree import ElementTree

import pytest
from fontTools.ttLib import TTFont

from coachdesk import fonts

EVERY_FACE = [*fonts.FACES, fonts.FORM_FACE]
FIGURES = "0123456789"
SIGNS_IN_USE = "×−½¼¾→≤≥✓–—·°±…“”‘’«»\u00a0\u2009\u202f\u2011"
CENTRAL_EUROPEAN = "áčďéěíňóřšťúůýžőűąćęłńśźżğışçöüßøæåñ"


@pytest.fixture(scope="module")
def built():
    return fonts.build()


@pytest.fixture
def two_faces(monkeypatch):
    """Cutting one face of each family is quicker, and enough to see when files are made."""
    monkeypatch.setattr(fonts, "FACES", (fonts.FACES[0], fonts.FACES[4]))


def read_face(built, face):
    return TTFont(built.pdf / f"{face.stem}.ttf")


@pytest.mark.parametrize("face", EVERY_FACE, ids=lambda face: face.full_name)
def test_figures_are_all_equally_wide(built, face):
    font = read_face(built, face)
    glyphs = font.getBestCmap()
    assert len({font["hmtx"][glyphs[ord(figure)]][0] for figure in FIGURES}) == 1


@pytest.mark.parametrize("face", EVERY_FACE, ids=lambda face: face.full_name)
def test_names_are_ours_and_the_reserved_name_is_not_among_them(built, face):
    names = {record.nameID: str(record) for record in read_face(built, face)["name"].names}
    assert names.get(16, names[1]) == face.family
    assert all("Source" not in text for name_id, text in names.items() if name_id != 0)
    assert "Adobe" in names[0], "the licence asks for the copyright line to stay"
    assert "Open Font License" in names[13]


@pytest.mark.parametrize("face", fonts.FACES, ids=lambda face: face.full_name)
def test_signs_and_letters_in_use_are_drawn(built, face):
    drawn = read_face(built, face).getBestCmap()
    wanted = SIGNS_IN_USE + CENTRAL_EUROPEAN + CENTRAL_EUROPEAN.upper()
    assert [sign for sign in wanted if len(sign) == 1 and ord(sign) not in drawn] == []


@pytest.mark.parametrize("script, letter", [("greek", "Ω"), ("cyrillic", "Ж")])
def test_other_scripts_are_files_of_their_own(built, script, letter):
    assert ord(letter) in TTFont(built.web / f"desk-sans-400-{script}.woff2").getBestCmap()
    assert ord(letter) not in TTFont(built.web / "desk-sans-400.woff2").getBestCmap()
    assert ord(letter) in TTFont(built.pdf / "desk-sans-400.ttf").getBestCmap()


def test_a_space_that_keeps_a_number_and_its_unit_together_is_narrow(built):
    for stem in ("desk-sans-400", "desk-serif-400"):
        font = TTFont(built.pdf / f"{stem}.ttf")
        glyphs, widths = font.getBestCmap(), font["hmtx"]
        assert 0 < widths[glyphs[0x202F]][0] < widths[glyphs[0x20]][0]


def test_form_fields_have_a_latin_1_face_without_features(built):
    font = read_face(built, fonts.FORM_FACE)
    assert max(code for code in font.getBestCmap() if code < 0x2000) <= 0xFF
    assert "GSUB" not in font and "GPOS" not in font


def test_every_web_file_is_small_and_named_by_the_stylesheet(built):
    css = (built.web / "fonts.css").read_text()
    on_disk = sorted(path.name for path in built.web.glob("*.woff2"))
    assert sorted(re.findall(r"url\('([^']+)'\)", css)) == on_disk
    assert all((built.web / name).stat().st_size < 25_000 for name in on_disk)
    assert set(re.findall(r"font-family: '([^']+)'", css)) == {"Desk Sans", "Desk Serif"}


def test_licences_lie_beside_the_files(built):
    for folder in (built.web, built.pdf):
        for name in ("OFL-desk-sans.txt", "OFL-desk-serif.txt"):
            assert "SIL OPEN FONT LICENSE" in (folder / name).read_text()


def test_fontconfig_names_our_folder_alone(built):
    folders = [node.text for node in ElementTree.parse(fonts.pdf_fontconfig()).getroot().iter("dir")]
    assert folders == [str(built.pdf)]


def test_a_second_build_makes_nothing(two_faces, tmp_path):
    assert fonts.build(tmp_path).fresh
    before = {path: path.stat().st_mtime_ns for path in fonts.build(tmp_path).files}
    again = fonts.build(tmp_path)
    assert not again.fresh
    assert {path: path.stat().st_mtime_ns for path in again.files} == before


def test_a_lost_file_is_made_again_and_is_the_same(two_faces, tmp_path):
    lost = fonts.build(tmp_path).pdf / "desk-sans-400.ttf"
    content = lost.read_bytes()
    lost.unlink()
    assert fonts.build(tmp_path).fresh
    assert lost.read_bytes() == content


def test_a_missing_package_is_said_in_one_sentence(monkeypatch, tmp_path):
    monkeypatch.setattr(fonts.importlib.util, "find_spec", lambda name: None)
    with pytest.raises(fonts.FontsUnavailable, match=r"font-source-sans-pro is missing: run pip install"):
        fonts.build(tmp_path)
