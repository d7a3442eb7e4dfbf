"""How the K-factor of a meter changes with flow and viscosity."""

__all__: list[str] = []
