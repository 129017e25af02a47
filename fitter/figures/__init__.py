"""Figures as SVG text: made from plain records, without knowing what a build is."""
