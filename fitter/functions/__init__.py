"""Functions a recipe may ask for. Importing this package registers all of them."""

from fitter.functions import (  # noqa: F401  (importing a module registers its functions)
    adjustable_supply,
    bench,
    control,
    dose,
    fixtures,
    flow,
    generate,
    guide,
    heat_wire,
    light,
    linear_axis,
    push,
    rock,
    roll,
    rotary_axis,
    spin,
    star_tracker,
    supply,
)
from fitter.functions.model import FUNCTIONS, Argument, Function, Principle, Role, Sketch, join

__all__ = ["FUNCTIONS", "Argument", "Function", "Principle", "Role", "Sketch", "join"]
