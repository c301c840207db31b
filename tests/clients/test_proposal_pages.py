"""A client's proposals session by session, what was decided, and the switch for plain changes."""

from datetime import timedelta

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from clients.models import Proposal
from clients.services import going_out, proposals
from coachdesk.practice.models import JournalEntry
from programs.units import load_of
from tests.clients.desk_work import ahead, proposed, settled
from tests.factories import (
    ClientFactory,
    CoachFactory,
)
from tests.pages import text_of

PAIN = [{"code": "plain.touches_pain", "params": {}}]
CHOICE = [{"code": "plain.choice", "params": {}}]


def page(browser, client):
    return browser.get(reverse("client-proposals", args=[client.public_id]))


def held(proposal, reasons):
    """Not plain, for these reasons."""
    proposal.new = {**proposal.new, "not_plain": reasons, "offers": [{"code": "swap", "params": {}}]}
    proposal.save()
    return proposal


@pytest.fixture
def four(ben):
    """Two for tomorrow, of which one answers pain, and two for the day after."""
    block = settled(ben)
    first, second = ahead(block, 1), ahead(block, 2, name="Upper A")
    return [
        proposed(second, "Row", plain=True),
        proposed(first, "Squat", plain=True),
        held(proposed(first, "Hinge"), PAIN),
        held(proposed(second, "Press"), CHOICE),
    ]


def test_what_waits_stands_by_session_in_their_order(as_ana, ben, four):
    response = page(as_ana, ben)
    groups = response.context["groups"]
    assert [group.title.split(",")[0] for group in groups] == ["Lower A", "Upper A"]
    assert [row.about for group in groups for row in group.rows] == ["Squat", "Hinge", "Row", "Press"]


def test_each_says_old_new_why_and_on_demand_all_of_it(as_ana, ben, four):
    text = text_of(page(as_ana, ben)).replace("\u00a0", " ")
    assert "72.5" in text and "75" in text
    assert "Not plain: It answers pain." in text
    assert "Not plain: There is more than one way to go on." in text
    assert "72.5 kg × 8/8/8/8 with 2/2/2/2 in reserve" in text
    assert "Also possible: another exercise." in text


def test_all_of_a_client_go_as_one_act_but_for_what_answers_pain(as_ana, ben, four):
    response = page(as_ana, ben)
    assert "Accept all 3 proposals" in text_of(response)
    assert "1 answers pain and is decided by itself." in text_of(response)
    url = reverse("client-proposals-accept", args=[ben.public_id])
    toast = as_ana.post(url, {"seen": response.context["seen"]}, follow=True)
    assert "Accepted 3 proposals, Ben Quay." in text_of(toast)
    assert [row.exercise.name for row in Proposal.objects.waiting()] == ["Hinge"]
    entry = JournalEntry.objects.get(act="proposal.accept")
    as_ana.post(reverse("undo", args=[entry.public_id]))
    assert Proposal.objects.waiting().count() == 4


def test_what_answers_pain_stays_even_if_its_id_is_sent(as_ana, ben, four):
    as_ana.post(
        reverse("client-proposals-accept", args=[ben.public_id]), {"seen": [str(row.public_id) for row in four]}
    )
    assert [row.exercise.name for row in Proposal.objects.waiting()] == ["Hinge"]


def test_what_came_in_after_the_page_waits(as_ana, ben, four):
    seen = page(as_ana, ben).context["seen"]
    late = proposed(four[0].session, "Late", plain=True)
    as_ana.post(reverse("client-proposals-accept", args=[ben.public_id]), {"seen": seen})
    assert late in Proposal.objects.waiting()


def test_nothing_seen_is_nothing_accepted(as_ana, ben, four):
    url = reverse("client-proposals-accept", args=[ben.public_id])
    assert "Nothing that was on the page waits any more." in text_of(as_ana.post(url, follow=True))
    assert Proposal.objects.waiting().count() == 4
    assert as_ana.post(url, {"seen": ["nonsense"]}).status_code == 404


def test_a_decision_in_place_brings_the_rest_of_the_page_along(as_ana, ben, four):
    url = reverse("proposal", args=[four[1].public_id])
    here = reverse("client-proposals", args=[ben.public_id])
    shown = text_of(as_ana.post(url, {"do": "accept", "next": here}, headers={"HX-Request": "true"}))
    assert "Accept all 2 proposals" in shown


@pytest.mark.parametrize("count", [1, 30])
def test_the_page_costs_the_same_however_many_wait(as_ana, ben, count, django_assert_num_queries):
    session = ahead(settled(ben))
    for number in range(count):
        proposed(session, f"Lift {number}")
    with django_assert_num_queries(14):  # session, coach, client, the head's eight, health, proposals, acts
        assert page(as_ana, ben).status_code == 200


def test_what_health_answers_bound_is_for_those_who_may_see_them(ana, ben):
    held(proposed(ahead(settled(ben))), [{"code": "plain.health", "params": {}}])
    blind = Browser()
    blind.force_login(CoachFactory(practice=ana.practice, sees_health=False))
    assert "Changes of this client always wait for you." in text_of(page(blind, ben))
    assert "Health answers" not in text_of(page(blind, ben))
    assert "Health answers" not in text_of(blind.get(reverse("desk")))


def test_nothing_waits_says_what_to_do(as_ana, ben):
    assert "Nothing waits. What the next log suggests stands here." in text_of(page(as_ana, ben))


def decisions(browser, client, **asked):
    return browser.get(reverse("client-decisions", args=[client.public_id]), asked)


def test_what_was_decided_by_whom_and_when(as_ana, ana, ben, four):
    proposals.accept(four[0], ana)
    proposals.decline(four[1], ana)
    proposals.accept(four[3], ana, change=proposals.Change(load_of("80", "kg"), sets=3, reps_low=5, reps_high=5))
    going = proposed(ahead(four[0].session.block, 3), "Curl", plain=True)
    proposals.decide([going], None, practice=ana.practice)
    rows = decisions(as_ana, ben).context["rows"]
    assert [(row.exercise, row.how, row.by) for row in rows] == [
        ("Curl", "went out by itself", "the program"),
        ("Press", "changed by hand", "Ana"),
        ("Squat", "declined", "Ana"),
        ("Row", "accepted", "Ana"),
    ]
    assert [row.old.replace("\u00a0", " ") for row in rows[:2]] == ["72.5 kg, 4 × 6–8"] * 2
    assert [row.new.replace("\u00a0", " ") for row in rows[:2]] == ["75 kg, 4 × 6–8", "80 kg, 3 × 5"]
    assert all(row.at is not None and timezone.now() - row.at < timedelta(minutes=5) for row in rows)


def test_what_a_coach_who_is_gone_decided_is_not_taken_for_the_programs(as_ana, ana, ben, four):
    gone = CoachFactory(practice=ana.practice, name="Gone")
    proposals.accept(four[0], gone)
    Proposal.objects.filter(decided_by=gone).update(decided_by=None)
    (row,) = decisions(as_ana, ben).context["rows"]
    assert (row.how, row.by) == ("accepted", "a coach who is gone")


@pytest.mark.parametrize("count", [1, 30])
def test_decisions_cost_the_same_and_come_by_the_page(as_ana, ana, ben, count, django_assert_num_queries):
    session = ahead(settled(ben))
    proposals.decide([proposed(session, f"Lift {number}") for number in range(count)], ana)
    with django_assert_num_queries(14):
        response = decisions(as_ana, ben)
    assert len(response.context["rows"]) == min(count, 25)
    if count > 25:
        assert len(decisions(as_ana, ben, page=2).context["rows"]) == count - 25


def test_no_decisions_says_where_to_look(as_ana, ben):
    assert "Nothing was decided yet." in text_of(decisions(as_ana, ben))


def test_what_went_out_by_itself_is_listed_with_its_undo(as_ana, ana, ben):
    settled(ben)
    ben.plain_goes_out = True
    ben.save()
    proposed(ahead(ben.blocks.get()), "Curl", plain=True)
    assert going_out.let_out(ben) == 1
    for address in (reverse("client-proposals", args=[ben.public_id]), reverse("desk")):
        assert "Curl went out by itself" in text_of(as_ana.get(address))
    (act,) = page(as_ana, ben).context["went_out"]
    as_ana.post(act["url"])
    assert Proposal.objects.waiting().exists()
    assert page(as_ana, ben).context["went_out"] == []


def test_the_switch_on_the_clients_page(as_ana, ben):
    settled(ben)
    assert "Let plain changes go out" in text_of(as_ana.get(reverse("client", args=[ben.public_id])))
    url = reverse("client-going-out", args=[ben.public_id])
    assert "From now on plain changes of Ben Quay go out by themselves." in text_of(
        as_ana.post(url, {"on": "1"}, follow=True)
    )
    ben.refresh_from_db()
    assert ben.plain_goes_out
    assert "Keep every change for me" in text_of(as_ana.get(reverse("client", args=[ben.public_id])))
    as_ana.post(url, {"on": "0"})
    ben.refresh_from_db()
    assert not ben.plain_goes_out
    assert as_ana.post(url, {"on": "perhaps"}).status_code == 404


def test_the_switch_is_refused_with_the_reason(as_ana, ben):
    settled(ben)
    ben.date_of_birth = None
    ben.save()
    url = reverse("client-going-out", args=[ben.public_id])
    assert "Nothing goes out by itself here. The client’s date of birth is not known." in text_of(
        as_ana.post(url, {"on": "1"}, follow=True)
    )
    text = text_of(as_ana.get(reverse("client", args=[ben.public_id])))
    assert "Nothing goes out by itself for this client: The client’s date of birth is not known." in text
    assert "Let plain changes go out" not in text


def test_a_pin_is_released_on_the_sessions_page(as_ana, ana, ben, four):
    proposals.accept(four[1], ana, change=proposals.Change(load_of("80", "kg"), sets=3, reps_low=5, reps_high=5))
    line = four[1].session.prescriptions.get(slot_key=four[1].slot_key)
    shown = as_ana.get(reverse("session", args=[four[1].session.public_id])).content.decode()
    assert shown.count(reverse("line-release", args=[line.public_id])) == 1
    toast = as_ana.post(reverse("line-release", args=[line.public_id]), follow=True)
    assert "Squat is released. A proposal for it waits." in text_of(toast)
    line.refresh_from_db()
    assert line.pinned == []


def test_a_pin_is_released_on_the_proposals_page(as_ana, ana, ben, four):
    proposals.accept(four[0], ana, change=proposals.Change(load_of("80", "kg"), sets=3, reps_low=5, reps_high=5))
    shown = text_of(as_ana.get(reverse("proposal", args=[four[0].public_id])))
    assert "Release and reckon again" in shown
    proposals.accept(four[1], ana)
    assert "Release" not in text_of(as_ana.get(reverse("proposal", args=[four[1].public_id])))


def test_the_desk_says_who_is_left_out_and_why(as_ana, ana, ben, four):
    response = as_ana.get(reverse("desk"))
    assert [(one.name, one.count) for one in response.context["plain_ones"]] == [("Ben Q.", 2)]
    (out,) = response.context["left_out"]
    assert (out.name, out.count, out.why) == ("Ben Q.", 2, "It answers pain. There is more than one way to go on.")


def test_single_clients_are_taken_out_before_confirming(as_ana, ana, ben, four):
    other = ClientFactory(practice=ana.practice, coach=ana, name="Maren Tide")
    theirs = proposed(ahead(settled(other)), "Dip", plain=True)
    as_ana.post(reverse("accept-plain"), {"chosen": "1", "client": [str(other.public_id)]})
    theirs.refresh_from_db()
    assert theirs.state == Proposal.State.ACCEPTED
    assert Proposal.objects.waiting().filter(client=ben).count() == 4


def test_nobody_chosen_is_nobody(as_ana, ben, four):
    text = text_of(as_ana.post(reverse("accept-plain"), {"chosen": "1"}, follow=True))
    assert "No plain proposal waits any more." in text
    assert Proposal.objects.waiting().count() == 4
    assert as_ana.post(reverse("accept-plain"), {"client": "nonsense"}).status_code == 404


def test_another_practices_client_is_nobody(as_cleo, ben, four):
    as_cleo.post(reverse("accept-plain"), {"chosen": "1", "client": [str(ben.public_id)]})
    assert Proposal.objects.waiting().count() == 4


def test_after_a_decision_in_place_the_desk_says_how_many_are_left(as_ana, ben, four):
    url = reverse("proposal", args=[four[3].public_id])
    asked = {"do": "accept", "next": reverse("desk")}
    shown = as_ana.post(url, asked, headers={"HX-Request": "true"}).content.decode()
    assert 'id="desk-state" hx-swap-oob="true"' in shown
    assert "3 decisions for 1 client" in shown
    assert "Accept 2 plain proposals" in shown
    as_ana.post(reverse("proposal", args=[four[0].public_id]), asked)
    shown = as_ana.post(
        reverse("proposal", args=[four[1].public_id]), asked, headers={"HX-Request": "true"}
    ).content.decode()
    assert 'id="desk-accept" hx-swap-oob="true"' in shown
    assert "plain proposal" not in shown


def test_one_client_at_a_time_has_no_button_to_follow(as_ana, ben, four):
    url = reverse("proposal", args=[four[3].public_id])
    asked = {"do": "accept", "next": f"{reverse('desk')}?one=1"}
    shown = as_ana.post(url, asked, headers={"HX-Request": "true"}).content.decode()
    assert "desk-state" in shown
    assert "desk-accept" not in shown


def test_own_numbers_lead_back_to_the_page_they_were_asked_from(as_ana, ben, four):
    shown = page(as_ana, ben).content.decode()
    here = reverse("client-proposals", args=[ben.public_id])
    url = reverse("proposal", args=[four[0].public_id])
    assert f'href="{url}?next={here}"' in shown
    asked = {"do": "edit", "load": "77.5", "sets": "3", "reps_low": "5", "reps_high": "5", "next": here}
    assert f'name="next" value="{here}"' in as_ana.get(url, {"next": here}).content.decode()
    assert as_ana.post(url, asked)["Location"] == here
