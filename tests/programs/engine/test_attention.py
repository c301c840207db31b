from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from programs.engine.attention import (
    GROUP_OF_KIND,
    GROUPS,
    KINDS,
    REASONS,
    Flag,
    Pain,
    Standing,
    Waiting,
    clients_first,
    matters_of,
    ranked,
)

TODAY = date(2026, 11, 2)


def ago(days):
    return TODAY - timedelta(days=days)


def ahead(days):
    return TODAY + timedelta(days=days)


def kinds(standing):
    return [matter.kind for matter in ranked([standing], TODAY)]


def test_pain_comes_before_everything_but_red_flags():
    standings = [
        Standing("ends", block_ends=ahead(2)),
        Standing("proposal", proposals=[Waiting(ago(3), False)]),
        Standing("sore", pains=[Pain(ago(0), 4, "freeze", "knee", "left")]),
        Standing("doubt", doubts=[ago(1)]),
        Standing("flag", flags=[Flag(ago(0), "chest", "emergency")]),
        Standing("unsent", unsent=[ahead(1)]),
        Standing("missed", missed=[ago(2)]),
        Standing("clearance", cleared_until=ahead(20)),
        Standing("not cleared", cleared=False),
        Standing("fine"),
    ]
    expected = ["flag", "sore", "not cleared", "proposal", "unsent", "doubt", "missed", "ends", "clearance"]
    assert list(clients_first(standings, TODAY)) == expected
    assert [matter.kind for matter in ranked(standings, TODAY)] == list(KINDS)


def test_who_must_stop_comes_before_who_must_ease():
    eased = Standing("a", pains=[Pain(ago(0), 4, "freeze", "knee")])
    stopped = Standing("b", pains=[Pain(ago(1), 3, "stop", "elbow", "right")])
    assert clients_first([eased, stopped], TODAY) == ("b", "a")


def test_one_row_counts_all_pain_of_a_client_and_names_the_worst():
    (matter,) = matters_of(
        Standing("a", pains=[Pain(ago(2), 3, "freeze", "knee"), Pain(ago(0), 6, "stop", "shoulder", "left")]), TODAY
    )
    assert matter.because.params == {
        "part": "shoulder",
        "side": "left",
        "score": 6,
        "day": "2026-11-02",
        "count": 2,
    }
    assert matter.group == "pain"


def test_proposals_that_need_thought_come_before_plain_ones():
    plain = Standing("a", proposals=[Waiting(ago(9), True)] * 3)
    open_question = Standing("b", proposals=[Waiting(ago(1), True), Waiting(ago(1), False)])
    assert clients_first([plain, open_question], TODAY) == ("b", "a")
    assert ranked([open_question], TODAY)[0].because.params["plain"] == 1


def test_the_nearer_session_without_a_sheet_comes_first_and_far_ones_not_at_all():
    assert clients_first([Standing("a", unsent=[ahead(3)]), Standing("b", unsent=[ahead(0)])], TODAY) == ("b", "a")
    assert kinds(Standing("c", unsent=[ahead(4), ago(1)])) == []


def test_days_away_count_before_sessions_missed():
    away = Standing("a", missed=[ago(3)], last_session=ago(11))
    busy = Standing("b", missed=[ago(3), ago(5)], last_session=ago(10))
    assert clients_first([busy, away], TODAY) == ("a", "b")
    assert ranked([away], TODAY)[0].because.code == "away_for_long"


def test_a_block_that_ends_is_named_until_the_next_is_ready():
    assert kinds(Standing("a", block_ends=ahead(10))) == ["block_ending"]
    assert kinds(Standing("a", block_ends=ahead(11))) == []
    assert kinds(Standing("a", block_ends=ahead(3), next_ready=True)) == []
    assert kinds(Standing("a", block_ends=ago(2))) == ["block_ending"]


def test_a_clearance_is_named_before_it_ends_and_missed_after():
    assert kinds(Standing("a", cleared_until=ahead(31))) == []
    assert kinds(Standing("a", cleared_until=ahead(30))) == ["clearance_expiring"]
    assert kinds(Standing("a", cleared_until=ago(1))) == ["clearance_missing"]


def test_every_kind_stands_in_a_group():
    assert set(GROUP_OF_KIND) == set(KINDS)
    assert set(GROUP_OF_KIND.values()) == set(GROUPS)


days = st.integers(-40, 40).map(ahead)
standings = st.lists(
    st.builds(
        Standing,
        client=st.sampled_from("abcdefgh"),
        pains=st.lists(
            st.builds(Pain, days, st.integers(0, 10), st.sampled_from(["go_on", "freeze", "stop"]), st.just("knee")),
            max_size=2,
        ),
        flags=st.lists(st.builds(Flag, days, st.just("chest"), st.sampled_from(["emergency", "same_day"])), max_size=2),
        proposals=st.lists(st.builds(Waiting, days, st.booleans()), max_size=3),
        unsent=st.lists(days, max_size=3),
        doubts=st.lists(days, max_size=3),
        missed=st.lists(days, max_size=3),
        last_session=st.none() | days,
        block_ends=st.none() | days,
        cleared=st.booleans(),
        cleared_until=st.none() | days,
    ),
    max_size=8,
)


@given(standings, st.randoms(use_true_random=False))
def test_the_order_depends_on_the_matters_alone(some, shuffler):
    shuffled = list(some)
    shuffler.shuffle(shuffled)
    first, second = ranked(some, TODAY), ranked(shuffled, TODAY)
    assert [(m.client, m.kind, m.day, m.urgency) for m in first] == [
        (m.client, m.kind, m.day, m.urgency) for m in second
    ]
    ranks = [KINDS.index(matter.kind) for matter in first]
    assert ranks == sorted(ranks)
    for matter in first:
        assert set(matter.because.params) == set(REASONS[matter.because.code])
