"""Calibrating a transducer on the bench, and correcting it after fill-ups."""
