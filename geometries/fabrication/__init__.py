"""A real board, read from its fabrication files: copper by layer and net, pads, holes, stack, outline."""
