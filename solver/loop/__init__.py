"""The whole loop of a placement, term by term, and several switched loops."""
