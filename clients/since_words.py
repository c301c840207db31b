"""In words: what was decided on figures that have changed since, and what it would be now."""

from typing import Any

from clients import proposal_words
from clients.models import Client
from clients.reads.since_decided import changed_since


def since_rows(client: Client) -> list[dict[str, Any]]:
    """Of each: the session, the exercise, where it stands, and in figures what was proposed then and would be now."""
    return [
        {
            "session": one.session,
            "name": one.exercise.name,
            "where": proposal_words.session_words(one),
            "now": proposal_words.whole_words(one.changed_to or {}, one),
            "then": proposal_words.whole_words(one.new, one),
        }
        for one in changed_since(client)
    ]
