"""Lets tests import the exhaustive search and random shelves of the tests of the search."""

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parents[1] / "solve"))
