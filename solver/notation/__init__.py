"""How numbers and quantities are written for a reader: units, digits, decibels, labels, numbered warnings."""
