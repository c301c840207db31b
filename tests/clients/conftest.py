"""What many tests of clients begin with."""

import pytest

from tests.clients.weeks import small_week


@pytest.fixture
def week(ana, ben):
    """The template that Ben’s week is composed from: one day type of three slots, twice."""
    return small_week(ben)
