"""Indicators and their bench sheets, error budgets, fill-ups, endurance, low-fuel thresholds, fuel on board."""
