"""What is asked: scenario, sweep, tolerance."""
