"""The volume correction procedure of the petroleum standard, and the liquids that it describes."""

__all__: list[str] = []
