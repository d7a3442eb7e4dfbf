"""What an indicator with one K-factor and one fixed density shows, and how far it is off."""

__all__: list[str] = []
