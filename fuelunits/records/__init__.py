"""Records: what the job leaves behind, saved as JSON, loaded and recomputed."""

__all__: list[str] = []
