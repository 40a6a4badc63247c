"""Layouts seen from above: outlines, placements, their copper and their sections."""
