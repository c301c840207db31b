"""The stamp of a library: another one after every change to its exercises, whoever makes it and however."""

import pytest
from django.db import connection, transaction

from coachdesk.practice import journal
from programs.models import Exercise, ExerciseJoint, ExerciseRegion, ExerciseText, LibraryStamp
from programs.seeding import seed_practice
from programs.services.exercises import copy_exercise, set_hidden
from programs.services.rows import fresh
from programs.stamps import set_up_stamps, stamp_of
from tests.factories import ExerciseFactory


@pytest.fixture
def hinge(ana):
    hinge = ExerciseFactory(practice=ana.practice, name="Hinge", regions={"hams": 4}, joints={"grip": 1})
    ExerciseText.objects.create(exercise=hinge, language="en", name="")
    return hinge


CHANGES = {
    "save": lambda hinge: hinge.save(),
    "many updated": lambda hinge: Exercise.objects.filter(pk=hinge.pk).update(name="Bow"),
    "many updated at once": lambda hinge: Exercise.objects.bulk_update([hinge], ["skill"]),
    "many made": lambda hinge: Exercise.objects.bulk_create([fresh(hinge, name="New")]),
    "many made or left": lambda hinge: Exercise.objects.bulk_create([fresh(hinge, name="New")], ignore_conflicts=True),
    "deleted": lambda hinge: hinge.delete(),
    "region": lambda hinge: hinge.regions.update(quarters=2),
    "region made": lambda hinge: ExerciseRegion.objects.bulk_create(
        [ExerciseRegion(exercise=hinge, region="lat", quarters=1)]
    ),
    "region deleted": lambda hinge: hinge.regions.all().delete(),
    "joint": lambda hinge: ExerciseJoint.objects.create(exercise=hinge, joint="elbow", severity=1),
    "words": lambda hinge: hinge.texts.update(name="Beuge"),
    "words deleted": lambda hinge: hinge.texts.all().delete(),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_every_change_renews_the_stamp(ana, hinge, change):
    before = stamp_of(ana.practice)
    change(hinge)
    assert before is not None and stamp_of(ana.practice) not in (None, before)


def test_a_statement_typed_by_hand_renews_it(ana, hinge):
    before = stamp_of(ana.practice)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE programs_exercise SET name = 'By hand' WHERE id = %s", [hinge.pk])
    assert stamp_of(ana.practice) != before


def test_an_act_and_its_undo_renew_it(ana, hinge):
    stamps = [stamp_of(ana.practice)]
    entry = set_hidden(hinge, ana, hinge.created_at)
    stamps.append(stamp_of(ana.practice))
    journal.undo(entry, ana)
    stamps.append(stamp_of(ana.practice))
    _copied, entry = copy_exercise(hinge, ana)
    stamps.append(stamp_of(ana.practice))
    journal.undo(entry, ana)
    stamps.append(stamp_of(ana.practice))
    assert len(set(stamps)) == len(stamps)


def test_seeding_renews_it(ana):
    before = stamp_of(ana.practice)
    seed_practice(ana.practice)
    assert stamp_of(ana.practice) not in (None, before)


def test_reading_and_other_practices_leave_it(ana, cleo, hinge):
    before = stamp_of(ana.practice)
    ExerciseFactory(practice=cleo.practice)
    list(Exercise.objects.with_facts())
    assert stamp_of(ana.practice) == before != stamp_of(cleo.practice)


def test_what_was_rolled_back_never_comes_again(ana, hinge):
    seen = set()
    for name in ("One", "Two", "Three"):
        with transaction.atomic():
            Exercise.objects.filter(pk=hinge.pk).update(name=name)
            seen.add(stamp_of(ana.practice))
            transaction.set_rollback(True)
    assert len({*seen, stamp_of(ana.practice)}) == 4


def test_a_practice_can_be_deleted_with_its_stamp(cleo):
    ExerciseFactory(practice=cleo.practice, regions={"hams": 4})
    practice = cleo.practice
    cleo.delete()
    practice.delete()
    connection.check_constraints()
    assert not LibraryStamp.objects.filter(practice_id=practice.pk).exists()


def test_setting_up_again_makes_the_triggers_anew_and_renews_the_stamps(ana, hinge):
    before = stamp_of(ana.practice)
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("DROP TRIGGER programs_exercise_stamp_update")
    set_up_stamps(using="default")
    renewed = stamp_of(ana.practice)
    hinge.save()
    assert len({before, renewed, stamp_of(ana.practice)}) == 3


def test_a_practice_without_exercises_gets_a_stamp_with_its_first(ana):
    assert stamp_of(ana.practice) is None
    ExerciseFactory(practice=ana.practice)
    assert stamp_of(ana.practice) is not None
