"""What all tests share: how hard the property tests search, and their order."""

import os

import pytest
from hypothesis import HealthCheck, settings

# "ci" tries the same examples on every machine; "search" looks for new ones.
# No deadline: a slow machine is not a fault.
_SLOW_START = [HealthCheck.too_slow, HealthCheck.data_too_large]
settings.register_profile(
    "ci", derandomize=True, deadline=None, max_examples=60, suppress_health_check=_SLOW_START
)
settings.register_profile(
    "search", deadline=None, max_examples=1000, suppress_health_check=_SLOW_START
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Run browser tests last: their driver keeps an event loop running until the session ends."""
    items.sort(key=lambda item: "browser" in item.path.parts)
