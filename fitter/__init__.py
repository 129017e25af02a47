"""What can be built from salvaged parts, with which parts, and what is missing."""

__version__ = "0.1.0"
