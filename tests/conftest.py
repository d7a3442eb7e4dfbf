"""What is left to the sample project, whose tests test_downstream.py runs; and how hypothesis draws."""

import os

import pytest
from hypothesis import settings
from optional import Missing

collect_ignore = ["downstream", "guarded", "scan_holdout", "scan_repo"]

# No test is timed; and where a change is judged, every run draws the same examples.
settings.register_profile(
    "fuelunits",
    deadline=None,
    derandomize="CI" in os.environ,
    max_examples=int(os.environ.get("FUELUNITS_EXAMPLES", "100")),
)
settings.load_profile("fuelunits")


def pytest_runtest_setup(item):
    """Skip a case that is given something of a library that is not installed."""
    for value in item.callspec.params.values() if hasattr(item, "callspec") else ():
        if isinstance(value, Missing):
            pytest.skip(f"{value.name} is not installed")
