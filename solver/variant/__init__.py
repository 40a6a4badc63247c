"""One variant with all that is asked of it."""
