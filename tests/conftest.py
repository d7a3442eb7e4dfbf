"""The sample project has tests of its own, which run in it: see test_downstream.py."""

collect_ignore = ["downstream"]
