"""Entering lots: what a maker types in one line, or answers to questions, as a lot of the stock."""
