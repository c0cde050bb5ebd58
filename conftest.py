"""Django is set up once in a run of tests, as the server does it: pages and books share it."""

import os

from lemel.serve import configure

# A browser that is driven from a test keeps a loop running in the test's own thread.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
configure(hosts=["testserver"])
