"""Several builds from one stock."""
