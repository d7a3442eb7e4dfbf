"""Pulses of a transducer: the K-factor, counters, recorded pulses, several transducers."""

__all__: list[str] = []
