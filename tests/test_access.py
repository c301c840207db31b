"""Every address × wrong person, wrong method, no session, other practice, made from the list of addresses."""

import re
import uuid

import pytest
from django.test import Client as Browser
from django.urls import reverse

from clients import receiving
from clients.models import Clearance, ClientItem, Condition, HealthNote, Illness, SheetVersion, Station
from clients.receiving import Arrival, SetValues
from clients.services.links import calendar_feed
from coachdesk.practice import journal
from programs.models import Upload
from tests.factories import (
    MONDAY,
    ClientLinkFactory,
    DraftFactory,
    ExerciseFactory,
    LimitFactory,
    LoggedSetFactory,
    OutlineDayFactory,
    OutlineSlotFactory,
    PhotoFactory,
    PrescriptionFactory,
    ProposalFactory,
    RecentSetFactory,
    StationFactory,
    TrainingSessionFactory,
)
from tests.test_architecture import patterns

CONVERTER = re.compile(r"<(?:(\w+):)?(\w+)>")
PLAIN = {"int": 1, "str": "phone", "slug": "full"}
UNSUPPORTED = "PUT"
ROUTES = sorted({(route, view.access) for route, view in patterns()})


def upload_of(coach, exercise):
    """A table with one row that differs, one that is new and one that can't be used."""
    head = "id,name,pattern,role,implement,load_entry,rep_unit,rep_low,rep_high,rest_s,regions"
    rest = "horizontal_push,main,dumbbell,per_hand,reps,6,12,95,pec_stern 1"
    rows = [f"{exercise.key},{exercise.name},{rest}", f",Quay press,{rest}", ",Row,sideways"]
    content = "\r\n".join([head, *rows]).encode()
    return Upload.objects.create(practice=coach.practice, coach=coach, kind="library", name="a.csv", content=content)


class World:
    """One of everything, Ana's; addresses are made from it by the word before each id."""

    def __init__(self, ana, ben):
        self.ana, self.ben = ana, ben
        day = OutlineDayFactory(outline__practice=ana.practice)
        slot = OutlineSlotFactory(day=day)
        days = [{"day": "full", "occurrence": number, "weekday": 3 * number} for number in (0, 1)]
        document = {"picks": [], "order": {"full": [slot.key]}, "days": days}
        draft = DraftFactory(client=ben, outline=day.outline, document=document)
        session = TrainingSessionFactory(block__client=ben, block__outline=day.outline, position=0)
        line = PrescriptionFactory(session=session)
        document = sheet_document(ben, session, line)
        version = SheetVersion.objects.create(session=session, number=1, document=document, digest="d" * 64)
        station: Station = StationFactory(place=session.block.place)
        photo = PhotoFactory(practice=ana.practice)
        logged = LoggedSetFactory(client=ben, session=session, exercise=line.exercise, line=1, number=1)
        receiving.take_pain(ben, key="p", score=4, body_part="knee", side="left", felt_on=session.planned_on)
        with journal.act(ana.practice, ana, "client.rename", about=f"client:{ben.public_id}") as entry:
            entry.change(ben)
            ben.goal = "row"
            ben.save()
        self.by_word = {
            "clients": ben,
            "coaches": ana,
            "drafts": draft,
            "blocks": session.block,
            "sessions": session,
            "sheets": version,
            "sheet": version,
            "exercises": line.exercise,
            "library": ExerciseFactory(practice=ana.practice, photo=photo),
            "photos": photo,
            "templates": day.outline,
            "places": session.block.place,
            "stations": station,
            "sets": logged,
            "lines": line,
            "proposals": ProposalFactory(client=ben, session=session, exercise=line.exercise, slot_key=line.slot_key),
            "pain": ben.pain_reports.get(),
            "limits": LimitFactory(client=ben),
            "recent-sets": RecentSetFactory(client=ben, exercise=line.exercise),
            "items": ClientItem.objects.create(client=ben, kind="dip_belt"),
            "clearances": Clearance.objects.create(
                client=ben, given_by="Dr M.", scope="vigorous", given_on=MONDAY, expires_on=MONDAY
            ),
            "conditions": Condition.objects.create(client=ben, code="epilepsy"),
            "illnesses": Illness.objects.create(client=ben, kind="above_neck", since=MONDAY),
            "notes": HealthNote.objects.create(client=ben, text="sleeps badly"),
            "journal": entry.entry,
            "undo": entry.entry,
            "imports": upload_of(ana, logged.exercise),
        }
        self.link = ClientLinkFactory(client=ben)
        self.feed = calendar_feed(ben)

    def address(self, route):
        """The address of a route, with this world's ids in it."""
        done = ""
        for piece in re.split(r"(<[^>]+>)", route):
            found = CONVERTER.fullmatch(piece)
            if not found:
                done += piece
                continue
            kind, name = found.group(1) or "str", found.group(2)
            if kind == "uuid":
                word = [part for part in done.split("/") if part and not is_id(part)][-1]
                assert word in self.by_word, f"say which row “{word}” in {route} is"
                done += str(self.by_word[word].public_id)
            elif name == "token":
                done += (self.feed if route.endswith(".ics") else self.link).token()
            else:
                done += str(PLAIN[kind])
        return f"/{done}"


def is_id(part):
    try:
        uuid.UUID(part)
    except ValueError:
        return part.isdigit()
    return True


def sheet_document(client, session, line):
    from clients.reads.health import standing_of
    from clients.reads.racks import PlaceLoads
    from clients.sheets import document

    rows = type(session).objects.with_lines().get(pk=session.pk)
    return document.build(
        rows,
        standing=standing_of(client, session.planned_on),
        loads=PlaceLoads(session.block.place, client),
        last={},
        swaps={},
        first=True,
    )


@pytest.fixture
def world(ana, ben):
    return World(ana, ben)


def browser_of(coach=None, link=None):
    browser = Browser(raise_request_exception=True)
    if coach is not None:
        browser.force_login(coach)
    if link is not None:
        browser.get(reverse("open-client-link", args=[link.token()]))
    return browser


@pytest.mark.parametrize(("route", "access"), ROUTES, ids=[route or "/" for route, _access in ROUTES])
def test_every_address(route, access, world, cleo):
    address = world.address(route)
    has_id = "<uuid" in route
    owner = browser_of(world.ana)
    stranger = browser_of(cleo)
    nobody = Browser()

    shown = owner.get(address) if access != "client" else browser_of(link=world.link).get(address)
    assert shown.status_code < 500
    shown.close()  # of a file, what it is read from
    assert browser_of(world.ana).generic(UNSUPPORTED, address).status_code in (
        {405} if access not in {"client"} else {403, 405}
    )

    if access == "public":
        return
    if access == "client":
        for method in ("get", "post"):
            assert getattr(nobody, method)(address).status_code == 403
        if has_id:
            link = ClientLinkFactory(client__practice=world.ana.practice, client__coach=world.ana)
            for method in ("get", "post"):
                answer = getattr(browser_of(link=link), method)(address)
                assert answer.status_code in (404, 405)
        return
    for method in ("get", "post"):
        answer = getattr(nobody, method)(address)
        assert answer.status_code == 302
        assert answer.headers["Location"].startswith(reverse("sign-in"))
        if has_id:
            assert getattr(stranger, method)(address).status_code in (404, 405)
    if access in {"owner", "health"}:
        from tests.factories import CoachFactory

        plain = browser_of(CoachFactory(practice=world.ana.practice, sees_health=False))
        assert plain.get(address).status_code in (404, 405)


def test_a_revoked_link_opens_nothing(world):
    from clients.services.links import renew_client_link

    browser = browser_of(link=world.link)
    assert browser.get(reverse("today")).status_code == 200
    renew_client_link(world.ben, world.ana)
    assert browser.get(reverse("today")).status_code == 403
    assert Browser().get(reverse("open-client-link", args=[world.link.token()])).status_code in (403, 404, 410)


def test_opening_a_link_changes_nothing(world, django_assert_max_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(
        connection,
    ) as queries:
        answer = Browser().get(reverse("open-client-link", args=[world.link.token()]))
    assert answer.status_code == 302
    assert world.link.token() not in answer.headers["Location"]
    writes = [row["sql"] for row in queries if re.match(r"(INSERT|UPDATE|DELETE)", row["sql"])]
    assert not [sql for sql in writes if "throttle" not in sql]


def test_client_pages_are_private_and_not_indexed(world):
    answer = browser_of(link=world.link).get(reverse("today"))
    assert answer.headers["Cache-Control"] == "private, no-store"
    assert "noindex" in answer.headers["X-Robots-Tag"]
    assert "script-src 'self'" in answer.headers["Content-Security-Policy"]


def test_a_set_typed_twice_through_the_door_is_one(world):
    version = world.by_word["sheet"]
    arrival = Arrival(way="phone", performed_on=version.session.planned_on)
    for _ in range(2):
        receiving.take_set(world.ben, version, 1, 2, SetValues(reps=8), key="k", arrival=arrival)
    assert world.ben.logged_sets.filter(key="k").count() == 1
