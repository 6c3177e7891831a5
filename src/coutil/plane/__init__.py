"""Curves, offsets and regions in the flat plane, in millimetres. Knows nothing of clothes."""

from coutil.plane.curve import Curve, Pt, arc_through, closed_points, cubic, line

__all__ = ["Curve", "Pt", "arc_through", "closed_points", "cubic", "line"]
