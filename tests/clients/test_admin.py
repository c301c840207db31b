"""The tables of support work: they open for staff, and health is not among them."""

import pytest
from django.contrib import admin
from django.urls import reverse

from clients import models
from tests.factories import CoachFactory, LoggedSetFactory, StationFactory

HEALTH = (
    models.HealthAnswers,
    models.Condition,
    models.Clearance,
    models.PainReport,
    models.HealthNote,
    models.HealthRead,
)
OURS = [model for model in admin.site._registry if model._meta.app_label in ("clients", "programs")]


@pytest.fixture
def staff(client, ana):
    client.force_login(CoachFactory(practice=ana.practice, is_staff=True, is_superuser=True))
    return client


@pytest.mark.parametrize("model", HEALTH)
def test_health_is_not_among_the_tables(model):
    assert model not in admin.site._registry


@pytest.mark.parametrize("model", OURS, ids=lambda model: model.__name__)
def test_every_table_opens(staff, ben, model):
    LoggedSetFactory(client=ben)
    StationFactory(place__practice=ben.practice)
    name = f"admin:{model._meta.app_label}_{model._meta.model_name}"
    assert staff.get(reverse(f"{name}_changelist")).status_code == 200
    row = model._default_manager.first()
    if row is not None:
        assert staff.get(reverse(f"{name}_change", args=[row.pk])).status_code == 200


def test_what_was_logged_can_not_be_changed_there(staff, ben):
    logged = LoggedSetFactory(client=ben)
    page = reverse("admin:clients_loggedset_change", args=[logged.pk])
    assert staff.post(page, {"reps": 99}).status_code == 403
    assert staff.get(reverse("admin:clients_loggedset_add")).status_code == 403


def test_a_coach_who_is_no_staff_does_not_get_in(as_ana):
    assert as_ana.get(reverse("admin:index")).status_code == 302
