"""A tube on its barb by finite elements of our own: large strain, yield, friction. numpy, scipy."""

from barbwright.prove.contact.drive import NotConvergedError
from barbwright.prove.contact.materials import Plastic, Rubber
from barbwright.prove.contact.outline import DrawnBarb
from barbwright.prove.contact.seat import Fineness, Seated, State, TubeFit, seat

__all__ = [
    "DrawnBarb",
    "Fineness",
    "NotConvergedError",
    "Plastic",
    "Rubber",
    "Seated",
    "State",
    "TubeFit",
    "seat",
]
