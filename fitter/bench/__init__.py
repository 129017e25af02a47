"""What happens at the bench: readings, estimates, contradictions, and telling parts apart."""
