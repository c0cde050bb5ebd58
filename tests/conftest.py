"""What every test shares: hypothesis without chance, numbers and threads as on the bench."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

from lemel.words import be_strict

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(threads, "1")

settings.register_profile(
    "house",
    derandomize=True,
    database=None,
    deadline=None,
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("house")

be_strict()
