"""The bench sheet of one set of parts: what to wire, set, fuse, measure and mind, as plain models."""
