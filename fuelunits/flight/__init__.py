"""Fuel over a flight: endurance, reserves and low-fuel thresholds."""

__all__: list[str] = []
