"""What the maker owns: lots, and the files they are kept in."""
