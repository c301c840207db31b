"""The whole block week by week: on the draft before it is assigned, and on the block's own page."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from clients.board.weeks import weeks_of_block, weeks_of_draft
from clients.models import Draft
from clients.reads.course import plan_of, steep_rises
from clients.services import blocks, drafts
from clients.services.courses import set_course
from coachdesk.practice import journal
from programs.engine.compose.course import Course, SetsPlan
from programs.engine.terms import Because
from programs.reasons import sentence_of
from tests.clients.weeks import draft_for
from tests.factories import MONDAY, LoggedSetFactory
from tests.pages import text_of

pytestmark = pytest.mark.django_db
RAMP = {"climb": 1, "start": "below", "last_harder": "on", "deload": "planned", "deload_weeks": "3"}


@pytest.fixture
def trained(ben, week):
    """A client of long standing, though not of these exercises: no first session lies ahead."""
    LoggedSetFactory(client=ben, exercise=week.exercises["squat 3"], performed_on=MONDAY - timedelta(days=60), rir=None)


@pytest.fixture
def draft(ana, ben, week):
    return draft_for(ben, ana, week)[0]


def address(name, draft):
    return reverse(name, args=[draft.public_id])


def figures(weeks):
    return [
        (row.number, row.deload, [(cell.name, cell.sets, cell.minutes, cell.day) for cell in row.cells])
        for row in weeks.rows
    ]


def counts(weeks):
    return {group.name: [cell.count for cell in group.cells] for group in weeks.groups}


# what is shown


def test_the_draft_shows_what_assigning_writes(ana, draft):
    set_course(draft, 1, ana, SetsPlan("ramp", 1, below=True, last_harder=True), [4])
    before = weeks_of_draft(draft)
    after = weeks_of_block(blocks.assign_block(draft, draft.revision, ana))
    assert [row.harder for row in before.rows] == [row.harder for row in after.rows] == [False, False, True, False]
    assert figures(before) == figures(after)
    assert counts(before) == counts(after)
    assert [row.deload for row in before.rows] == [False, False, False, True]


def test_a_rolling_draft_shows_its_cycles_and_the_one_cut_short(ana, ben, week, trained):
    week.outline.cycle_days = 8
    week.outline.save()
    draft, _week = draft_for(ben, ana, week, weeks=2, deload_weeks=[])
    before = weeks_of_draft(draft)
    assert [len([cell for cell in row.cells if cell]) for row in before.rows] == [2, 2]
    five, _week = draft_for(ben, ana, week, weeks=5, deload_weeks=[])
    cut = weeks_of_draft(five)
    assert [row.title for row in cut.rows] == [f"Cycle {number}" for number in (1, 2, 3, 4, 5)]
    assert [row.whole for row in cut.rows] == [True] * 4 + [False]
    assert {group.cells[4].words for group in cut.groups} == {"cut short"}
    after = weeks_of_block(blocks.assign_block(five, 1, ana))
    assert [row.sets for row in after.rows] == [row.sets for row in cut.rows]
    assert after.rows[4].cells[1] is None and cut.rows[4].cells[1] is None


def test_an_easier_week_is_not_judged_and_the_others_are(draft, trained):
    weeks = weeks_of_draft(draft)
    chest = next(group for group in weeks.groups if group.name == "Chest")
    assert [cell.deload for cell in chest.cells] == [False, False, False, True]
    assert chest.cells[3].words == "easier" and chest.cells[3].mark == ""
    assert chest.cells[0].mark in ("in", "under", "over")


def test_what_changes_in_a_week_is_told_by_session(ana, draft):
    set_course(draft, 1, ana, SetsPlan("ramp", 2, below=True), [2])
    found = weeks_of_draft(draft, 4)
    third, fourth = found.rows[2], found.rows[3]
    told = {(session, line) for session, lines in found.changes for line in lines}
    expected = {
        (now.name, f"{exercise} {was.lines[slot][1]} → {sets}")
        for was, now in zip(third.cells, fourth.cells, strict=True)
        for slot, (exercise, sets) in now.lines.items()
        if was.lines[slot][1] != sets
    }
    assert told == expected and told
    assert weeks_of_draft(draft, 1).changes == [] and weeks_of_draft(draft, 2).changes == []


def test_a_week_that_is_not_there_is_the_nearest(draft):
    assert weeks_of_draft(draft, 99).chosen.number == 4
    assert weeks_of_draft(draft, 0).chosen.number == 1


def test_steps_that_wait_say_why_and_a_steep_first_week_too(ana, as_ana, draft, trained):
    set_course(draft, 1, ana, SetsPlan("ramp", 1, below=True), [])
    weeks = weeks_of_draft(draft, 2)
    assert weeks.chosen.waits and weeks.chosen.waiting == f"{len(weeks.chosen.waits)} steps wait"
    assert all("stays at" in said for said in weeks.chosen.waits)
    page = text_of(as_ana.get(address("draft-weeks", draft), {"week": 2}))
    assert "The first week rises steeply over the weeks before." in page
    assert "Nothing was trained in the four weeks before. Start with fewer sets." in page
    assert weeks.chosen.waiting in page


def test_the_first_session_ever_is_named(draft):
    assert weeks_of_draft(draft).chosen.first == "Full body A"
    assert weeks_of_draft(draft, 2).chosen.first == ""


def test_the_week_looked_at_first_is_the_present_one(ana, draft, monkeypatch):
    block = blocks.assign_block(draft, 1, ana)
    for days, number in ((-5, 1), (0, 1), (8, 2), (40, 4)):
        monkeypatch.setattr("clients.board.weeks.today_for", lambda client, days=days: MONDAY + timedelta(days=days))
        assert weeks_of_block(block).chosen.number == number


def test_the_block_page_shows_the_week_asked_for(ana, as_ana, ben, draft):
    blocks.assign_block(draft, 1, ana)
    url = reverse("client-block", args=[ben.public_id])
    page = text_of(as_ana.get(url, {"week": 4}))
    assert "Week 4, easier week" in page and "Sets by group and week" in page
    assert "active · Sets flat, easier week 4" in page
    assert "Half of the sets, rounded up, two more in reserve." in page
    assert "Half of the sets, rounded up" not in text_of(as_ana.get(url, {"week": 1}))


def test_a_hand_changed_session_shows_as_it_is_now(ana, ben, draft, trained):
    block = blocks.assign_block(draft, 1, ana)
    line = block.sessions.get(cycle=2, position=0).prescriptions.first()
    was = weeks_of_block(block).rows[1].cells[0].sets
    line.target_sets.last().delete()
    assert weeks_of_block(block).rows[1].cells[0].sets == was - 1


def test_both_pages_ask_alike_often_however_long(ana, as_ana, ben, week, django_assert_max_num_queries):
    short, _week = draft_for(ben, ana, week, weeks=2, deload_weeks=[])
    counted = {}
    for weeks in (2, 12):
        Draft.objects.filter(pk=short.pk).update(weeks=weeks)
        with django_assert_max_num_queries(60) as found:
            assert as_ana.get(address("draft-weeks", short)).status_code == 200
        counted[weeks] = len(found.captured_queries)
    assert counted[2] == counted[12]


# what is chosen


def test_the_course_is_chosen_taken_back_and_kept_when_composed_again(ana, as_ana, draft):
    response = as_ana.post(address("draft-course", draft), {"revision": 1, **RAMP}, follow=True)
    assert "A set more every week from one less on, easier week 3" in text_of(response)
    draft.refresh_from_db()
    assert (draft.revision, draft.deload_weeks) == (2, [3])
    assert plan_of(draft.document) == SetsPlan("ramp", 1, below=True, last_harder=True)
    drafts.recompose(draft, 2, ana)
    assert plan_of(draft.document).kind == "ramp"
    drafts.undo(draft, ana)
    draft.refresh_from_db()
    assert plan_of(draft.document) == SetsPlan() and draft.deload_weeks == [4]


def test_the_board_tells_what_undo_changed_of_the_course(ana, as_ana, draft):
    set_course(draft, 1, ana, SetsPlan("ramp", 2), [4])
    set_course(draft, 2, ana, SetsPlan(), [])
    page = text_of(as_ana.post(address("draft-undo", draft), {"revision": 3}, follow=True))
    assert "Taken back. The sets rise over the block (rounds from step to step: 2)." in page
    page = text_of(as_ana.post(address("draft-undo", draft), {"revision": 4}, follow=True))
    assert "The sets are the same all through the block." in page


def test_its_toast_takes_it_back(as_ana, draft):
    html = as_ana.post(address("draft-course", draft), {"revision": 1, **RAMP}, follow=True).content.decode()
    toast = html[html.index('class="toast"') :]
    action = re.search(r'action="([^"]+)"', toast).group(1).replace("&amp;", "&")
    response = as_ana.post(action)
    assert response.url == address("draft-weeks", draft)
    draft.refresh_from_db()
    assert draft.deload_weeks == [4] and "course" not in draft.document


def test_on_call_means_that_none_is_planned(as_ana, draft):
    response = as_ana.post(
        address("draft-course", draft), {"revision": 1, **RAMP, "climb": 0, "deload": "on_call"}, follow=True
    )
    assert "Sets flat, deload on call" in text_of(response)
    draft.refresh_from_db()
    assert draft.deload_weeks == []


def test_the_same_again_is_no_edit(ana, draft):
    assert set_course(draft, 1, ana, SetsPlan(), [4]) is None
    draft.refresh_from_db()
    assert draft.revision == 1


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"deload_weeks": "5"}, "Easier weeks lie between 1 and 4."),
        ({"deload_weeks": ""}, "Name a week, or choose on call."),
        ({"deload_weeks": "1 2 3 4"}, "Not all of them can be easier."),
        ({"deload_weeks": "soon"}, "Write week numbers with a comma between them, such as 4, 8."),
        ({"climb": 9}, "Select a valid choice."),
    ],
)
def test_what_cannot_be_is_said_beside_the_field_and_nothing_typed_is_lost(as_ana, draft, changes, said):
    response = as_ana.post(address("draft-course", draft), {"revision": 1, **RAMP, **changes})
    assert response.status_code == 422
    assert said in text_of(response)
    typed = changes.get("deload_weeks", "3")
    assert not typed or f'value="{typed}"' in response.content.decode()
    draft.refresh_from_db()
    assert draft.revision == 1


def test_a_stale_course_changes_nothing_and_keeps_what_was_typed(ana, as_ana, draft):
    drafts.set_sets(draft, 1, ana, "row", 1, 5)
    response = as_ana.post(address("draft-course", draft), {"revision": 1, **RAMP})
    assert response.status_code == 409
    html = response.content.decode()
    assert "Somebody changed this draft in the meantime" in html
    assert 'name="revision" value="2"' in html and 'value="3"' in html
    assert as_ana.post(address("draft-course", draft), {"revision": 2, **RAMP}).status_code == 302


def test_a_draft_that_is_assigned_has_no_course_to_choose(ana, as_ana, draft):
    blocks.assign_block(draft, 1, ana)
    assert as_ana.get(address("draft-weeks", draft)).status_code == 302
    assert as_ana.post(address("draft-course", draft), {"revision": 1, **RAMP}).status_code == 302


def test_undo_of_assigning_leaves_the_course_to_the_draft(ana, draft):
    set_course(draft, 1, ana, SetsPlan("ramp", 2), [])
    _block, entry = blocks.assign(draft, draft.revision, ana)
    journal.undo(entry, ana)
    draft.refresh_from_db()
    assert draft.state == Draft.State.OPEN and plan_of(draft.document).every == 2


@pytest.mark.parametrize("name", ["draft-weeks", "draft-course"])
def test_a_stranger_finds_nothing(as_cleo, draft, name):
    method = as_cleo.get if name == "draft-weeks" else as_cleo.post
    assert method(address(name, draft)).status_code == 404


def test_a_part_is_enough_for_a_page_that_has_scripts(as_ana, draft):
    whole = as_ana.get(address("draft-weeks", draft), {"week": 2})
    part = as_ana.get(address("draft-weeks", draft), {"week": 2}, headers={"HX-Request": "true"})
    assert b"<html" in whole.content and b"<html" not in part.content
    assert b'id="weeks"' in part.content and b'aria-current="true"' in part.content


def test_the_board_leads_there(as_ana, draft):
    page = as_ana.get(address("draft", draft)).content.decode()
    assert address("draft-weeks", draft) in page and "Sets flat, easier week 4" in page


def test_the_board_warns_of_a_steep_first_week(as_ana, draft, trained):
    page = text_of(as_ana.get(address("draft", draft)))
    assert "Nothing was trained in the four weeks before. Start with fewer sets." in page


def test_alike_rises_of_many_groups_are_told_as_one():
    def rise(code, group):
        return Because(f"course.rise_{code}", {"group": group, "now": 9.0, "mean": 4.0, "percent": 125})

    many = Course((), (), tuple(rise("refuse", group) for group in ("chest", "lats", "quads")))
    few = Course((), (), (rise("warn", "calves"), rise("refuse", "chest")))
    assert [sentence_of(why) for why in steep_rises(many, {})] == [
        "More than 60\u00a0% more sets a week than before: chest, lats and quads. "
        "That is too much at once; start with fewer."
    ]
    assert [why.code for why in steep_rises(few, {})] == ["course.rise_refuse", "course.rise_warn"]


def test_of_rises_that_are_meant_only_the_figures_are_told():
    def rise(group):
        return Because("course.rise_refuse", {"group": group, "now": 9.0, "mean": 4.0, "percent": 125})

    steep = Course((), (), (rise("chest"), rise("lats")))
    pinned = {"rises": {"groups": {"chest": 9.0, "lats": 8.0}}}
    assert [sentence_of(why) for why in steep_rises(steep, pinned)] == [
        "Lats: 9\u00a0sets a week after 4 before is too much at once. Start with fewer sets.",
        "Chest: 9\u00a0sets a week after 4 before, and meant so.",
    ]


def test_a_client_of_whom_nothing_is_known_rises_from_nothing(as_ana, draft):
    assert "Start with fewer sets." not in text_of(as_ana.get(address("draft", draft)))
