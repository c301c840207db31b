"""Background work: done by the worker, on any machine that reaches the database."""

from django_tasks import task


@task()
def render_pdfs(version_ids: list[str]) -> int:
    """Renders the PDFs of freshly issued sheets into the cache; returns how many files were made.

    None where the text libraries are missing: the buttons then say so, and rendering is tried again on asking.
    """
    from clients.models import SheetVersion
    from clients.sheets.pdf import CannotRender, render_all

    made = 0
    versions = SheetVersion.objects.filter(public_id__in=version_ids).select_related("session__block__client")
    for version in versions:
        try:
            made += render_all(version)
        except CannotRender:
            break
    return made


@task()
def review_logs(client_id: int) -> int:
    """Reckons a client's proposals again after something came in; returns how many wait for the coach now.

    Plain ones go out by themselves where the coach has said so.
    """
    from clients.models import Client
    from clients.services.going_out import review

    return review(Client.objects.select_related("practice").get(pk=client_id))


@task()
def review_clients(client_ids: list[int]) -> int:
    """The same for several clients, one after the other; returns how many proposals wait now."""
    from clients.models import Client
    from clients.services.going_out import review

    return sum(review(client) for client in Client.objects.select_related("practice").filter(pk__in=client_ids))
