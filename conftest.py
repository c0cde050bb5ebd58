"""Django is set up once in a run of tests, as the server does it: pages and books share it."""

import os

import pytest

from lemel.serve import configure

# A browser that is driven from a test keeps a loop running in the test's own thread.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
configure(hosts=["testserver"])


@pytest.fixture(autouse=True)
def _books_are_shut():
    """After each test the connections of its books are let go: a long run opens many."""
    yield
    from django.db import connections

    connections.close_all()
