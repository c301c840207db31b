"""What a sheet costs: our work beside WeasyPrint's on the same finished page, its size, a download from the cache."""

from collections.abc import Iterator

from django.urls import reverse

from clients import demo
from clients.models import SheetVersion
from clients.sheets import pdf
from coachdesk.benches import Result, Run, bench
from coachdesk.benches.scratch import WARM, browser_of, cpu_ms, cpu_ratio, database, page_ratio
from coachdesk.practice.models import Coach

RUNS, RUNS_FULL = 7, 25
EXERCISES = 6


@bench("sheet", "PDF of a six-exercise sheet: CPU against WeasyPrint alone, size, and download from the cache")
def sheet(run: Run) -> Iterator[Result]:
    runs = RUNS_FULL if run.full else RUNS
    with database() as coach:
        run.say("loading the demo")
        demo.load_demo(coach)
        version = _six_exercises(coach)
        html = pdf.html_for(version, "phone")
        run.say("rendering")
        run.say(f"WeasyPrint alone {cpu_ms(lambda: pdf.to_pdf(html), WARM):.0f} ms")
        ratio = cpu_ratio(lambda: pdf.to_pdf(pdf.html_for(version, "phone")), lambda: pdf.to_pdf(html), runs)
        yield Result("PDF against WeasyPrint alone", round(ratio, 3), "x")
        for layout in pdf.LAYOUTS:
            size = len(pdf.to_pdf(pdf.html_for(version, layout)))
            yield Result(f"{layout} PDF, six exercises", size, "B")

        browser = browser_of(coach)
        client = version.session.block.client
        address = reverse("client-sheet-pdf", args=[client.public_id, version.public_id, "phone"])
        yield Result("cached download against the empty page", round(page_ratio(browser, address, runs), 2), "x")


def _six_exercises(coach: Coach) -> SheetVersion:
    """A sheet of the demo, cut to six exercises where it has more. Raises RuntimeError when none has so many."""
    versions = SheetVersion.objects.for_practice(coach.practice).select_related("session__block__client__practice")
    for version in versions.order_by("pk"):
        lines = [line for line in version.document["lines"] if not line["free"]]
        if len(lines) >= EXERCISES:
            version.document["lines"] = lines[:EXERCISES]
            return version
    raise RuntimeError("no sheet of the demo has six exercises")
