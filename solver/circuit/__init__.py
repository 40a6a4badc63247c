"""Networks: a loop as resistors and inductors, capacitors in parallel, the response of a series loop to an edge."""
