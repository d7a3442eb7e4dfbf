"""What is left to the sample project, whose tests test_downstream.py runs; and how hypothesis draws."""

import os

from hypothesis import settings

collect_ignore = ["downstream"]

# No test is timed; and where a change is judged, every run draws the same examples.
settings.register_profile(
    "fuelunits",
    deadline=None,
    derandomize="CI" in os.environ,
    max_examples=int(os.environ.get("FUELUNITS_EXAMPLES", "100")),
)
settings.load_profile("fuelunits")
