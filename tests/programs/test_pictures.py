"""The drawings of exercises on their pages and in their form."""

import pytest
from django.urls import reverse

from programs.drawings.figures import keys
from programs.models import Exercise
from programs.pictures import start_and_end
from programs.seeding import seed_practice
from tests.factories import ExerciseFactory


def test_an_exercise_without_a_drawing_or_with_one_no_longer_on_file_shows_none(db, as_ana, ana):
    assert start_and_end("") == start_and_end("a-drawing-that-went") == ""
    for key in ("", "a-drawing-that-went"):
        plain = ExerciseFactory(practice=ana.practice, figure=key)
        response = as_ana.get(reverse("exercise", args=[plain.public_id]))
        assert b"exercise-figure" not in response.content


@pytest.mark.parametrize("key", ["push-up", "pull-up"])
def test_the_page_of_an_exercise_shows_its_start_and_end_beside_the_words(as_ana, ana, key):
    drawn = ExerciseFactory(practice=ana.practice, figure=key)
    content = as_ana.get(reverse("exercise", args=[drawn.public_id])).content.decode()

    assert content.count("exercise-figure") == 1
    assert start_and_end(key) in content
    assert 'style="' not in content


def test_the_form_offers_every_drawing_by_the_name_its_exercise_has_here(as_ana, ana):
    seed_practice(ana.practice)
    squat = Exercise.objects.get(practice=ana.practice, seed_key="barbell-back-squat")
    Exercise.objects.filter(pk=squat.pk).update(name="Squat, bar on the back")
    content = as_ana.get(reverse("exercise-edit", args=[squat.public_id])).content.decode()

    assert '<option value="barbell-back-squat" selected>Squat, bar on the back</option>' in content
    assert all(f'<option value="{key}"' in content for key in keys())
    assert "no drawing" in content


def test_a_coachs_own_exercise_takes_a_drawing_by_saying_what_it_looks_like(ana):
    from programs.editor import ExerciseEditor
    from programs.models import ExerciseText

    own = Exercise(practice=ana.practice, load_step="2.5")
    facts = ExerciseEditor(None, own, ExerciseText(language="en"), named=False).facts
    assert facts["figure"].value() == ""
    offered = dict(facts.fields["figure"].choices)
    assert offered["conventional-deadlift"] == "Conventional deadlift"
    assert set(offered) == {"", *keys()}
