"""First set-up, signing in, and what slows guessing down."""

import pytest
from django.test import Client as Browser
from django.urls import reverse

from coachdesk.practice import setup
from coachdesk.practice.forms import SIGN_IN_TRIES
from coachdesk.practice.models import Coach, Practice, Throttle
from tests.factories import CoachFactory

PASSWORD = "slack tide at noon"
OWNER = {
    "owner_name": "Sanna Keel",
    "email": "Sanna@Example.org",
    "password": PASSWORD,
    "name": "Net Loft",
    "unit": "kg",
    "language": "en",
    "time_zone": "Europe/Helsinki",
    "week_start": "0",
}


@pytest.fixture
def signed_up(db):
    coach = CoachFactory(email="sanna@example.org", is_owner=True)
    coach.set_password(PASSWORD)
    coach.save()
    return coach


def test_the_first_page_leads_to_set_up_until_somebody_can_sign_in(client, db):
    assert client.get(reverse("sign-in")).headers["Location"] == reverse("set-up")


def test_set_up_from_this_machine_makes_owner_and_practice(db):
    browser = Browser(enforce_csrf_checks=True, headers={"host": "127.0.0.1:8000"})
    page = browser.get(reverse("set-up"))
    assert "code" not in page.context["form"].fields
    answer = browser.post(reverse("set-up"), {**OWNER, "csrfmiddlewaretoken": page.context["csrf_token"]})
    assert answer.status_code == 302
    coach = Coach.objects.get()
    assert (coach.email, coach.is_owner, coach.practice.name) == ("sanna@example.org", True, "Net Loft")
    assert coach.check_password(PASSWORD)


def test_set_up_is_over_once_somebody_can_sign_in(client, signed_up):
    assert client.get(reverse("set-up")).headers["Location"] == reverse("sign-in")
    client.post(reverse("set-up"), OWNER)
    assert Practice.objects.count() == 1


@pytest.mark.parametrize(
    "way",
    [
        {"REMOTE_ADDR": "10.0.0.9"},
        {"HTTP_HOST": "127.0.0.1", "HTTP_X_FORWARDED_FOR": "10.0.0.9"},
        {"HTTP_HOST": "localhost", "HTTP_FORWARDED": "for=10.0.0.9"},
    ],
)
def test_from_elsewhere_set_up_takes_the_code_of_the_terminal(client, db, way):
    wrong = client.post(reverse("set-up"), {**OWNER, "code": "AAAAAAAAAA"}, **way)
    assert wrong.status_code == 422
    assert not Coach.objects.exists()
    assert wrong.context["form"].data["owner_name"] == "Sanna Keel"
    right = client.post(reverse("set-up"), {**OWNER, "code": setup.current_code().lower()}, **way)
    assert right.status_code == 302
    assert not (setup.settings.DATA_DIR / "setup-code").exists()


def test_the_code_is_readable_by_its_owner_alone(db):
    code = setup.current_code()
    assert setup.current_code() == code
    assert (setup.settings.DATA_DIR / "setup-code").stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("password", "short", "10 characters"),
        ("password", "1234567890123", "numeric"),
        ("email", "not-an-address", "email"),
        ("time_zone", "Mars/Base", "time_zone"),
        ("name", "", "Fill this in"),
    ],
)
def test_bad_set_up_input_is_named_beside_its_field_and_nothing_typed_is_lost(client, db, field, value, said):
    answer = client.post(reverse("set-up"), {**OWNER, field: value})
    assert answer.status_code == 422
    form = answer.context["form"]
    assert field in form.errors
    assert form.data["owner_name"] == "Sanna Keel"
    assert said in str(form.errors.as_data()) + str(form.errors) or field == "time_zone"


def test_sign_in_and_out(client, signed_up):
    answer = client.post(reverse("sign-in"), {"email": "SANNA@example.org", "password": PASSWORD, "next": "/account/"})
    assert answer.headers["Location"] == "/account/"
    assert client.get(reverse("account")).status_code == 200
    client.post(reverse("sign-out"))
    assert client.get(reverse("account")).status_code == 302


def test_sign_in_goes_on_only_to_pages_of_ours(client, signed_up):
    body = {"email": "sanna@example.org", "password": PASSWORD, "next": "https://elsewhere.example/"}
    assert client.post(reverse("sign-in"), body).headers["Location"] == reverse("desk")


def test_guessing_is_slowed_down_by_stored_counters(client, signed_up):
    wrong = {"email": "sanna@example.org", "password": "wrong but long"}
    for _ in range(SIGN_IN_TRIES):
        assert client.post(reverse("sign-in"), wrong).status_code == 422
    right = client.post(reverse("sign-in"), {**wrong, "password": PASSWORD})
    assert right.status_code == 422
    assert right.context["form"].has_error("__all__", "throttled")
    assert not Throttle.objects.filter(key__contains="sanna").exists()


def test_a_coach_kept_out_cannot_sign_in(client, signed_up):
    signed_up.is_active = False
    signed_up.save()
    answer = client.post(reverse("sign-in"), {"email": "sanna@example.org", "password": PASSWORD})
    assert answer.status_code == 422


def test_a_fragment_asked_for_after_signing_out_sends_the_page_to_sign_in(client, signed_up):
    answer = client.get(reverse("account"), HTTP_HX_REQUEST="true")
    assert answer.status_code == 204
    assert answer.headers["HX-Redirect"] == reverse("sign-in")


def test_only_the_owner_manages_the_practice(ana, as_ana):
    helper = CoachFactory(practice=ana.practice)
    browser = Browser()
    browser.force_login(helper)
    assert browser.get(reverse("practice")).status_code == 404
    assert as_ana.get(reverse("practice")).status_code == 200
    made = as_ana.post(
        reverse("coach-new"), {"name": "Ilo", "email": "ilo@example.org", "password": "grey heron wading"}
    )
    assert made.status_code == 302
    assert Coach.objects.get(email="ilo@example.org").practice == ana.practice
    as_ana.post(reverse("coach-active", args=[helper.public_id]), {"active": "0"})
    helper.refresh_from_db()
    assert not helper.is_active


def test_an_owner_cannot_lock_themselves_or_strangers_out(ana, as_ana, cleo):
    for coach in (ana, cleo):
        assert as_ana.post(reverse("coach-active", args=[coach.public_id]), {"active": "0"}).status_code == 404
        coach.refresh_from_db()
        assert coach.is_active


def test_passwords_are_hashed_with_argon2(settings, db):
    from coachdesk import settings as real

    assert real.PASSWORD_HASHERS[0].endswith("Argon2PasswordHasher")


def test_change_of_password_asks_for_the_old_one(ana, as_ana):
    ana.set_password(PASSWORD)
    ana.save()
    browser = Browser()
    browser.force_login(ana)
    wrong = browser.post(reverse("account"), {"old_password": "no", "password": "a new long one"})
    assert wrong.status_code == 422
    right = browser.post(reverse("account"), {"old_password": PASSWORD, "password": "a new long one"})
    assert right.status_code == 302
    ana.refresh_from_db()
    assert ana.check_password("a new long one")
