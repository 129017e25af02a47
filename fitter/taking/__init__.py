"""Parts taken for a build, put back, or used up."""
