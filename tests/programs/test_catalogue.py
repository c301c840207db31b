"""The catalogue: kept until an exercise changes, never longer, and the same as asking the database."""

import pytest
from django.utils.translation import override
from hypothesis import given
from hypothesis import strategies as st

from coachdesk.practice import journal
from programs import catalogue as module
from programs.catalogue import Listed, catalogue_of, named
from programs.finding import bits_of
from programs.models import Exercise, ExerciseText
from programs.seeding import seed_practice
from programs.services.exercises import set_hidden
from tests.factories import ExerciseFactory


@pytest.fixture
def row(ana):
    return ExerciseFactory(practice=ana.practice, name="Row", regions={"lat": 4, "biceps": 2}, joints={"grip": 1})


def found(catalogue, bits):
    return catalogue.listed([bits])[:]


def test_it_is_read_once_and_again_only_after_a_change(ana, row, django_assert_num_queries):
    first = catalogue_of(ana.practice)
    with django_assert_num_queries(1):
        assert catalogue_of(ana.practice) is first
    Exercise.objects.filter(pk=row.pk).update(skill="advanced")
    with django_assert_num_queries(5):
        assert catalogue_of(ana.practice) is not first


CHANGES = [
    (lambda row: Exercise.objects.filter(pk=row.pk).update(name="Pull"), lambda practice: named(practice, "pull")),
    (lambda row: Exercise.objects.filter(pk=row.pk).update(aliases=["Pull"]), lambda practice: named(practice, "pull")),
    (
        lambda row: Exercise.objects.filter(pk=row.pk).update(implement="kettlebell"),
        lambda practice: named(practice, "kettlebells"),
    ),
    (lambda row: row.regions.filter(region="biceps").update(region="hams"), lambda practice: named(practice, "hams")),
    (
        lambda row: row.joints.update(joint="elbow"),
        lambda practice: found(catalogue_of(practice), catalogue_of(practice).having("joint", "elbow")),
    ),
    (
        lambda row: ExerciseText.objects.create(exercise=row, language="de", name="Rudern"),
        lambda practice: named(practice, "rudern"),
    ),
    (
        lambda row: Exercise.objects.filter(pk=row.pk).update(needs_all=["box"]),
        lambda practice: sorted(
            {row.pk for row in Exercise.objects.all()}
            - set(
                found(
                    catalogue_of(practice),
                    catalogue_of(practice).at_stations({row.implement for row in Exercise.objects.all()}),
                )
            )
        ),
    ),
]


@pytest.mark.parametrize("change, ask", CHANGES)
def test_every_change_is_found_at_once(ana, row, change, ask):
    assert ask(ana.practice) == []
    change(row)
    assert ask(ana.practice) == [row.pk]


def test_a_hidden_exercise_is_gone_at_once_and_back_with_the_undo(ana, row):
    assert named(ana.practice, "row") == [row.pk]
    entry = set_hidden(row, ana, row.created_at)
    assert named(ana.practice, "row") == []
    journal.undo(entry, ana)
    assert named(ana.practice, "row") == [row.pk]


def test_without_a_stamp_nothing_is_kept(ana, row, monkeypatch):
    monkeypatch.setattr(module, "stamp_of", lambda practice: None)
    first = catalogue_of(ana.practice)
    assert catalogue_of(ana.practice) is not first


def test_each_language_has_words_of_its_own(ana, row):
    first = catalogue_of(ana.practice)
    with override("de"):
        assert catalogue_of(ana.practice) is not first


def test_practices_are_kept_apart(ana, cleo, row):
    ExerciseFactory(practice=cleo.practice, name="Row of Cleo’s")
    assert named(ana.practice, "row") == [row.pk]
    assert row.pk not in named(cleo.practice, "row")


def test_sets_are_what_the_database_answers(ana):
    seed_practice(ana.practice)
    rows = Exercise.objects.for_practice(ana.practice)
    catalogue = catalogue_of(ana.practice)
    assert found(catalogue, catalogue.shown) == list(rows.shown().values_list("pk", flat=True))
    for kind, value in (("pattern", "hinge"), ("implement", "cable"), ("skill", "advanced")):
        assert found(catalogue, catalogue.having(kind, value)) == list(
            rows.filter(**{kind: value}).values_list("pk", flat=True)
        )
    assert found(catalogue, catalogue.shown & ~catalogue.having("joint", "grip")) == list(
        rows.exclude(joints__joint="grip").values_list("pk", flat=True)
    )
    assert found(catalogue, catalogue.up_to_skill("intermediate")) == list(
        rows.filter(skill__in=["basic", "intermediate"]).values_list("pk", flat=True)
    )
    assert catalogue.listed(catalogue.counting_for("region:hams"))[:] == list(
        rows.filter(regions__region="hams").order_by("-regions__quarters", "name").values_list("pk", flat=True)
    )


@given(st.lists(st.integers(0, 3), max_size=40), st.integers(-45, 45), st.integers(-45, 45))
def test_pages_are_slices_of_all_that_is_listed(owners, first, last):
    """Each thing belongs to one of three sets or to none."""
    sets = [bits_of((at for at, owner in enumerate(owners) if owner == which), len(owners)) for which in (1, 2, 3)]
    pks = [100 + at for at in range(len(owners))]
    whole = [pks[at] for which in (1, 2, 3) for at, owner in enumerate(owners) if owner == which]
    listed = Listed(pks, sets)
    assert len(listed) == len(whole) and listed[first:last] == whole[first:last] and listed[:] == whole
    assert [listed[at] for at in range(len(whole))] == whole
