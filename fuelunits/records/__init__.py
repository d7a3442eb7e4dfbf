"""Records of jobs, saved as JSON, loaded and recomputed."""

__all__: list[str] = []
