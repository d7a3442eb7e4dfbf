"""The one line of caution that every report carries."""

from __future__ import annotations

__all__ = ["CAUTION"]

CAUTION = (
    "Engineering aid, not approved data: the aircraft's maintenance and flight manuals, the fuel supplier's "
    "certificate, the local authority's rules and a licensed technician's sign-off come first."
)
"""What stands under every result that somebody could act on."""
