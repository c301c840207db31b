"""Notes and documents of a client."""

import pytest
from django.urls import reverse

from clients.models import ClientLink, HealthNote, SessionNote, SheetVersion
from tests.factories import TrainingSessionFactory


def page(name, client):
    return reverse(name, args=[client.public_id])


def sheet(client, number=1):
    session = TrainingSessionFactory(block__client=client, name="Upper A")
    return SheetVersion.objects.create(session=session, number=number, document={"lines": []}, digest="d" * 64)


def test_a_note_is_kept_and_what_clients_said_stands_beside_it(as_ana, ben):
    session = TrainingSessionFactory(block__client=ben)
    SessionNote.objects.create(session=session, text="Slept four hours.")
    as_ana.post(page("client-notes", ben), {"note": "Likes to be asked twice."})
    html = as_ana.get(page("client-notes", ben)).content.decode()
    assert "Likes to be asked twice." in html and "Slept four hours." in html


def test_health_notes_are_counted_not_shown(as_ana, ben):
    HealthNote.objects.create(client=ben, text="sleeps badly")
    html = as_ana.get(page("client-notes", ben)).content.decode()
    assert "1 note on health is kept apart" in html and "sleeps badly" not in html


def test_a_link_is_made_closed_and_made_again(as_ana, ben):
    assert "Make the link" in as_ana.get(page("client-documents", ben)).content.decode()
    as_ana.post(page("client-link", ben), {"go": "make"})
    first = ClientLink.objects.get(client=ben)
    html = as_ana.get(page("client-documents", ben)).content.decode()
    assert first.token() in html
    assert "opens on this machine only" not in html  # asked for under another name than this machine's own
    as_ana.post(page("client-link", ben), {"go": "renew"})
    first.refresh_from_db()
    assert first.revoked_at is not None
    html = as_ana.get(page("client-documents", ben)).content.decode()
    assert first.token() not in html and ClientLink.objects.get(client=ben, revoked_at=None).token() in html


def test_on_this_machine_the_page_says_that_phones_can_not_open_the_link(as_ana, ben, settings):
    html = as_ana.get(page("client-documents", ben), headers={"host": "127.0.0.1:8000"}).content.decode()
    assert "opens on this machine only" in html


def test_looking_makes_no_link(as_ana, ben):
    as_ana.get(page("client-documents", ben))
    assert not ClientLink.objects.exists()


def test_sheets_handed_out_are_listed(as_ana, ben):
    version = sheet(ben)
    html = as_ana.get(page("client-documents", ben)).content.decode()
    assert "Upper A" in html and "issued" in html
    assert reverse("client-sheet-pdf", args=[ben.public_id, version.public_id, "phone"]) in html


def test_strangers_find_nothing(as_cleo, ben):
    for name in ("client-notes", "client-documents"):
        assert as_cleo.get(page(name, ben)).status_code == 404
    assert as_cleo.post(page("client-link", ben)).status_code == 404
    assert not ClientLink.objects.exists()


def test_a_link_is_made_by_post_alone(as_ana, ben):
    assert as_ana.get(page("client-link", ben)).status_code == 405


@pytest.mark.parametrize("count", [1, 30])
def test_documents_cost_the_same_however_many(as_ana, ben, count, django_assert_num_queries):
    session = TrainingSessionFactory(block__client=ben)
    for number in range(count):
        SheetVersion.objects.create(
            session=session, number=number + 1, document={}, digest="d" * 64, state="superseded"
        )
    with django_assert_num_queries(15):
        html = as_ana.get(page("client-documents", ben)).content.decode()
    assert html.count('<th scope="row">') == count
