"""How liquids other than petroleum change with temperature: models of density, viscosity, water and air."""

__all__: list[str] = []
