"""What each page costs the server: as a multiple of the empty page, and as history and rows grow."""

from collections.abc import Iterator
from datetime import timedelta

from django.urls import reverse

from clients import demo
from clients.clock import today_for
from clients.models import Block, Client, LoggedSet, TrainingSession
from clients.services.drafts import start_draft
from coachdesk.benches import Result, Run, bench
from coachdesk.benches.scratch import EMPTY, browser_of, columns, cpu_ms, database, page_ratio, queries, showing, twins
from coachdesk.practice.models import Coach
from programs.models import Exercise, Outline

RUNS, RUNS_FULL = 9, 31
TIMES_OVER_FOR_THREE_YEARS = 13  # twelve weeks, thirteen times
ROWS_TIMES = 10  # from 8 to 80 rows


@bench("pages", "server CPU time of each page as a multiple of the empty page; growth with history and rows; queries")
def pages(run: Run) -> Iterator[Result]:
    runs = RUNS_FULL if run.full else RUNS
    with database() as coach:
        run.say("loading the demo")
        demo.load_demo(coach)
        browser = browser_of(coach)
        yield Result("empty page", round(cpu_ms(showing(browser, EMPTY), runs), 2), "ms")
        lists, single = _addresses(coach)
        first: dict[str, tuple[float, int]] = {}
        for name, address in {**lists, **single}.items():
            cost, asked = page_ratio(browser, address, runs), queries(browser, address)
            first[name] = (cost, asked)
            run.say(f"{name}: {cost:.1f} x the empty page, {asked} queries")
            yield Result(f"{name}, 8 clients", round(cost, 2), "x")

        run.say("three years of history")
        _lengthen(coach)
        for name in ("desk", "clients", "progress", "logs"):
            address = {**lists, **single}[name]
            cost, asked = page_ratio(browser, address, runs), queries(browser, address)
            yield Result(f"{name}, 3 years against 12 weeks", round(cost / first[name][0], 2), "x")
            yield Result(f"{name}, more queries with 3 years", asked - first[name][1], "queries")

        run.say("eighty clients")
        _multiply(coach)
        for name in ("desk", "clients"):
            cost, asked = page_ratio(browser, lists[name], runs), queries(browser, lists[name])
            yield Result(f"{name}, 80 rows against 8", round(cost / first[name][0], 2), "x")
            yield Result(f"{name}, more queries with 80 rows", asked - first[name][1], "queries")


def _addresses(coach: Coach) -> tuple[dict[str, str], dict[str, str]]:
    """List pages, and pages of one client, exercise, template or session."""
    client = Client.objects.for_practice(coach.practice).get(name__startswith="Nadia")
    session = TrainingSession.objects.for_client(client).filter(state="trained").order_by("-trained_on")[0]
    lists = {name: reverse(name) for name in ("desk", "clients", "compose", "library", "templates", "places")}
    of_client = {
        name: reverse(f"client-{name}", args=[client.public_id])
        for name in ("block", "calendar", "sheets", "logs", "progress")
    }
    single = {
        "client": reverse("client", args=[client.public_id]),
        **of_client,
        "log entry": reverse("session-log", args=[session.public_id]),
        "board": reverse("draft", args=[_draft(client, coach)]),
        "exercise": reverse("exercise", args=[Exercise.objects.for_practice(coach.practice)[0].public_id]),
        "template": reverse("template", args=[Outline.objects.for_practice(coach.practice).current()[0].public_id]),
    }
    return lists, single


def _draft(client: Client, coach: Coach) -> str:
    block = client.blocks.get(state=Block.State.ACTIVE)
    draft = start_draft(client, coach, outline=block.outline, place=block.place, starts_on=today_for(client), weeks=6)
    return str(draft.public_id)


def _lengthen(coach: Coach) -> None:
    """The logged history again and again, further and further back."""
    rows = list(LoggedSet.objects.filter(client__practice=coach.practice))
    for times in range(1, TIMES_OVER_FOR_THREE_YEARS):
        back = timedelta(weeks=12 * times)
        copies = []
        for row in rows:
            copies.append(
                LoggedSet(
                    **columns(row, "key", "performed_on", "session", "version", "line", "number"),
                    key=f"{row.key}-{times}",
                    performed_on=row.performed_on - back,
                )
            )
        LoggedSet.objects.bulk_create(copies, batch_size=2000)


def _multiply(coach: Coach) -> None:
    """Every client who trains nine times more."""
    training = Client.objects.for_practice(coach.practice).filter(is_demo=True, blocks__state=Block.State.ACTIVE)
    for client in training.distinct():
        twins(client, ROWS_TIMES - 1)
