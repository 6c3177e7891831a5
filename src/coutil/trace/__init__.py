"""A pattern that exists already: SVG and DXF files become shapes, shapes become panels."""

from coutil.trace.model import Reading, Shape, Traced, TraceError
from coutil.trace.read import read_drawing, trace_drawing

__all__ = ["Reading", "Shape", "TraceError", "Traced", "read_drawing", "trace_drawing"]
