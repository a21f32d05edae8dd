"""What all tests share: hypothesis without a clock, and the same examples on every run.

Warnings are errors by pyproject.toml.
"""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile(
    "house", deadline=None, derandomize=True, database=None, max_examples=60,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("house")
