"""Records of jobs, saved as JSON, loaded and recomputed."""
