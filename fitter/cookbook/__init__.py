"""Recipes looked at, checked and begun: what a maker who writes one of their own asks."""
