"""How a stored load reads to a coach: help, nothing, and what is added, whichever side the minus is on."""

from types import SimpleNamespace

import pytest

from clients.models import TargetSet
from clients.proposal_words import figure, whole_words
from clients.reads.blocks import load_of_set
from programs.units import columns, load_of


def on(load_entry, fraction=0.95):
    return SimpleNamespace(load_entry=load_entry, bodyweight_fraction=fraction)


@pytest.mark.parametrize(
    ("value", "exercise", "words"),
    [
        (10, on("added"), "+10 kg"),
        (0, on("added"), "bodyweight"),
        (-15, on("added"), "15 kg help"),
        (20, on("assisted"), "20 kg help"),
        (0, on("assisted"), "no help"),
        (-2.5, on("assisted"), "+2.5 kg"),
        (20, on("assisted", 0), "20 kg help"),
        (26, on("per_hand", 0), "26 kg each"),
        (60, on("total", 0), "60 kg"),
    ],
)
def test_a_planned_load(value, exercise, words):
    assert load_of_set(TargetSet(**columns(load_of(value, "kg"))), exercise).replace("\u00a0", " ") == words


def proposal(load_entry, old, new, fraction=0.95):
    ask = {"sets": 3, "reps_low": 6, "reps_high": 8, "unit": "kg"}
    return SimpleNamespace(
        exercise=on(load_entry, fraction),
        old=ask | {"load": old},
        new=ask | {"load": new},
    )


@pytest.mark.parametrize(
    ("load_entry", "old", "new", "shown"),
    [
        ("added", 5.0, 7.5, ("5", "+7.5", "kg")),
        ("added", -15.0, -10.0, ("15", "10", "kg help")),
        ("assisted", 15.0, 10.0, ("15", "10", "kg help")),
        ("assisted", 0.0, -2.5, ("0", "+2.5", "kg")),
        ("total", 60.0, 62.5, ("60", "62.5", "kg")),
    ],
)
def test_a_proposed_load(load_entry, old, new, shown):
    found = figure(proposal(load_entry, old, new))
    assert (found.old, found.new, found.unit) == shown


@pytest.mark.parametrize(
    ("load_entry", "new", "words"),
    [
        ("added", 0.0, "bodyweight, 3 × 6–8"),
        ("added", -10.0, "10 kg help, 3 × 6–8"),
        ("assisted", -2.5, "+2.5 kg, 3 × 6–8"),
        ("total", 60.0, "60 kg, 3 × 6–8"),
        ("total", None, "3 × 6–8"),
    ],
)
def test_all_that_is_asked_for(load_entry, new, words):
    row = proposal(load_entry, None, new)
    assert whole_words(row.new, row).replace("\u00a0", " ") == words


def test_what_is_left_out_or_to_be_found():
    row = proposal("total", 60.0, None)
    assert whole_words(row.new | {"sets": 0}, row) == "left out"
    assert whole_words(row.new | {"find_load": True}, row).replace("\u00a0", " ") == "3 × 6–8, load to find"
