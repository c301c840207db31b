"""Background work: done by the worker, on any machine that reaches the database."""

from django_tasks import task


@task()
def render_pdfs(version_ids: list[str]) -> int:
    """Renders the PDFs of freshly issued sheets into the cache; returns how many files were made."""
    from clients.models import SheetVersion
    from clients.sheets import pdf

    versions = SheetVersion.objects.filter(public_id__in=version_ids)
    return sum(pdf.render_all(version) for version in versions)


@task()
def review_logs(client_id: int) -> int:
    """Reckons a client's proposals again after something came in; returns how many wait now."""
    from clients.models import Client
    from clients.services.proposing import refresh

    return refresh(Client.objects.select_related("practice").get(pk=client_id))
