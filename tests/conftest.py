"""What pytest leaves to the sample project, which has tests of its own (test_downstream.py), and how hypothesis draws."""

import os

from hypothesis import settings

collect_ignore = ["downstream"]

# No test is timed; and where a change is judged, every run draws the same examples.
settings.register_profile("fuelunits", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("fuelunits")
