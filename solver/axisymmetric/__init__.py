"""The axisymmetric view: a ring with and without its discs."""
