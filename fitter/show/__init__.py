"""Rendering of answers: nothing here computes."""
