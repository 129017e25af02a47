"""Need, have and margin for one link, chain or rail of the component graph."""
