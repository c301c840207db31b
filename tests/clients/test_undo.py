"""Undo behind toasts: own practice only, refusals with their reason."""

from django.urls import reverse

from clients.models import Draft
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from tests.factories import DraftFactory


def rename(client, name):
    with journal.act(client.practice, client.coach, "client.change", about=f"client:{client.public_id}") as entry:
        entry.change(client)
        client.name = name
        client.save()
    return entry.entry


def undo(browser, entry, **kwargs):
    return browser.post(reverse("undo", args=[entry.public_id]), **kwargs)


def test_an_act_is_taken_back_and_done_again(as_ana, ben):
    entry = rename(ben, "Ben Kay")
    page = undo(as_ana, entry, follow=True).content.decode()
    ben.refresh_from_db()
    assert ben.name == "Ben Quay"
    undone = JournalEntry.objects.get(undoes=entry)
    assert "Taken back." in page and reverse("undo", args=[undone.public_id]) in page
    undo(as_ana, undone)
    ben.refresh_from_db()
    assert ben.name == "Ben Kay"


def test_what_later_acts_build_on_is_refused_with_the_reason(as_ana, ben):
    first = rename(ben, "Ben Kay")
    rename(ben, "Ben Oar")
    page = undo(as_ana, first, follow=True).content.decode()
    ben.refresh_from_db()
    assert ben.name == "Ben Oar"
    assert "something done later builds on it" in page


def test_taking_back_twice_says_so(as_ana, ben):
    entry = rename(ben, "Ben Kay")
    undo(as_ana, entry)
    assert "taken back already" in undo(as_ana, entry, follow=True).content.decode()


def test_another_practice_can_not_undo(as_cleo, ben):
    entry = rename(ben, "Ben Kay")
    assert undo(as_cleo, entry).status_code == 404
    ben.refresh_from_db()
    assert ben.name == "Ben Kay"


def test_undo_is_a_post(as_ana, ben):
    assert as_ana.get(reverse("undo", args=[rename(ben, "Ben Kay").public_id])).status_code == 405


def test_it_goes_back_to_the_page_that_asked_and_to_no_other_site(as_ana, ben):
    page = reverse("client-notes", args=[ben.public_id])
    came = undo(as_ana, rename(ben, "Ben Kay"), headers={"Referer": f"http://testserver{page}"})
    assert came.headers["Location"] == page
    came = undo(as_ana, rename(ben, "Ben Oar"), headers={"Referer": "https://example.org/clients/"})
    assert came.headers["Location"] == reverse("clients")
    answer = as_ana.post(
        reverse("undo", args=[rename(ben, "Ben Low").public_id]), {"next": "https://example.org/elsewhere"}
    )
    assert answer.headers["Location"] == reverse("clients")


def test_undoing_a_drafts_edit_raises_its_revision(as_ana, ben):
    draft = DraftFactory(client=ben, place__practice=ben.practice, outline__practice=ben.practice)
    with journal.act(ben.practice, ben.coach, "draft.weeks", about=f"draft:{draft.public_id}") as entry:
        entry.change(draft)
        draft.weeks = 8
        draft.revision += 1
        draft.save()
    undo(as_ana, entry.entry)
    assert Draft.objects.get(pk=draft.pk).weeks == 6
    assert Draft.objects.get(pk=draft.pk).revision == draft.revision + 1
