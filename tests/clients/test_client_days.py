"""Days a client has, likes and cannot have: what the form takes, and where the composed sessions fall."""

import pytest
from django.urls import reverse

from clients.forms.people import TrainingForm
from tests.clients.weeks import draft_for

pytestmark = pytest.mark.django_db

MON, TUE, WED, THU, FRI, SAT, SUN = range(7)


def days_of(draft):
    return [row["weekday"] for row in draft.document["days"]]


def filled(ana, ben, **changes):
    asked = {
        "experience": "intermediate",
        "sessions_per_week": 2,
        "minutes": 60,
        "days": [0, 3],
        "order_mode": "fixed",
        **changes,
    }
    return TrainingForm(asked, practice=ana.practice, client=ben)


def test_impossible_days_stay_free_though_the_others_are_too_few(ana, ben):
    ben.days, ben.days_never = [MON], [WED, THU, FRI]
    ben.save()
    assert days_of(draft_for(ben, ana)[0]) == [TUE, SAT]


def test_of_equally_restful_days_the_liked_ones_are_taken(ana, ben):
    ben.days, ben.days_liked = list(range(7)), [TUE, SAT]
    ben.save()
    assert days_of(draft_for(ben, ana)[0]) == [TUE, SAT]


def test_recovery_comes_before_liking(ana, ben):
    ben.days, ben.days_liked = [MON, TUE, THU], [MON, TUE]
    ben.save()
    found = days_of(draft_for(ben, ana)[0])
    assert found in ([MON, THU], [TUE, THU]) and found != [MON, TUE]


def test_where_too_few_days_are_possible_the_sessions_have_none(ana, ben):
    ben.days, ben.days_never = [], [MON, TUE, WED, THU, FRI, SAT]
    ben.save()
    assert days_of(draft_for(ben, ana)[0]) == [None, None]


def test_a_day_is_not_both_chosen_and_impossible(ana, ben):
    assert filled(ana, ben).is_valid()
    for both in ({"days_never": [0]}, {"days_liked": [5], "days_never": [5]}):
        form = filled(ana, ben, **both)
        assert "days_never" in form.errors
    assert "days_never" in filled(ana, ben, days=[], order_mode="next", days_never=list(range(7))).errors


def test_enough_for_a_week_is_no_more_than_the_week_has(ana, ben):
    assert "week_minimum" in filled(ana, ben, order_mode="list", week_minimum=3).errors
    assert filled(ana, ben, order_mode="list", week_minimum=2).is_valid()


def test_the_profile_takes_and_shows_them(as_ana, ben):
    url = reverse("client-change", args=[ben.public_id, "training"])
    asked = {
        "experience": "intermediate",
        "sessions_per_week": 2,
        "minutes": 60,
        "days": [0, 3],
        "days_liked": [3],
        "days_never": [6],
        "order_mode": "list",
        "week_minimum": 1,
    }
    as_ana.post(url, asked)
    ben.refresh_from_db()
    assert (ben.days_liked, ben.days_never, ben.week_minimum) == ([3], [6], 1)
    page = as_ana.get(reverse("client", args=[ben.public_id])).content.decode()
    assert "Sunday" in page and "1 is enough" in page
