"""The usual step of an exercise, in the unit that a practice works in."""

from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from programs import load_steps
from tests.factories import ExerciseFactory
from tests.programs.test_library_editing import posted_of


@pytest.mark.parametrize(
    ("kilograms", "pounds"),
    [("1", "2.5"), ("1.25", "2.5"), ("2.50", "5"), ("5.00", "10"), ("10", "22.05"), ("0.5", "1.1"), ("2.27", "5")],
)
def test_what_is_common_in_kilograms_is_what_is_common_in_pounds(kilograms, pounds):
    assert load_steps.shown(Decimal(kilograms), "lb") == Decimal(pounds)
    assert load_steps.shown(Decimal(kilograms), "kg") == Decimal(kilograms)


@given(st.integers(2, 2200))
def test_a_step_typed_in_pounds_is_shown_as_it_was_typed(twentieths):
    typed = Decimal(twentieths) / 20
    assert load_steps.shown(load_steps.kept(typed, "lb"), "lb") == typed


@pytest.fixture
def pounds(ana):
    ana.practice.unit = "lb"
    ana.practice.save()
    return ana.practice


def test_a_practice_in_pounds_reads_the_step_in_pounds(as_ana, pounds):
    press = ExerciseFactory(practice=pounds)
    page = as_ana.get(reverse("exercise", args=[press.public_id])).content.decode()
    assert '5 <span class="unit">lb</span>' in " ".join(page.split())
    other = ExerciseFactory(practice=pounds, load_step="5")
    compared = as_ana.get(reverse("exercise-compare"), {"a": press.public_id, "b": other.public_id}).content.decode()
    assert "5\u00a0lb" in compared and "10\u00a0lb" in compared and "\u00a0kg" not in compared


@pytest.mark.parametrize("load_entry", ["none", "band", "numbered_setting"])
def test_what_has_no_weight_has_no_step(as_ana, ana, load_entry):
    exercise = ExerciseFactory(practice=ana.practice, load_entry=load_entry)
    assert "Usual load step" not in as_ana.get(reverse("exercise", args=[exercise.public_id])).content.decode()


def test_a_step_left_alone_is_kept_to_the_last_place_and_a_typed_one_is_in_pounds(as_ana, pounds):
    press = ExerciseFactory(practice=pounds)
    edit = reverse("exercise-edit", args=[press.public_id])
    assert posted_of(as_ana.get(edit))["load_step"] == "5"
    for typed, kept in (("5", "2.50"), ("7,5", "3.40"), ("110", "49.90")):
        sent = posted_of(as_ana.get(edit)) | {"load_step": typed}
        assert as_ana.post(edit, sent).status_code == 302
        press.refresh_from_db()
        assert press.load_step == Decimal(kept)
    assert as_ana.post(edit, sent | {"load_step": "111"}).status_code == 422
