"""A scenario's figures over a box of keys: solved where it is needed, interpolated between, with a measured error."""
