"""Published values as data, one table per topic, and ``verify``, which recomputes each one by a recipe."""
