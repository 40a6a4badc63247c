"""The section view: a cross-section meshed, its field solved and bounded, the numbers read off it."""
