"""A week that cannot be filled: ways out, what was given up and taken back, what clashes, and why not this exercise."""

import re

import pytest
from django.urls import reverse

from clients.board.ways import clashes_of, whole_of
from clients.models import Draft
from clients.reads.composing import draft_inputs
from clients.services import allowances, blocks, drafts
from clients.services.settling import unfilled_places
from coachdesk.practice.models import JournalEntry
from programs.engine.compose.solver import available
from tests.clients.test_compose import HTMX, Forms, text, toast_undo, url
from tests.clients.weeks import draft_for, pick
from tests.factories import LimitFactory

pytestmark = pytest.mark.django_db
needs_solver = pytest.mark.skipif(not available(), reason="needs the solver")


@pytest.fixture
def short(ana, ben, week):
    """A draft whose sessions have minutes for two of three slots."""
    ben.minutes = 20
    ben.save()
    draft, _week = draft_for(ben, ana, week)
    assert empty(draft)
    return draft


@pytest.fixture
def sore(ana, ben, week):
    """A draft in which every press loads what is to be spared."""
    for name, exercise in week.exercises.items():
        if name.startswith("press"):
            exercise.joints.create(joint="shoulder_overhead", severity=2)
    LimitFactory(client=ben)
    draft, _week = draft_for(ben, ana, week)
    assert {slot for slot, _occurrence in empty(draft)} == {"press"}
    return draft


def empty(draft):
    return unfilled_places(draft.document, draft_inputs(draft))


def ways(draft):
    return allowances.open_ways(draft_inputs(draft))


def way_with(draft, code):
    return next(way for way in ways(draft) if any(step.code == code for step in way.steps))


def take(draft, ana, way, **more):
    allowances.take_way_out(draft, draft.revision, ana, allowances.key_of(way), **more)


# Ways out


@needs_solver
def test_more_minutes_for_this_draft_alone_fill_the_week_and_others_stay(ana, ben, short):
    before = {(row["slot"], row["occurrence"]): row["exercise"] for row in short.document["picks"]}
    take(short, ana, way_with(short, "free.more_minutes"))
    assert not empty(short) and short.revision == 2
    assert JournalEntry.objects.filter(about=drafts.about(short)).count() == 1
    (allowed,) = short.document["given_up"]
    assert allowed["code"] == "free.more_minutes"
    assert draft_inputs(short).request.minutes_cap == 20 + allowed["params"]["minutes"]
    after = {(row["slot"], row["occurrence"]): row["exercise"] for row in short.document["picks"]}
    assert {place: after[place] for place in before} == before
    ben.refresh_from_db()
    assert ben.minutes == 20
    drafts.undo(short, ana)
    assert empty(short) and "given_up" not in short.document


@needs_solver
def test_leaving_out_is_no_allowance_but_a_place_left_out(ana, short):
    way = way_with(short, "free.leave_out")
    take(short, ana, way)
    assert not empty(short)
    left = [[step.params["slot"], step.params["occurrence"]] for step in way.steps if step.code == "free.leave_out"]
    assert short.document["left_out"] == left
    assert "free.leave_out" not in [row["code"] for row in short.document.get("given_up", [])]


@needs_solver
def test_a_pin_that_stands_in_the_way_is_released(ana, ben, week):
    draft, _week = draft_for(ben, ana, week)
    drafts.set_sets(draft, 1, ana, "press", 0, 10)
    draft.document["picks"] = [
        row for row in draft.document["picks"] if (row["slot"], row["occurrence"]) != ("squat", 0)
    ]
    draft.save()
    ben.minutes = 35
    ben.save()
    draft = Draft.objects.get(pk=draft.pk)
    way = way_with(draft, "free.release_exercise")
    take(draft, ana, way)
    assert not empty(draft) and not pick(draft, "press", 0)["pinned"]
    assert pick(draft, "press", 0)["sets"] < 10


@needs_solver
def test_a_spared_joint_asks_for_the_tick(ana, sore):
    way = way_with(sore, "free.load_spared_joint")
    assert way.needs_tick
    with pytest.raises(allowances.NotAgreed):
        take(sore, ana, way)
    sore.refresh_from_db()
    assert sore.revision == 1 and empty(sore)
    take(sore, ana, way, agreed=True)
    assert not empty(sore)


@needs_solver
def test_only_what_is_offered_can_be_taken(ana, ben, sore, short):
    key = allowances.key_of(way_with(short, "free.more_minutes"))
    ben.limits.all().delete()
    ben.minutes = 120
    ben.save()
    with pytest.raises(allowances.NotOffered):
        allowances.take_way_out(Draft.objects.get(pk=short.pk), 1, ana, key)
    with pytest.raises(allowances.NotOffered):
        allowances.take_way_out(Draft.objects.get(pk=short.pk), 1, ana, "0" * 16)


@needs_solver
def test_what_was_given_up_is_taken_back_and_undo_gives_it_again(ana, sore):
    take(sore, ana, way_with(sore, "free.load_spared_joint"), agreed=True)
    whole = sore.document
    allowances.take_back(sore, sore.revision, ana, 0)
    assert sore.document["given_up"] == []
    assert {slot for slot, _occurrence in empty(sore)} == {"press"}
    drafts.undo(sore, ana)
    assert sore.document == whole


@needs_solver
def test_minutes_taken_back_hold_again(ana, short):
    take(short, ana, way_with(short, "free.more_minutes"))
    allowances.take_back(short, short.revision, ana, 0)
    inputs = draft_inputs(short)
    assert inputs.request.minutes_cap == 20
    assert empty(short)
    assert not [why for why in drafts_warnings(short) if why.code == "session.over_minutes"]


def drafts_warnings(draft):
    from clients.board.state import state_of

    return state_of(draft).audit.warnings


@needs_solver
def test_the_block_is_written_with_what_was_given_up(ana, short):
    take(short, ana, way_with(short, "free.more_minutes"))
    block = blocks.assign_block(short, short.revision, ana)
    assert block.document["given_up"] == short.document["given_up"]
    assert {session.prescriptions.count() for session in block.sessions.all()} == {3}


def test_without_the_solver_no_way_is_offered_and_the_page_says_so(as_ana, short, monkeypatch):
    for module in ("programs.engine.compose.solver", "clients.services.allowances", "clients.board.ways"):
        monkeypatch.setattr(f"{module}.available", lambda: False)
    assert whole_of(short).ways == [] and clashes_of(short) == []
    assert as_ana.get(url("draft", short)).status_code == 200
    assert "Without the solver no way is looked for" in text(as_ana.get(url("draft-whole", short)))


# The pages


@needs_solver
def test_the_board_says_what_is_empty_and_looks_for_ways_after_it_stands(as_ana, short):
    html = as_ana.get(url("draft", short)).content.decode()
    assert "places stay empty." in html
    assert f'hx-get="{url("draft-whole", short)}' in html and 'hx-trigger="load"' in html


@needs_solver
def test_a_whole_week_asks_for_no_ways(as_ana, ana, ben, week):
    draft, _week = draft_for(ben, ana, week)
    assert url("draft-whole", draft) not in as_ana.get(url("draft", draft)).content.decode()


@needs_solver
@pytest.mark.parametrize("headers", [{}, HTMX])
def test_the_ways_name_days_and_are_one_click_away(as_ana, short, headers):
    page = as_ana.get(url("draft-whole", short), **headers)
    shown = text(page)
    assert re.search(r"\d+ more minutes? on Monday and Thursday", shown)
    form = Forms(page.content.decode()).to(url("draft-give-up", short))[0]
    name, key = form["buttons"][0]
    response = as_ana.post(url("draft-give-up", short), {**form["fields"], name: key}, **headers)
    short.refresh_from_db()
    assert short.revision == 2 and not empty(short)
    shown = text(response if headers else as_ana.get(response.url))
    assert (
        re.search(r"Done: \d places? (is|are) filled", shown)
        and "Given up for this draft alone" in shown
        and "than the client’s 20 in a session" in shown
    )
    assert "Undo" in shown


@needs_solver
@pytest.mark.parametrize("headers", [{}, HTMX])
def test_the_tick_is_asked_for_beside_its_way(as_ana, sore, headers):
    page = as_ana.get(url("draft-whole", sore), **headers)
    key = allowances.key_of(way_with(sore, "free.load_spared_joint"))
    assert "I have agreed this with the client or their clinician" in text(page)
    refused = as_ana.post(url("draft-give-up", sore), {"revision": 1, "way": key}, **headers)
    assert refused.status_code == 422 and "Tick that this is agreed" in text(refused)
    sore.refresh_from_db()
    assert sore.revision == 1
    as_ana.post(url("draft-give-up", sore), {"revision": 1, "way": key, "agreed": "1"}, **headers)
    sore.refresh_from_db()
    assert sore.revision == 2 and not empty(sore)


@needs_solver
def test_the_toast_takes_a_way_back(as_ana, short):
    key = allowances.key_of(ways(short)[0])
    response = as_ana.post(url("draft-give-up", short), {"revision": 1, "way": key}, **HTMX)
    assert as_ana.post(toast_undo(response.content.decode())).status_code == 302
    short.refresh_from_db()
    assert empty(short)


@needs_solver
def test_an_allowance_is_taken_back_on_the_board(as_ana, ana, short):
    take(short, ana, way_with(short, "free.more_minutes"))
    form = Forms(as_ana.get(url("draft", short)).content.decode()).to(url("draft-take-back", short))[0]
    name, number = form["buttons"][0]
    assert as_ana.post(url("draft-take-back", short), {**form["fields"], name: number}).status_code == 302
    short.refresh_from_db()
    assert short.document["given_up"] == []


@needs_solver
@pytest.mark.parametrize("headers", [{}, HTMX])
def test_what_clashes_is_told_by_session_and_day(as_ana, short, headers):
    shown = text(as_ana.get(url("draft-clashes", short), **headers))
    assert "Full body A (Monday)" in shown and "at most 20 minutes a session" in shown
    assert shown.index("at most 20 minutes") < shown.index("“Press” is to be filled")


@pytest.mark.parametrize(
    ("name", "data", "status"),
    [
        ("draft-give-up", {"revision": 1}, 422),
        ("draft-give-up", {"revision": 1, "way": "no way"}, 422),
        ("draft-give-up", {"revision": 1, "way": "0" * 16}, 409),
        ("draft-take-back", {"revision": 1, "number": "first"}, 422),
        ("draft-take-back", {"revision": 9, "number": 0}, 409),
    ],
)
def test_nonsense_and_what_is_stale_change_nothing(as_ana, short, name, data, status):
    assert as_ana.post(url(name, short), data).status_code == status
    short.refresh_from_db()
    assert short.revision == 1


# Why not


def ask(browser, draft, query="", **more):
    return browser.get(url("draft-why-not", draft), {"open": "press:0", "q": query, **more}, **HTMX)


@pytest.fixture
def draft(ana, ben, week):
    return draft_for(ben, ana, week)[0]


def test_an_exercise_that_fits_says_what_would_change_and_can_be_taken(as_ana, draft, week):
    held = {pick(draft, "press", occurrence)["exercise"] for occurrence in (0, 1)}
    other = next(row for name, row in week.exercises.items() if name.startswith("press") and row.key not in held)
    response = ask(as_ana, draft, other.name.upper())
    shown = text(response)
    assert "min in the session" in shown and "in your ranking here." in shown
    form = Forms(response.content.decode()).to(url("draft-swap", draft))[0]
    assert as_ana.post(url("draft-swap", draft), {**form["fields"], "exercise": other.key}).status_code == 302
    draft.refresh_from_db()
    assert (pick(draft, "press", 0)["exercise"], pick(draft, "press", 0)["pinned"]) == (other.key, True)


def test_what_it_says_would_move_is_what_taking_it_moves(ana, draft, week):
    from clients.board.why_not import asked_about

    for name in ("press 2", "press 3"):
        asked = asked_about(draft, ("press", 0), name)
        if asked.answer.stands:
            continue
        before = {place: row for place, row in rows_of(draft).items() if place != ("press", 0)}
        drafts.swap(draft, draft.revision, ana, "press", 0, week.key(name))
        after = {place: row for place, row in rows_of(draft).items() if place != ("press", 0)}
        assert bool(asked.answer.also) == (before != after)
        assert asked.answer.sets == pick(draft, "press", 0)["sets"]


def rows_of(draft):
    return {(row["slot"], row["occurrence"]): (row["exercise"], row["sets"]) for row in draft.document["picks"]}


def test_what_is_spared_says_so_and_cannot_be_taken(as_ana, ben, draft, week):
    week.exercises["press 3"].joints.create(joint="shoulder_overhead", severity=2)
    LimitFactory(client=ben)
    shown = text(ask(as_ana, draft, "press 3"))
    assert "It loads what is to be spared: shoulder, overhead." in shown and "Take it" not in shown


def test_an_exercise_of_another_kind_may_be_taken_anyway_with_the_reason_told(as_ana, draft):
    shown = text(ask(as_ana, draft, "squat 3"))
    assert "It does not aim at this slot’s target" in shown or "It stands" in shown or "already" in shown


def test_several_of_a_name_are_listed_and_none_is_said(as_ana, draft, week):
    response = ask(as_ana, draft, "press")
    assert all(f"press {number}" in text(response) for number in range(4))
    assert week.key("press 2") in response.content.decode()
    assert "No exercise of the library is called that." in text(ask(as_ana, draft, "kettle"))
    assert "min in the session" not in text(ask(as_ana, draft))
    assert "press 2" in text(ask(as_ana, draft, exercise=week.key("press 2")))


def test_without_script_the_answer_is_a_page_with_the_way_back(as_ana, draft):
    page = as_ana.get(url("draft-why-not", draft), {"open": "press:0", "q": "press 3"})
    assert "<html" in page.content.decode() and "Press, Full body A, Monday" in text(page)
    assert f"{url('draft', draft)}?open=press%3A0" in page.content.decode().replace("&amp;", "&")


@pytest.mark.parametrize("place", ["", "nothing:0", "press:7", "press"])
def test_a_place_that_is_not_there_is_not_found(as_ana, draft, place):
    assert as_ana.get(url("draft-why-not", draft), {"open": place, "q": "press"}).status_code == 404


# Who may


@pytest.mark.parametrize("name", ["draft-whole", "draft-clashes", "draft-why-not"])
def test_another_practice_finds_nothing(as_cleo, as_ana, draft, name):
    assert as_cleo.get(url(name, draft), {"open": "press:0"}).status_code == 404
    assert as_ana.post(url(name, draft)).status_code == 405


@pytest.mark.parametrize("name", ["draft-give-up", "draft-take-back"])
def test_another_practice_changes_nothing(as_cleo, as_ana, draft, name):
    assert as_cleo.post(url(name, draft), {"revision": 1, "way": "0" * 16, "number": 0}).status_code == 404
    assert as_ana.get(url(name, draft)).status_code == 405


def test_a_draft_that_was_assigned_leads_to_its_block(as_ana, ana, draft):
    blocks.assign_block(draft, 1, ana)
    for name in ("draft-whole", "draft-clashes", "draft-why-not"):
        assert as_ana.get(url(name, draft)).url == reverse("client-block", args=[draft.client.public_id])
