"""``python -m fitter``."""

from fitter.cli import main

main()
