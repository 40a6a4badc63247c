"""What a board is made of: stackup, materials, parts, capacitors."""
