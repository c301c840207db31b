"""Exercises as two small pictures, start and end, drawn from joint angles and equipment.

A picture shows a phase, not a technique: depth, path and shape of the back are nobody's measurements.
"""

from programs.drawings.figures.drawing import extent, figure
from programs.drawings.figures.entries import keys, pictures

__all__ = ["extent", "figure", "keys", "pictures"]
