"""A board's converters, found in its pads, and the copper of their loops cut out of it as it is drawn."""
