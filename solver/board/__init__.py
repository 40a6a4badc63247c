"""A real board's converters: found in its copper and pads, and their loops solved as they are drawn."""
