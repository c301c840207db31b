"""Sheets as PDF: legible, whole, tagged, small, the same from run to run, and rendered once."""

import re
from io import BytesIO
from types import SimpleNamespace

import pytest
from django.urls import reverse
from pypdf import PdfReader

from clients.sheets import pdf, printed, wording
from clients.sheets.fitting import Page, first_clause, fit_cues
from coachdesk import textlibraries
from tests.clients.sheets import EXECUTION, SET_UP, add_line, handed_out, session_for, six_exercises
from tests.factories import ExerciseFactory

needs_text_libraries = pytest.mark.skipif(not textlibraries.can_render(), reason="the text libraries are missing")
MOST_BYTES = 150_000
LEAST_PT = 10
PHONE_PT = (90 / 25.4 * 72, 180 / 25.4 * 72)
A4_PT = (210 / 25.4 * 72, 297 / 25.4 * 72)
MARGIN_PT = 4 / 25.4 * 72
FOOT_PT = 34  # nothing but the foot stands lower
LETTER_EM = 0.55  # a little wider than a figure, so that the gaps between words are in it
PX = 72 / 96


@pytest.fixture
def sheet(ben):
    return six_exercises(ben)


def read(version, layout="phone"):
    return PdfReader(pdf.file_for(version, layout))


def text_of(reader):
    return [re.sub(r"\s+", " ", page.extract_text().replace("\u00a0", " ")) for page in reader.pages]


def runs(page):
    """Every piece of text with the place it starts at and its size, in points from the lower left corner."""
    found = []

    def visit(text, matrix, text_matrix, font, size):
        if text.strip():
            drawn = matrix[:4] == [1, 0, 0, 1]  # inside a drawing: in its own pixels, from its own corner
            scale = PX if drawn else abs(matrix[3])
            x = text_matrix[4] * PX if drawn else text_matrix[4] * matrix[0] + matrix[4]
            y = 0 if drawn else text_matrix[5] * matrix[3] + matrix[5]
            size *= scale * abs(text_matrix[3])
            found.append(SimpleNamespace(text=text.strip(), x=x, y=y, size=size, drawn=drawn))

    page.extract_text(visitor_text=visit)
    return found


@needs_text_libraries
def test_six_exercises_take_seven_phone_pages_overview_first(sheet):
    pages = text_of(read(sheet))
    assert len(pages) == 7
    names = [line["exercise"]["name"] for line in sheet.document["lines"]]
    places = [pages[0].index(name.split()[0]) for name in names]
    assert places == sorted(places)
    for number, name in enumerate(names, start=1):
        assert f"{number} of 6" in pages[number]
        assert name in pages[number]
    for page, text in enumerate(pages, start=1):
        assert f"page {page} of 7" in text
        assert "version 1" in text
        assert "Ben Q." in text


@needs_text_libraries
def test_a_technique_note_of_full_length_leaves_an_exercise_on_its_page(ben):
    sheet = six_exercises(ben)
    note = "Lower for three seconds, stop where the muscle is longest, then push without a jerk. " * 2
    sheet.session.prescriptions.update(technique=note[:160])
    reissued = handed_out(sheet.session)
    pages = text_of(read(reissued))
    assert len(pages) == 7
    assert all("Technique Lower for three seconds" in page for page in pages[1:])
    assert "Technique" not in pages[0]
    assert " ".join(text_of(read(reissued, "paper"))).count("Technique Lower") == 6


@needs_text_libraries
def test_a_page_reads_in_the_order_of_use(sheet):
    squat = text_of(read(sheet))[1]
    order = ["Barbell back squat", "Sets", "75 kg", "Per side", "aim", "Set up", "Do", "Always with safety"]
    places = [squat.index(words) for words in order]
    assert places == sorted(places)
    overview = text_of(read(sheet))[0]
    order = ["Lower A", "Exercise", "Before you start", "Stop and tell someone", "get help", "Send it back"]
    places = [overview.index(words) for words in order]
    assert places == sorted(places)


@needs_text_libraries
@pytest.mark.parametrize(("layout", "size"), [("phone", PHONE_PT), ("paper", A4_PT)])
def test_pages_have_their_size_and_nothing_lies_outside(sheet, layout, size):
    for page in read(sheet, layout).pages:
        assert [float(page.mediabox.width), float(page.mediabox.height)] == pytest.approx(size, abs=1)
        for run in runs(page):
            if run.drawn:
                assert 0 <= run.x < size[0] - 2 * MARGIN_PT, run
            else:
                assert MARGIN_PT <= run.x <= size[0] - MARGIN_PT, run
                assert 0 < run.y < size[1] - 4, run


@needs_text_libraries
def test_the_foot_of_many_pages_stays_in_one_line_and_within_its_frame(ben):
    session = session_for(ben, name="Full body A")
    for _ in range(12):
        add_line(session)
    pages = read(handed_out(session)).pages
    assert len(pages) > 9
    for page in pages[9:]:
        foot = [run for run in runs(page) if not run.drawn and run.y < FOOT_PT]
        assert "Full body A" in [run.text for run in foot]
        assert len({round(run.y) for run in foot}) == 1
        last = max(foot, key=lambda run: run.x)
        assert last.x + len(last.text.replace(" ", "")) * LETTER_EM * last.size < PHONE_PT[0] - MARGIN_PT


@needs_text_libraries
def test_no_text_on_a_phone_page_is_smaller_than_ten_points(sheet):
    sizes = [run.size for page in read(sheet).pages for run in runs(page)]
    assert len(sizes) > 100
    assert min(sizes) >= LEAST_PT - 0.05


@needs_text_libraries
def test_large_print_is_larger_and_still_whole(ben):
    ben.large_print = True
    ben.save()
    sheet = six_exercises(ben)
    reader = read(sheet)
    sizes = sorted(run.size for page in reader.pages for run in runs(page))
    assert sizes[len(sizes) // 2] >= 12
    text = "".join(text_of(reader)).replace(" ", "")
    assert all(line["exercise"]["name"].replace(" ", "") in text for line in sheet.document["lines"])


@needs_text_libraries
@pytest.mark.parametrize("layout", pdf.LAYOUTS)
def test_fonts_are_embedded_and_the_file_is_tagged_small_and_named(sheet, layout):
    path = pdf.file_for(sheet, layout)
    assert path.stat().st_size < MOST_BYTES
    reader = PdfReader(path)
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata.title.startswith("Lower A, Ben Q.")
    assert b"pdfuaid:part" in root["/Metadata"].get_data()
    fonts = {}
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            descendant = font.get_object()["/DescendantFonts"][0].get_object()
            fonts[str(descendant["/BaseFont"])] = "/FontFile2" in descendant["/FontDescriptor"].get_object()
    assert fonts
    assert all(fonts.values())
    assert all("Desk" in name for name in fonts)


@needs_text_libraries
def test_every_figure_has_words_for_those_who_cannot_see_it(sheet, settings):
    settings.PUBLIC_URL = "https://desk.example.org"
    structure = read(sheet).trailer["/Root"]["/StructTreeRoot"]
    figures = []

    def walk(element):
        element = element.get_object() if hasattr(element, "get_object") else element
        if isinstance(element, list):
            for one in element:
                walk(one)
        elif isinstance(element, dict):
            if element.get("/S") == "/Figure":
                figures.append(str(element.get("/Alt", "")))
            if "/K" in element:
                walk(element["/K"])

    walk(structure["/K"])
    assert len(figures) >= 7 + 2
    assert all(figures)
    assert any("Body map" in words for words in figures)
    assert any("Code that opens this sheet" in words for words in figures)


@needs_text_libraries
def test_the_same_document_gives_the_same_bytes(sheet):
    html = pdf.html_for(sheet, "phone")
    assert pdf.to_pdf(html) == pdf.to_pdf(html)


@needs_text_libraries
def test_files_are_rendered_once_and_found_again(sheet, monkeypatch):
    assert pdf.render_all(sheet) == len(pdf.LAYOUTS)
    monkeypatch.setattr(pdf, "to_pdf", lambda html: pytest.fail("rendered again"))
    assert pdf.render_all(sheet) == 0
    assert pdf.file_for(sheet, "phone").is_file()
    assert not list(pdf.path_for(sheet, "phone").parent.glob("*.part"))


def test_a_file_is_named_by_all_that_decides_it(sheet, settings, monkeypatch):
    first = pdf.path_for(sheet, "phone")
    assert pdf.path_for(sheet, "paper") != first
    sheet.digest = "0" * 64
    assert pdf.path_for(sheet, "phone") != first
    sheet.refresh_from_db()
    assert pdf.path_for(sheet, "phone") == first
    monkeypatch.setattr(pdf, "design_digest", lambda: "another design")
    assert pdf.path_for(sheet, "phone") != first


@needs_text_libraries
def test_nothing_that_was_typed_is_fetched(ben, caplog):
    exercise = ExerciseFactory(practice=ben.practice, name='Press <img src="file:///etc/passwd">')
    session = session_for(ben)
    add_line(session, exercise, reason='<img src="http://127.0.0.1:9/x.png">')
    text = "".join(text_of(read(handed_out(session)))).replace(" ", "")
    assert 'src="file:///etc/passwd"' in text  # as letters
    assert 'src="http://127.0.0.1:9/x.png"' in text
    assert "Failed to load" not in caplog.text


@needs_text_libraries
def test_a_sheet_speaks_the_clients_language(ben):
    ben.language = "de"
    ben.save()
    session = session_for(ben)
    add_line(session, load=("77.5", "kg"))
    reader = read(handed_out(session))
    assert reader.trailer["/Root"]["/Lang"] == "de"
    assert "77,5 kg" in " ".join(text_of(reader))


@needs_text_libraries
def test_the_code_is_there_only_where_phones_reach_it(sheet, settings):
    assert "Scan the code" not in text_of(read(sheet))[0]
    settings.PUBLIC_URL = "https://desk.example.org"
    assert "Scan the code" in text_of(read(sheet))[0]
    assert pdf.sheet_address(sheet).startswith("https://desk.example.org/s/")


@needs_text_libraries
def test_free_lines_stand_in_the_overview_with_a_box(ben):
    session = session_for(ben)
    add_line(session)
    session.prescriptions.create(position=5, text="Ten minutes of easy cycling", minutes=10)
    pages = text_of(read(handed_out(session)))
    assert len(pages) == 2
    assert "Ten minutes of easy cycling" in pages[0]


@needs_text_libraries
def test_many_sets_go_on_a_second_page_rather_than_shrink(ben):
    session = session_for(ben)
    add_line(session, sets=14)
    reader = read(handed_out(session))
    assert len(reader.pages) == 3
    assert min(run.size for page in reader.pages for run in runs(page)) >= LEAST_PT - 0.05


def test_cues_shorten_before_anything_else_does():
    page = Page(81, 164, 10)
    whole = fit_cues(SET_UP, EXECUTION, page, 200)
    assert (whole.set_up, whole.execution, whole.shortened) == (tuple(SET_UP), tuple(EXECUTION), False)
    tight = fit_cues(SET_UP, EXECUTION, page, 30)
    assert tight.shortened
    assert tight.set_up[0] == "Set the bar at breastbone height."
    assert len(tight.set_up) < len(SET_UP)
    # Where not even one step fits, all go on a second page, whole.
    assert fit_cues(SET_UP, EXECUTION, page, 5) == whole


@pytest.mark.parametrize(
    ("cue", "short"),
    [
        ("Set the bar at breastbone height and the safety arms low.", "Set the bar at breastbone height."),
        ("Breathe in, tighten the waist and bend the knees.", "Breathe in, tighten the waist."),
        ("Pause.", "Pause."),
        ("Take two short steps back; feet apart.", "Take two short steps back."),
    ],
)
def test_a_step_is_cut_only_where_something_whole_is_left(cue, short):
    assert first_clause(cue) == short


def test_words_of_a_sheet(sheet):
    squat, _deadlift, split, _press, curl, plank = sheet.document["lines"]
    assert wording.loads_words(squat) == "75\u00a0kg"
    assert wording.loads_words(split) == "2\u00a0×\u00a014\u00a0kg"
    assert wording.loads_words(curl) == "load to be found"
    assert wording.loads_words(plank) == ""
    assert wording.sets_words(plank) == "3\u00a0×\u00a045\u00a0s"
    assert wording.aim_words(squat, squat["sets"][0]) == "75 ×\u00a06–8"
    assert wording.aim_parts(squat, squat["sets"][0]) == ("75", "×\u00a06–8")
    assert wording.aim_parts(plank, plank["sets"][0]) == ("", "45\u00a0s")
    assert wording.tempo_words("3110") == "3-1-1"
    assert wording.tempo_words("31X1") == "3-1-X-1"


class TestDownloads:
    @needs_text_libraries
    def test_the_client_and_the_coach_get_the_same_file(self, as_ben, as_ana, ben, sheet):
        mine = as_ben.get(reverse("sheet-pdf", args=[sheet.public_id, "phone"]))
        theirs = as_ana.get(reverse("client-sheet-pdf", args=[ben.public_id, sheet.public_id, "phone"]))
        assert mine["Content-Type"] == "application/pdf"
        assert 'filename="ben-q-lower-a' in mine["Content-Disposition"]
        assert b"".join(mine.streaming_content) == b"".join(theirs.streaming_content)

    @needs_text_libraries
    def test_an_unchanged_file_is_not_sent_again(self, as_ben, sheet):
        address = reverse("sheet-pdf", args=[sheet.public_id, "phone"])
        first = as_ben.get(address)
        assert list(first.streaming_content)
        second = as_ben.get(address, headers={"if-none-match": first["ETag"]})
        assert second.status_code == 304
        assert second.content == b""

    def test_another_layout_or_practice_is_not_found(self, as_ben, as_cleo, ben, sheet):
        assert as_ben.get(reverse("sheet-pdf", args=[sheet.public_id, "poster"])).status_code == 404
        address = reverse("client-sheet-pdf", args=[ben.public_id, sheet.public_id, "phone"])
        assert as_cleo.get(address).status_code == 404

    def test_missing_libraries_are_named_to_the_coach(self, as_ana, as_ben, ben, sheet, monkeypatch):
        monkeypatch.setattr(textlibraries, "can_render", lambda: False)
        monkeypatch.setattr(textlibraries, "missing", lambda: ["Pango"])
        monkeypatch.setattr(textlibraries, "install_line", lambda: "apt install libpango-1.0-0")
        assert pdf.render_all(sheet) == 0
        response = as_ana.get(reverse("client-sheet-pdf", args=[ben.public_id, sheet.public_id, "phone"]))
        assert response.status_code == 503
        html = response.content.decode()
        assert "Pango" in html
        assert "apt install libpango-1.0-0" in html
        response = as_ben.get(reverse("sheet-pdf", args=[sheet.public_id, "phone"]))
        assert response.status_code == 503
        assert "Ask Ana" in response.content.decode()


def test_the_code_is_a_drawing_with_a_name():
    drawn = str(pdf.code_for("https://desk.example.org/s/abc/"))
    assert drawn.startswith("<svg")
    assert "<title>Code that opens this sheet</title>" in drawn
    assert BytesIO(drawn.encode()).read(4) == b"<svg"


def drawn_sheet(ben):
    session = session_for(ben)
    add_line(session)
    return handed_out(session)


@pytest.mark.parametrize("layout", pdf.LAYOUTS)
def test_an_exercises_start_and_end_stand_on_both_layouts_in_black(ben, layout):
    html = pdf.html_for(drawn_sheet(ben), layout)

    assert html.count("exercise-figure") == 1
    assert "<title>Barbell back squat: start and end</title>" in html
    assert "var(" not in html[html.index("exercise-figure") :]


@pytest.mark.parametrize("layout", pdf.LAYOUTS)
def test_a_sheet_of_before_there_were_drawings_still_prints(ben, layout):
    version = drawn_sheet(ben)
    exercise = version.document["lines"][0]["exercise"]
    assert exercise.pop("figure") == "barbell-back-squat"

    assert "exercise-figure" not in pdf.html_for(version, layout)


@pytest.mark.parametrize("finds_load", [False, True])
@pytest.mark.parametrize("sets", [2, 5, 8])
@pytest.mark.parametrize("steps", [1, 2, 3])
def test_a_drawing_takes_no_room_from_the_last_two_cues(ben, sets, steps, finds_load):
    session = session_for(ben)
    load = {"load": None, "finds_load": True} if finds_load else {}
    line = add_line(session, sets=sets, **load)
    words = {"set_up": SET_UP * steps, "execution": EXECUTION * steps, "cautions": " ".join(EXECUTION * steps)}
    line.exercise.texts.update(**words)
    document = handed_out(session).document
    with_it = printed.context(document, 1, "phone")["lines"][0]
    del document["lines"][0]["exercise"]["figure"]
    without = printed.context(document, 1, "phone")["lines"][0]

    assert without["poses"] is None
    for name in ("set_up", "execution"):
        kept, possible = getattr(with_it["cues"], name), getattr(without["cues"], name)
        assert len(kept) >= min(2, len(possible))
    if with_it["poses"] is None:
        assert with_it["cues"] == without["cues"]
    if (sets, steps) == (2, 1):
        assert with_it["poses"].beside is not finds_load
