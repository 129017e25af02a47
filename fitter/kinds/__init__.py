"""What each kind of part is. Importing this package registers every kind."""

from fitter.kinds import (  # noqa: F401  (importing a module registers its kinds)
    drivers,
    electronics,
    fittings,
    making,
    mechanics,
    motors,
    never_placed,
    supplies,
)
from fitter.kinds.model import KINDS, Kind, Offer, Rule, Spec, kind_key

__all__ = ["KINDS", "Kind", "Offer", "Rule", "Spec", "kind_key"]
