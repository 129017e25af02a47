"""All ways to do one function of a project, each solved for itself, side by side."""
