"""The compose journey in the coach's browser: from the list to the board, its edits, and the block."""

import re
from html.parser import HTMLParser

import pytest
from django.test import Client as Browser
from django.urls import reverse

from clients.models import Block, Draft
from clients.reads.composing import draft_inputs, picks_of
from clients.services import blocks, drafts
from programs import labels
from programs.engine.compose import alternatives
from programs.services.outline_work import open_copy, save_version
from tests.clients.weeks import draft_for, pick, small_week
from tests.factories import MONDAY, BlockFactory, ClientFactory, LimitFactory, PlaceFactory

pytestmark = pytest.mark.django_db
HTMX = {"HTTP_HX_REQUEST": "true"}


class Forms(HTMLParser):
    """Every form of a page: its action, and the fields that it would send without a button."""

    def __init__(self, html):
        super().__init__()
        self.forms = []
        self.inside = None
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "form":
            self.inside = {"action": given.get("action", ""), "fields": {}, "buttons": []}
            self.forms.append(self.inside)
        elif self.inside is not None and tag == "input" and given.get("name"):
            self.inside["fields"][given["name"]] = given.get("value", "")
        elif self.inside is not None and tag == "button" and given.get("name"):
            self.inside["buttons"].append((given["name"], given.get("value", "")))

    def handle_endtag(self, tag):
        if tag == "form":
            self.inside = None

    def to(self, address):
        return [form for form in self.forms if form["action"] == address]


@pytest.fixture
def draft(ana, ben, week):
    return draft_for(ben, ana, week)[0]


def url(name, draft):
    return reverse(name, args=[draft.public_id])


def text(response):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def toast_undo(html):
    """Where the toast's undo is sent."""
    toast = html[html.index('class="toast"') :]
    return re.search(r'action="([^"]+)"', toast).group(1).replace("&amp;", "&")


def best_way(draft, slot, occurrence):
    inputs = draft_inputs(draft)
    ranked = alternatives(inputs.request, picks_of(draft.document), slot, occurrence).ranked
    return next(way for way in ranked if way.swaps_with is None)


def unsettled(draft):
    """The draft with sets that nobody pinned and that composing again would not leave."""
    pick(draft, "press", 0)["sets"] = 6
    draft.save()


def starting(week, **changes):
    return {
        "outline": week.outline.pk,
        "place": week.place.pk,
        "starts_on": "2026-03-02",
        "weeks": 6,
        "deload_weeks": "6",
        **changes,
    }


# The list and the start


def test_the_list_says_who_needs_what(as_ana, ana, ben, draft):
    none = ClientFactory(practice=ana.practice, coach=ana, name="Nora None")
    ending = ClientFactory(practice=ana.practice, coach=ana, name="Enno End")
    BlockFactory(client=ending, starts_on=MONDAY, weeks=2)
    response = as_ana.get(reverse("compose"))
    assert response.status_code == 200
    shown = text(response)
    assert "1 open draft, 1 client without a block, 1 block ending." in shown
    assert "block 1 ended on 15 Mar" in re.sub(r"block \d+", "block 1", shown)
    assert reverse("draft", args=[draft.public_id]) in response.content.decode()
    assert reverse("compose-start", args=[none.public_id]) in response.content.decode()


def test_an_empty_list_says_what_to_do_next(as_cleo):
    assert "Take the first one in" in text(as_cleo.get(reverse("compose")))


@pytest.mark.parametrize("clients", [1, 30])
def test_the_list_costs_the_same_however_many(as_ana, ana, clients, django_assert_num_queries):
    people = ClientFactory.create_batch(clients, practice=ana.practice, coach=ana)
    week = small_week(people[0], slots=1)
    for client in people:
        draft_for(client, ana, week)
    ClientFactory.create_batch(clients, practice=ana.practice, coach=ana)
    with django_assert_num_queries(5):  # http session, coach, clients, drafts, blocks
        response = as_ana.get(reverse("compose"))
    assert text(response).count("Go on") >= clients


def test_composing_anew_starts_from_the_newest_version_of_the_clients_template(as_ana, ana, ben, week):
    ben.outline = week.outline
    ben.save()
    saved, _entry = save_version(open_copy(ben.outline, ana), 1, ana)
    text = as_ana.get(reverse("compose-start", args=[ben.public_id])).text
    assert f'<option value="{saved.pk}" selected>' in text
    ben.refresh_from_db()
    assert ben.outline != saved


def test_starting_composes_and_opens_the_board(as_ana, ben, week):
    page = as_ana.get(reverse("compose-start", args=[ben.public_id]))
    assert page.status_code == 200 and "Not cleared yet" in text(page)
    response = as_ana.post(reverse("compose-start", args=[ben.public_id]), starting(week))
    draft = Draft.objects.get(client=ben)
    assert response.url == url("draft", draft)
    assert (draft.weeks, draft.deload_weeks, draft.starts_on) == (6, [6], MONDAY)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"weeks": "0"}, "Write 1 or more."),
        ({"weeks": "six"}, "Weeks are a whole number, 1 to 26."),
        ({"deload_weeks": "7"}, "Easier weeks lie between 1 and 6."),
        ({"deload_weeks": "four"}, "Write week numbers with a comma between them, such as 4, 8."),
        ({"starts_on": "soon"}, "Write the date as 2026-03-31."),
        ({"outline": "999999"}, "Choose a template from the list."),
        ({"place": ""}, "Fill this in."),
    ],
)
def test_bad_input_is_told_beside_its_field_and_nothing_typed_is_lost(as_ana, ben, week, changes, said):
    response = as_ana.post(reverse("compose-start", args=[ben.public_id]), starting(week, **changes))
    assert response.status_code == 422
    assert said in text(response)
    name, typed = next(iter(changes.items()))
    if name in ("weeks", "deload_weeks", "starts_on"):
        assert f'value="{typed}"' in response.content.decode()
    assert not Draft.objects.exists()


def test_places_of_other_clients_and_practices_are_not_offered(as_ana, ana, ben, week, cleo):
    other = ClientFactory(practice=ana.practice, coach=ana)
    theirs = PlaceFactory(practice=ana.practice, name="Their kitchen", owner=other)
    foreign = PlaceFactory(practice=cleo.practice, name="Foreign room")
    page = text(as_ana.get(reverse("compose-start", args=[ben.public_id])))
    assert "Loft" in page and "Their kitchen" not in page and "Foreign room" not in page
    for place in (theirs, foreign):
        address = reverse("compose-start", args=[ben.public_id])
        assert as_ana.post(address, starting(week, place=place.pk)).status_code == 422


# The board


def test_the_board_shows_the_week_its_dose_and_its_minutes(as_ana, ben, draft):
    response = as_ana.get(url("draft", draft))
    shown = text(response)
    for slot in ("press", "row", "squat"):
        for occurrence in (0, 1):
            key = pick(draft, slot, occurrence)["exercise"]
            assert draft_inputs(draft).library[key].name in shown
    assert shown.count("in range") + shown.count("under") + shown.count("over") >= 12
    assert "18 working sets" in shown or "working sets" in shown
    assert "Monday · " in shown and "Thursday · " in shown
    assert "Nothing of this kind in the week: vertical pull" in shown
    assert "Ben Quay" in shown and "1, unsent" in shown
    assert response.content.decode().count('class="drawing recovery-gaps"') == 2


def test_a_body_map_stands_by_the_dose_and_tells_what_is_trained_directly_by_share_and_not_at_all(as_ana, draft):
    html = as_ana.get(url("draft", draft)).content.decode()
    drawn = re.search(r"<title>Body map. Trained directly: (.+?)[.] By share only: (.+?)[.]</title>", html)
    missed = re.search(r"No set reaches: (.+?)[.]", html)
    directly, by_share, not_at_all = (set(words.split("; ")) for words in (*drawn.groups(), missed[1]))

    every = {str(name) for name in labels.REGIONS.values()}
    assert sum(map(len, (directly, by_share, not_at_all))) == len(every)
    assert {name.lower() for name in directly | by_share | not_at_all} == {name.lower() for name in every}


def test_who_is_not_cleared_may_be_composed_for_and_the_board_says_so(as_ana, ana, draft):
    assert "The health questions have not been answered yet" in text(as_ana.get(url("draft", draft)))
    ana.sees_health = False
    ana.save()
    shown = text(as_ana.get(url("draft", draft)))
    assert "Not cleared yet" in shown and "health questions" not in shown


def test_an_opened_pick_tells_why_and_what_else_would_do(as_ana, draft):
    response = as_ana.get(url("draft", draft), {"open": "press:0"})
    shown = text(response)
    assert "Full body A, slot 1" in shown
    assert "Counts 1 for chest, ½ for shoulders and triceps." in shown
    form = Forms(response.content.decode()).to(url("draft-swap", draft))[0]
    offered = [value for name, value in form["buttons"] if name == "exercise"]
    assert len(offered) == 3
    assert pick(draft, "press", 0)["exercise"] not in offered


def test_what_is_left_out_says_why(as_ana, ben, draft, week):
    week.exercises["press 3"].joints.create(joint="shoulder_overhead", severity=2)
    LimitFactory(client=ben)
    shown = text(as_ana.get(url("draft", draft), {"open": "press:0"}))
    assert "press 3 It loads what is to be spared: shoulder, overhead." in shown


def test_an_empty_slot_says_what_would_free_it(as_ana, ana, ben):
    ben.minutes = 15
    ben.save()
    draft, _week = draft_for(ben, ana)
    shown = text(as_ana.get(url("draft", draft)))
    assert "Empty. With it the session would run" in shown
    assert "Would free it:" in shown and "minutes more for the session" in shown


@pytest.mark.parametrize("asked", ["nothing:0", "press:9", "press", "press:x", ":1", "press:-1"])
def test_an_address_that_opens_nothing_shows_the_board(as_ana, draft, asked):
    response = as_ana.get(url("draft", draft), {"open": asked, "day": asked})
    assert response.status_code == 200 and 'id="pick"' not in response.content.decode()


def test_names_that_a_coach_typed_are_escaped(as_ana, draft, week):
    row = next(row for row in week.exercises.values() if row.key == pick(draft, "press", 0)["exercise"])
    row.name = "<b>press</b>"
    row.save()
    html = as_ana.get(url("draft", draft), {"open": "press:0"}).content.decode()
    assert "<b>press</b>" not in html and "&lt;b&gt;press" in html


@pytest.mark.parametrize("slots", [1, 8])
def test_the_board_costs_the_same_however_full(as_ana, ana, ben, slots, django_assert_num_queries):
    ben.minutes = 180
    ben.save()
    draft, _week = draft_for(ben, ana, small_week(ben, slots=slots))
    with django_assert_num_queries(QUERIES_OF_THE_BOARD):
        as_ana.get(url("draft", draft), {"open": "press:0"})


QUERIES_OF_THE_BOARD = 36


# Edits


def test_a_swap_without_script_goes_back_to_the_opened_pick(as_ana, draft):
    way = best_way(draft, "press", 0)
    response = as_ana.post(
        url("draft-swap", draft),
        {"revision": 1, "slot": "press", "occurrence": 0, "exercise": way.exercise, "open": "press:0", "day": "full:0"},
    )
    assert response.url == f"{url('draft', draft)}?open=press%3A0&day=full%3A0#pick"
    draft.refresh_from_db()
    assert (draft.revision, pick(draft, "press", 0)["exercise"]) == (2, way.exercise)
    shown = text(as_ana.get(response.url))
    assert "in place of" in shown and "Undo" in shown


def test_a_swap_with_script_answers_with_the_board_and_its_toast(as_ana, draft):
    way = best_way(draft, "press", 0)
    data = {"revision": 1, "slot": "press", "occurrence": 0, "exercise": way.exercise, "open": "press:0"}
    response = as_ana.post(url("draft-swap", draft), data, **HTMX)
    html = response.content.decode()
    assert response.status_code == 200 and "<html" not in html
    assert 'data-revision="2"' in html and 'hx-swap-oob="innerHTML:#toasts"' in html
    assert f"{url('draft-undo', draft)}?" in html


@pytest.mark.parametrize(
    ("name", "data", "check"),
    [
        ("draft-sets", {"slot": "press", "occurrence": 0, "sets": 5}, lambda d: pick(d, "press", 0)["sets"] == 5),
        ("draft-pin", {"slot": "row", "occurrence": 1, "act": "pin"}, lambda d: pick(d, "row", 1)["pinned"]),
        ("draft-pin", {"slot": "row", "occurrence": 1}, lambda d: pick(d, "row", 1)["pinned_sets"]),
        ("draft-move", {"day": "full", "slot": "row", "by": "-1"}, lambda d: d.document["order"]["full"][0] == "row"),
        ("draft-day", {"day": "full", "occurrence": 0, "on": 5}, lambda d: d.document["days"][1]["weekday"] == 5),
    ],
)
def test_every_button_of_the_board_does_its_work(as_ana, draft, name, data, check):
    response = as_ana.post(url(name, draft), {"revision": 1, **data})
    assert response.status_code == 302
    draft.refresh_from_db()
    assert draft.revision == 2 and check(draft)


def test_left_out_and_put_back(as_ana, draft):
    place = {"slot": "press", "occurrence": 0, "open": "press:0"}
    as_ana.post(url("draft-sets", draft), {"revision": 1, "sets": 0, **place})
    shown = text(as_ana.get(url("draft", draft), {"open": "press:0"}))
    assert "left out by you" in shown and "Put back" in shown
    as_ana.post(url("draft-pin", draft), {"revision": 2, "act": "back", **place})
    draft.refresh_from_db()
    assert pick(draft, "press", 0)["sets"] >= 3


def test_the_pin_key_releases_what_is_pinned(as_ana, draft):
    for revision, pinned in ((1, True), (2, False)):
        as_ana.post(url("draft-pin", draft), {"revision": revision, "slot": "row", "occurrence": 0})
        draft.refresh_from_db()
        assert pick(draft, "row", 0)["pinned"] is pinned


def test_what_the_client_must_spare_is_refused_with_the_reason(as_ana, ben, draft, week):
    hard = week.exercises["press 3"]
    hard.joints.create(joint="shoulder_overhead", severity=2)
    LimitFactory(client=ben)
    data = {"revision": 1, "slot": "press", "occurrence": 0, "exercise": hard.key}
    response = as_ana.post(url("draft-swap", draft), data, **HTMX)
    assert response.status_code == 422
    assert "It loads what is to be spared: shoulder, overhead." in text(response)
    draft.refresh_from_db()
    assert draft.revision == 1


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("draft-sets", {"slot": "press", "occurrence": 0, "sets": 99}),
        ("draft-sets", {"slot": "press", "occurrence": "x", "sets": 3}),
        ("draft-swap", {"slot": "press", "occurrence": 0, "exercise": "bench"}),
        ("draft-move", {"day": "full", "slot": "row", "by": "7"}),
        ("draft-day", {"day": "full", "occurrence": 0, "on": 7}),
        ("draft-pin", {"slot": "press", "occurrence": 0, "act": "glue"}),
        ("draft-undo", {"revision": "first"}),
        ("draft-assign", {"revision": ""}),
    ],
)
def test_nonsense_is_refused_and_changes_nothing(as_ana, draft, name, data):
    before = draft.document
    assert as_ana.post(url(name, draft), {"revision": 1, **data}).status_code == 422
    draft.refresh_from_db()
    assert (draft.revision, draft.document, draft.state) == (1, before, "open")


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("draft-sets", {"slot": "other", "occurrence": 0, "sets": 3}),
        ("draft-sets", {"slot": "press", "occurrence": 2, "sets": 3}),
        ("draft-move", {"day": "full", "slot": "other", "by": 1}),
        ("draft-day", {"day": "other", "occurrence": 0, "on": 1}),
    ],
)
def test_places_that_the_draft_does_not_have_are_not_found(as_ana, draft, name, data):
    assert as_ana.post(url(name, draft), {"revision": 1, **data}).status_code == 404


def test_undo_and_redo(as_ana, draft):
    drafts.set_sets(draft, 1, draft.client.coach, "press", 0, 5)
    assert as_ana.post(url("draft-undo", draft), {"revision": 2}).status_code == 302
    draft.refresh_from_db()
    assert draft.revision == 3 and pick(draft, "press", 0)["sets"] != 5
    response = as_ana.post(url("draft-redo", draft), {"revision": 3}, **HTMX)
    draft.refresh_from_db()
    assert draft.revision == 4 and pick(draft, "press", 0)["sets"] == 5
    assert "Done again." in text(response)
    assert "There is nothing to do again." in text(as_ana.post(url("draft-redo", draft), {"revision": 4}, **HTMX))


def test_the_toast_s_undo_names_its_revision(as_ana, draft):
    response = as_ana.post(
        url("draft-sets", draft), {"revision": 1, "slot": "press", "occurrence": 0, "sets": 5}, **HTMX
    )
    address = toast_undo(response.content.decode())
    assert "revision=2" in address
    assert as_ana.post(address).status_code == 302
    draft.refresh_from_db()
    assert pick(draft, "press", 0)["sets"] != 5


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_a_stale_edit_answers_409_with_what_changed_and_the_board(as_ana, ana, draft, headers):
    drafts.set_sets(draft, 1, ana, "row", 1, 6)
    data = {"revision": 1, "slot": "press", "occurrence": 0, "sets": 5}
    response = as_ana.post(url("draft-sets", draft), data, **headers)
    assert response.status_code == 409
    shown = text(response)
    assert "Somebody changed this draft in the meantime" in shown
    assert re.search(r"Full body B: row \d goes from \d\s+sets to 6\s+sets\.", shown)
    assert 'data-revision="2"' in response.content.decode()
    draft.refresh_from_db()
    assert pick(draft, "press", 0)["sets"] != 5


@pytest.mark.parametrize("name", ["draft-undo", "draft-redo", "draft-assign", "draft-recompose"])
def test_every_act_on_a_stale_board_is_refused(as_ana, ana, draft, name):
    drafts.set_sets(draft, 1, ana, "row", 1, 6)
    assert as_ana.post(url(name, draft), {"revision": 1, "digest": "0"}).status_code == 409
    draft.refresh_from_db()
    assert (draft.revision, draft.state) == (2, Draft.State.OPEN)


# Composing again


def test_composing_again_shows_what_would_change_before_it_does(as_ana, ana, draft):
    unsettled(draft)
    page = as_ana.get(url("draft-recompose", draft))
    assert re.search(r"press \d goes from 6\s+sets to \d", text(page))
    assert "The best week by your rules." in text(page) and "the new week" in text(page)
    draft.refresh_from_db()
    assert pick(draft, "press", 0)["sets"] == 6
    form = Forms(page.content.decode()).to(url("draft-recompose", draft))[0]
    assert as_ana.post(url("draft-recompose", draft), form["fields"]).url == url("draft", draft)
    draft.refresh_from_db()
    assert pick(draft, "press", 0)["sets"] != 6


def test_another_result_than_the_preview_s_is_shown_first(as_ana, ana, ben, draft):
    unsettled(draft)
    fields = Forms(as_ana.get(url("draft-recompose", draft)).content.decode()).to(url("draft-recompose", draft))[0]
    ben.minutes = 25
    ben.save()
    response = as_ana.post(url("draft-recompose", draft), fields["fields"])
    assert response.status_code == 409 and "changed in between" in text(response)
    draft.refresh_from_db()
    assert draft.revision == 1


def test_when_nothing_would_change_it_says_so(as_ana, draft):
    assert "would change nothing" in text(as_ana.get(url("draft-recompose", draft)))


# Assigning, and the block's pages


def test_assigning_goes_on_to_the_block(as_ana, ben, draft):
    response = as_ana.post(url("draft-assign", draft), {"revision": 1})
    assert response.url == reverse("client-block", args=[ben.public_id])
    shown = text(as_ana.get(response.url))
    assert "Block 1" in shown and "assigned: 4 weeks of sessions" in shown
    assert "Full body A" in shown and "Mon 2 Mar" in shown and "Thu 26 Mar" in shown and "easier week" in shown
    assert as_ana.get(url("draft", draft)).url == response.url


def test_the_toast_takes_the_assignment_back(as_ana, ben, draft):
    html = as_ana.post(url("draft-assign", draft), {"revision": 1}, follow=True).content.decode()
    address = toast_undo(html)
    assert as_ana.post(address).status_code == 302
    assert not Block.objects.exists()
    assert as_ana.get(url("draft", draft)).status_code == 200


def test_a_dropped_draft_leads_to_the_open_one(as_ana, ana, ben, draft, week):
    newer, _week = draft_for(ben, ana, week)
    assert as_ana.get(url("draft", draft)).url == url("draft", newer)
    response = as_ana.post(url("draft-sets", draft), {"revision": 1, "slot": "press", "occurrence": 0, "sets": 4})
    assert response.url == url("draft", newer)
    answer = as_ana.post(url("draft-undo", draft), {"revision": 1}, **HTMX)
    assert answer["HX-Redirect"] == url("draft", newer)


def test_without_a_block_the_page_says_what_to_do(as_ana, ben):
    assert "No block yet." in text(as_ana.get(reverse("client-block", args=[ben.public_id])))
    assert "no running block" in text(as_ana.get(reverse("client-calendar", args=[ben.public_id])))


def test_a_session_s_page_lists_its_lines(as_ana, ana, draft):
    block = blocks.assign_block(draft, 1, ana)
    session = block.sessions.get(cycle=2, position=0)
    shown = text(as_ana.get(reverse("session", args=[session.public_id])))
    for slot in ("Press", "Row", "Squat"):
        assert slot in shown
    assert re.search(r"\d\s×\s6–8", shown) and "2:30" in shown


def test_a_session_moves_from_the_calendar_and_back(as_ana, ana, ben, draft):
    session = blocks.assign_block(draft, 1, ana).sessions.first()
    calendar = reverse("client-calendar", args=[ben.public_id])
    assert "Week of 2 March" in text(as_ana.get(calendar))
    data = {"planned_on": "2026-03-05", "next": calendar}
    assert as_ana.post(reverse("session-move", args=[session.public_id]), data).url == calendar
    page = as_ana.get(calendar)
    assert "Full body A moved to Thu 5 Mar." in text(page)
    as_ana.post(toast_undo(page.content.decode()))
    session.refresh_from_db()
    assert session.planned_on == MONDAY


def test_a_bad_date_is_told_and_kept(as_ana, ana, draft):
    session = blocks.assign_block(draft, 1, ana).sessions.first()
    response = as_ana.post(reverse("session-move", args=[session.public_id]), {"planned_on": "tomorrow"})
    assert response.status_code == 422
    assert "Write the date as 2026-03-31." in text(response) and 'value="tomorrow"' in response.content.decode()


def test_what_is_over_keeps_its_date(as_ana, ana, draft):
    session = blocks.assign_block(draft, 1, ana).sessions.first()
    session.state, session.trained_on = "trained", MONDAY
    session.save()
    as_ana.post(reverse("session-move", args=[session.public_id]), {"planned_on": "2026-03-05"})
    session.refresh_from_db()
    assert session.planned_on == MONDAY


@pytest.mark.parametrize("slots", [1, 8])
def test_a_session_s_page_costs_the_same_however_long(as_ana, ana, ben, slots, django_assert_num_queries):
    ben.minutes = 180
    ben.save()
    draft, _week = draft_for(ben, ana, small_week(ben, slots=slots))
    session = blocks.assign_block(draft, 1, ana).sessions.first()
    with django_assert_num_queries(5):  # http session, coach, session, lines, target sets
        as_ana.get(reverse("session", args=[session.public_id]))


@pytest.mark.parametrize("weeks", [1, 26])
def test_the_block_and_calendar_cost_the_same_however_long(as_ana, ana, ben, weeks, django_assert_num_queries):
    draft, _week = draft_for(ben, ana, small_week(ben, slots=1), weeks=weeks, deload_weeks=[])
    blocks.assign_block(draft, 1, ana)
    for name, queries in (("client-block", 21), ("client-calendar", 17)):
        with django_assert_num_queries(queries):
            as_ana.get(reverse(name, args=[ben.public_id]))


# Who may


GETS = ("draft", "draft-recompose")
POSTS = (
    *("draft-swap", "draft-sets", "draft-pin", "draft-move", "draft-day"),
    *("draft-recompose", "draft-undo", "draft-redo", "draft-assign"),
)


@pytest.mark.parametrize("name", GETS)
def test_another_practice_finds_nothing(as_cleo, draft, name):
    assert as_cleo.get(url(name, draft)).status_code == 404


@pytest.mark.parametrize("name", POSTS)
def test_another_practice_changes_nothing(as_cleo, draft, name):
    data = {"revision": 1, "slot": "press", "occurrence": 0, "sets": 5, "by": 1, "day": "full", "on": 1}
    assert as_cleo.post(url(name, draft), data).status_code == 404
    draft.refresh_from_db()
    assert draft.revision == 1


def test_another_practice_s_client_session_and_block_are_not_found(as_cleo, ana, ben, draft):
    session = blocks.assign_block(draft, 1, ana).sessions.first()
    for name, key in (("compose-start", ben), ("client-block", ben), ("client-calendar", ben), ("session", session)):
        assert as_cleo.get(reverse(name, args=[key.public_id])).status_code == 404
    assert as_cleo.post(reverse("session-move", args=[session.public_id])).status_code == 404


def test_the_wrong_method_is_refused(as_ana, draft):
    for name in POSTS:
        if name != "draft-recompose":
            assert as_ana.get(url(name, draft)).status_code == 405
    assert as_ana.post(url("draft", draft)).status_code == 405


def test_a_client_and_a_stranger_are_sent_to_sign_in(as_ben, client, draft):
    for browser in (as_ben, client):
        assert browser.get(url("draft", draft)).url.startswith(reverse("sign-in"))
        assert browser.post(url("draft-assign", draft), {"revision": 1}).url.startswith(reverse("sign-in"))


def test_the_whole_way_holds_against_forged_requests(ana, ben, week):
    browser = Browser(enforce_csrf_checks=True)
    browser.force_login(ana)
    start = reverse("compose-start", args=[ben.public_id])
    assert browser.post(start, starting(week)).status_code == 403
    token = Forms(browser.get(start).content.decode()).forms[-1]["fields"]["csrfmiddlewaretoken"]
    board = browser.post(start, {**starting(week), "csrfmiddlewaretoken": token}).url
    draft = Draft.objects.get()
    forms = Forms(browser.get(board, {"open": "press:0"}).content.decode())
    swap = forms.to(url("draft-swap", draft))[0]
    name, exercise = swap["buttons"][0]
    assert browser.post(url("draft-swap", draft), {**swap["fields"], name: exercise}).status_code == 302
    assign = Forms(browser.get(board).content.decode()).to(url("draft-assign", draft))[0]
    assert browser.post(url("draft-assign", draft), assign["fields"]).status_code == 302
    assert Block.objects.get().document["picks"] == Draft.objects.get().document["picks"]
