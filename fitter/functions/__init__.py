"""Functions a recipe may ask for. Importing this package registers all of them."""

from fitter.functions import (  # noqa: F401  (importing a module registers its functions)
    adjustable_supply,
    control,
    guide,
    linear_axis,
    push,
    rotary_axis,
    supply,
)
from fitter.functions.model import FUNCTIONS, Argument, Function, Principle, Role, Sketch, join

__all__ = ["FUNCTIONS", "Argument", "Function", "Principle", "Role", "Sketch", "join"]
