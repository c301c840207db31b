"""An exercise's names: a new name keeps the old one known, and no name means two exercises."""

from html import unescape

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clients import receiving
from clients.models import LoggedSet
from clients.pasted import hear, names_of
from clients.reads.log_grid import grid_of
from clients.receiving import Arrival, SetValues
from programs.models import Exercise, ExerciseText
from programs.seeding import seed_practice
from tests.factories import (
    MONDAY,
    ExerciseFactory,
    HealthAnswersFactory,
    LoggedSetFactory,
    PrescriptionFactory,
    TrainingSessionFactory,
)
from tests.programs.test_library_editing import posted_of, undo_address


@pytest.fixture
def hinge(ana):
    return ExerciseFactory(practice=ana.practice, name="Romanian deadlift", aliases=["RDL"])


@pytest.fixture
def curl(ana):
    return ExerciseFactory(practice=ana.practice, name="Leg curl", aliases=["hamstring curl"])


def edit(browser, exercise, **changes):
    address = reverse("exercise-edit", args=[exercise.public_id])
    return browser.post(address, posted_of(browser.get(address)) | changes, follow=True)


def without(fields, name):
    return {key: value for key, value in fields.items() if key != name}


def test_a_new_name_keeps_the_old_one_and_the_history(as_ana, ben, hinge):
    logged = LoggedSetFactory(client=ben, exercise=hinge)
    response = edit(as_ana, hinge, name="Stiff-leg deadlift")
    hinge.refresh_from_db()
    assert (hinge.name, hinge.aliases) == ("Stiff-leg deadlift", ["RDL", "Romanian deadlift"])
    assert LoggedSet.objects.get(exercise=hinge) == logged
    as_ana.post(undo_address(response))
    hinge.refresh_from_db()
    assert (hinge.name, hinge.aliases, hinge.edited_fields) == ("Romanian deadlift", ["RDL"], [])


def test_a_copy_has_names_of_its_own_and_drops_the_one_that_copying_gave(as_ana, hinge):
    ExerciseText.objects.create(exercise=hinge, language="de", name="Rumänisches Kreuzheben")
    for name in ("Romanian deadlift (copy)", "Romanian deadlift (copy 2)"):
        as_ana.post(reverse("exercise-copy", args=[hinge.public_id]))
        copied = Exercise.objects.get(name=name)
        assert copied.aliases == [] and copied.texts.get().name == ""
        assert "keep_name" not in posted_of(as_ana.get(reverse("exercise-edit", args=[copied.public_id])))
    edit(as_ana, copied, name="Stiff-leg deadlift")
    copied.refresh_from_db()
    assert (copied.name, copied.aliases) == ("Stiff-leg deadlift", [])


def test_the_old_name_can_be_given_up(as_ana, hinge):
    address = reverse("exercise-edit", args=[hinge.public_id])
    fields = posted_of(as_ana.get(address))
    assert fields["keep_name"] == "on"
    as_ana.post(address, without(fields, "keep_name") | {"name": "Hip hinge"})
    hinge.refresh_from_db()
    assert (hinge.name, hinge.aliases) == ("Hip hinge", ["RDL"])


@pytest.mark.parametrize("name", ["Kreuzheben, rumänisch", ""])
def test_a_name_in_another_language_is_kept_too(as_ana, hinge, name):
    ExerciseText.objects.create(exercise=hinge, language="de", name="Hüftbeuge")
    address = reverse("exercise-edit", args=[hinge.public_id]) + "?language=de"
    as_ana.post(address, posted_of(as_ana.get(address)) | {"words-name": name, "words-reason": "Für die Hüfte."})
    hinge.refresh_from_db()
    assert hinge.texts.get().name == name and hinge.aliases == ["RDL", "Hüftbeuge"]
    as_ana.post(address, without(posted_of(as_ana.get(address)), "keep_name") | {"words-name": "Beugen"})
    hinge.refresh_from_db()
    assert hinge.texts.get().name == "Beugen" and hinge.aliases == ["RDL", "Hüftbeuge"]


@pytest.mark.parametrize("name", ["Romanian Deadlift", "romanian-deadlift"])
def test_the_same_name_written_otherwise_is_not_kept_twice(as_ana, hinge, name):
    edit(as_ana, hinge, name=name)
    hinge.refresh_from_db()
    assert (hinge.name, hinge.aliases) == (name, ["RDL"])


def test_a_name_taken_from_the_other_names_changes_places(as_ana, hinge):
    edit(as_ana, hinge, name="RDL")
    hinge.refresh_from_db()
    assert (hinge.name, hinge.aliases) == ("RDL", ["Romanian deadlift"])
    edit(as_ana, hinge, name="Romanian deadlift")
    hinge.refresh_from_db()
    assert (hinge.name, hinge.aliases) == ("Romanian deadlift", ["RDL"])


@pytest.mark.parametrize(
    "changes, field, sentence",
    [
        ({"name": "Leg curl"}, "id_name", "Another exercise has this name."),
        ({"name": "leg-curl"}, "id_name", "Another exercise has this name."),
        ({"name": "Hamstring curl"}, "id_name", "Leg curl is also called this."),
        ({"name": "Beinbeuger"}, "id_name", "Leg curl is also called this."),
        ({"aliases": "RDL, leg curl"}, "id_aliases", "“leg curl” already means Leg curl"),
        ({"aliases": "Hamstring Curl"}, "id_aliases", "“Hamstring Curl” already means Leg curl"),
        ({"aliases": ", ".join(f"name {n}" for n in range(21))}, "id_aliases", "These are 21 names, and 20"),
    ],
)
def test_a_name_that_means_another_exercise_is_told_beside_its_field(as_ana, hinge, curl, changes, field, sentence):
    ExerciseText.objects.create(exercise=curl, language="de", name="Beinbeuger")
    response = edit(as_ana, hinge, **changes)
    text = unescape(response.text)
    assert response.status_code == 422 and f'href="#{field}"' in text and text.count(sentence) == 2
    sent = posted_of(response)
    assert {name: sent[name] for name in changes} == changes
    hinge.refresh_from_db()
    assert (hinge.name, hinge.aliases) == ("Romanian deadlift", ["RDL"])


def test_an_old_name_that_means_another_exercise_too_is_asked_about(as_ana, hinge, curl):
    Exercise.objects.filter(pk=curl.pk).update(aliases=["romanian deadlift"])
    response = edit(as_ana, hinge, name="Hip hinge")
    assert response.status_code == 422 and "also means Leg curl" in response.text
    address = reverse("exercise-edit", args=[hinge.public_id])
    as_ana.post(address, without(posted_of(response), "keep_name"))
    hinge.refresh_from_db()
    assert (hinge.name, hinge.aliases) == ("Hip hinge", ["RDL"])


def test_names_that_meant_two_exercises_before_do_not_stop_other_edits(as_ana, hinge, curl):
    Exercise.objects.filter(pk=hinge.pk).update(aliases=["leg curl"])
    assert edit(as_ana, hinge, rest_s="75").status_code == 200
    hinge.refresh_from_db()
    assert hinge.rest_s == 75 and hinge.aliases == ["leg curl"]


def test_names_with_commas_come_back_whole(as_ana, ana):
    row = ExerciseFactory(practice=ana.practice, name="Machine row, one arm")
    edit(as_ana, row, name="One-arm row")
    row.refresh_from_db()
    assert row.aliases == ["Machine row, one arm"]
    edit(as_ana, row, name="Row")
    row.refresh_from_db()
    assert row.aliases == ["Machine row, one arm", "One-arm row"]
    assert "is as it was" in edit(as_ana, row).text


def test_another_practice_s_names_are_nobody_s_business(as_ana, hinge, cleo):
    ExerciseFactory(practice=cleo.practice, name="Hip hinge", aliases=["hinge"])
    assert edit(as_ana, hinge, name="Hip hinge", aliases="hinge").status_code == 200


def test_a_new_exercise_is_not_asked_about_an_old_name(as_ana):
    assert "keep_name" not in posted_of(as_ana.get(reverse("exercise-new")))


def test_the_seed_files_leave_names_alone_that_a_coach_changed(as_ana, ana):
    seed_practice(ana.practice)
    row = Exercise.objects.get(seed_key="barbell-romanian-deadlift")
    old = row.name
    edit(as_ana, row, name="Bar hinge")
    Exercise.objects.filter(pk=row.pk).update(seed_version=1)
    seed_practice(ana.practice)
    row.refresh_from_db()
    assert row.name == "Bar hinge" and old in row.aliases


def test_names_are_asked_for_once_however_many_exercises(as_ana, hinge, ana):
    address = reverse("exercise-edit", args=[hinge.public_id])
    ExerciseFactory(practice=ana.practice, name="Leg curl")
    fields = posted_of(as_ana.get(address)) | {"name": "Leg curl", "aliases": "a, b, c"}
    counts = []
    for _round in range(2):
        with CaptureQueriesContext(connection) as queries:
            assert as_ana.post(address, fields).status_code == 422
        counts.append(len(queries))
        ExerciseFactory.create_batch(30, practice=ana.practice)
    assert counts[0] == counts[1]


# What comes in


def test_a_message_under_the_old_name_is_understood(as_ana, ben, hinge):
    HealthAnswersFactory(client=ben)
    session = TrainingSessionFactory(block__client=ben)
    PrescriptionFactory(session=session, exercise=hinge)
    edit(as_ana, hinge, name="Hip hinge")
    grid = grid_of(session)
    heard = hear(grid, "Romanian deadlift 20x8\nhip hinge 22x6", names_of(grid), "en", {})
    assert [(line.line, line.questions) for line in heard] == [(1, ()), (1, ())]


def test_a_sheet_under_the_old_name_is_received(as_ana, ben, hinge):
    session = TrainingSessionFactory(block__client=ben)
    line = {"number": 1, "slot": "hinge", "exercise": {"id": hinge.key, "name": "Romanian deadlift"}, "sets": []}
    edit(as_ana, hinge, name="Hip hinge")
    arrival = Arrival(way="paper", performed_on=MONDAY)
    receiving.take_session_set(ben, session, line, 1, SetValues(reps=8), key="a", arrival=arrival)
    assert LoggedSet.objects.get().exercise == hinge
