"""What to measure next, what a measurement would settle, and what becomes of a reading."""
