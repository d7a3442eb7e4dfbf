"""Pulses of a transducer: the K-factor, counters, recorded pulses, several transducers."""
