"""A pattern that exists already: SVG and DXF files become shapes, shapes become panels, seams are trued.

traced = read_drawing("bodice.svg")                  shapes, with their marks
own = OwnPattern("bodice.svg", line="net")           what a person says of it (coutil.order)
print(report(traced, own))                           what is proposed, and how sure that is
text = own_text(proposed(traced, own))               the same as a file to correct: bodice.toml
pattern = pattern_of(traced, own, "bodice")          panels and seams, with findings
pattern = pattern_from_order(order, folder)          the same, from an order with [pattern]
mended = true_seam(pattern, "side", change="share")  moved as asked, every move reported
"""

from coutil.trace.build import pattern_of
from coutil.trace.from_order import (
    carried,
    carrying,
    own_text,
    pattern_from_order,
    proposed,
    report,
    resolved,
    traced_of,
)
from coutil.trace.mend import Mended, Move, true_seam
from coutil.trace.model import Shape, Traced, TraceError
from coutil.trace.read import as_written, found_again, read_drawing, trace_drawing
from coutil.trace.tell import Telling, tell

__all__ = [
    "Mended",
    "Move",
    "Shape",
    "Telling",
    "TraceError",
    "Traced",
    "as_written",
    "carried",
    "carrying",
    "found_again",
    "own_text",
    "pattern_from_order",
    "pattern_of",
    "proposed",
    "read_drawing",
    "report",
    "resolved",
    "tell",
    "trace_drawing",
    "traced_of",
    "true_seam",
]
