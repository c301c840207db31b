"""The demo: whole, honest, repeatable, and gone in one act. It also shows that no row points into another practice."""

import pytest
from django.apps import apps
from django.db import models

from clients import demo
from clients.demo.people import CLIENTS, GONE
from clients.models import Client, LoggedSet, Place, Proposal, SheetVersion, TargetSet, TrainingSession
from clients.reads.racks import PlaceLoads
from coachdesk.practice.models import JournalEntry
from coachdesk.practice.owned import Owned
from programs.seeding import seed_practice
from tests.factories import ClientFactory


@pytest.fixture
def loaded(ana):
    demo.load_demo(ana)
    return ana.practice


def practice_of(row):
    return row.owning_practice() if isinstance(row, Owned) else None


def test_the_demo_is_whole_and_points_into_no_other_practice(loaded, ana, cleo):
    assert len(CLIENTS) == 8 and len(GONE) == 2
    assert Client.objects.for_practice(loaded).count() == len(CLIENTS) + len(GONE)
    by_status = {row.status: row for row in Client.objects.for_practice(loaded)}
    assert set(by_status) == {"active", "paused", "left"} and by_status["left"].keep_until
    assert not by_status["left"].blocks.active().exists() and by_status["paused"].blocks.active().exists()
    assert not Proposal.objects.waiting().exclude(client__status="active").exists()
    for gone in (by_status["left"], by_status["paused"]):
        assert not gone.bodyweights.filter(measured_on__gt=gone.status_since).exists()
    weeks = {row.cycle for row in TrainingSession.objects.filter(state="trained")}
    assert set(range(1, 13)) <= weeks
    assert LoggedSet.objects.count() > 3000
    assert SheetVersion.objects.exists()
    assert Proposal.objects.waiting().exists()

    # A second practice with rows of its own, and then every foreign key of every row.
    seed_practice(cleo.practice)
    ClientFactory(practice=cleo.practice, coach=cleo)
    for label in ("practice", "programs", "clients"):
        for model in apps.get_app_config(label).get_models():
            if not issubclass(model, Owned):
                continue
            owned = [
                field
                for field in model._meta.concrete_fields
                if isinstance(field, models.ForeignKey) and issubclass(field.related_model, Owned)
            ]
            for field in owned:
                mine, theirs = model.practice_path, f"{field.name}__{field.related_model.practice_path}"
                across = model._base_manager.exclude(**{field.name: None}).exclude(**{mine: models.F(theirs)})
                assert not across.exists(), f"{model._meta.label}.{field.name}"

    # Every load that was asked for can be put together where it was asked.
    for client in Client.objects.for_practice(loaded):
        loads = PlaceLoads(client.place, client)
        targets = TargetSet.objects.filter(prescription__session__block__client=client).exclude(load_value=None)
        from clients.reads.library import exercise_term

        racks = {}
        for target in targets.select_related("prescription__exercise"):
            exercise = target.prescription.exercise
            if exercise.pk not in racks:
                racks[exercise.pk] = loads.for_exercise(exercise_term(exercise)).rack
            assert racks[exercise.pk].has(float(target.load_value)), f"{client}: {exercise} {target.load_value}"

    assert demo.load_demo(ana) == 0

    own = ClientFactory(practice=loaded, coach=ana)
    assert demo.remove_demo(loaded) == len(CLIENTS) + len(GONE)
    assert list(Client.objects.for_practice(loaded)) == [own]
    assert not LoggedSet.objects.exists()
    assert not Place.objects.for_practice(loaded).exists()
    assert not JournalEntry.objects.for_practice(loaded).exists()
