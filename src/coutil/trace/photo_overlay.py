"""The photograph with what was found drawn over it, for the person to check."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from coutil.trace.photo_camera import Placed, View
from coutil.trace.photo_piece import Piece

U8 = NDArray[np.uint8]
Colour = tuple[int, int, int]

# Longer side of the overlay in pixels: an outline that is off by a mm can be seen, and the file stays small.
LONGER: Final = 2400
QUALITY: Final = 85
# Blue, green, red. Chosen to stand out from wood, cloth and paper, and from each other for the colour-blind too: the
# doubtful stretches are thicker besides.
OUTLINE: Final[Colour] = (200, 90, 0)
DOUBT: Final[Colour] = (0, 0, 230)
CORNER: Final[Colour] = (0, 0, 0)
NICK: Final[Colour] = (200, 0, 200)
BOARD: Final[Colour] = (0, 150, 0)
# The number of a side stands this far inside it, in mm.
INSIDE: Final = 14.0
# What is said of a sheet of the board stands this far above its lower edge, in mm: below the chequer.
SHEET_FOOT: Final = 25.0


def draw(picture: U8, view: View, placed: Sequence[Placed], pieces: Sequence[Piece]) -> bytes:
    """A JPEG; pieces are numbered in the order given, and so are the sides of each."""
    scale = min(1.0, LONGER / max(picture.shape[:2]))
    out = np.ascontiguousarray(cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA))

    def at(table: NDArray[np.float64]) -> NDArray[np.int32]:
        # Fixed point with four binary places, as cv2's drawing takes it.
        return np.asarray(np.round(((view.to_image(table) + 0.5) * scale - 0.5) * 16), np.int32)

    def lines(table: NDArray[np.float64], closed: bool, colour: Colour, width: int) -> None:
        cv2.polylines(out, [at(table)], closed, colour, width, cv2.LINE_AA, 4)

    def words(says: str, where: NDArray[np.float64], colour: Colour, size: float) -> None:
        x, y = (at(where[None, :])[0] // 16).tolist()
        (wide, high), _ = cv2.getTextSize(says, cv2.FONT_HERSHEY_SIMPLEX, size, 2)
        x, y = x - wide // 2, y + high // 2
        cv2.putText(out, says, (x, y), cv2.FONT_HERSHEY_SIMPLEX, size, (255, 255, 255), 6, cv2.LINE_AA)
        cv2.putText(out, says, (x, y), cv2.FONT_HERSHEY_SIMPLEX, size, colour, 2, cv2.LINE_AA)

    for p in placed:
        lines(p.to_table(np.array(p.seen.sheet.outline())), True, BOARD, 2)
        for x, y in (at(p.to_table(p.seen.board)) // 16).tolist():
            cv2.circle(out, (x, y), 3, BOARD, 1, cv2.LINE_AA)
        words(
            f"{p.seen.sheet.number}: {p.residual:.2f} mm",
            p.to_table(np.array([[p.seen.sheet.size[0] / 2.0, 25.0]]))[0],
            BOARD,
            0.8,
        )
    for number, piece in enumerate(pieces, 1):
        curves = [s.curve() for s in piece.sides]
        for side in piece.sides:
            lines(side.at(np.linspace(0.0, 1.0, 40 * side.spans)), False, OUTLINE, 2)
        for d in piece.doubts:
            s = np.linspace(d.start, d.end, 20)
            lines(np.array([curves[d.side].point(float(v)) for v in s]), False, DOUBT, 5)
        if len(curves) > 1:
            doubtful = {d.side for d in piece.doubts if d.start == 0.0}
            for k, (x, y) in enumerate((at(np.array([c.start for c in curves])) // 16).tolist()):
                size, colour = (9, DOUBT) if k in doubtful else (6, CORNER)
                cv2.circle(out, (x, y), size, (255, 255, 255), -1, cv2.LINE_AA)
                cv2.circle(out, (x, y), size, colour, size // 3, cv2.LINE_AA)
        for n in piece.nicks:
            x, y = (at(np.array([curves[n.side].point(n.s)]))[0] // 16).tolist()
            cv2.circle(out, (x, y), 14, NICK, 2, cv2.LINE_AA)
        middle = (
            np.mean([c.start for c in curves], axis=0)
            if len(curves) > 2
            else np.mean(curves[0].points(tolerance=1.0), axis=0)
        )
        words(f"piece {number}", middle, OUTLINE, 1.4)
        for k, c in enumerate(curves, 1):
            (x, y), (tx, ty) = c.point(c.length / 2), c.tangent(c.length / 2)
            # Outlines run anticlockwise: inwards is to the left.
            words(str(k), np.array([x - INSIDE * ty, y + INSIDE * tx]), CORNER, 0.8)
    ok, data = cv2.imencode(".jpg", out, [cv2.IMWRITE_JPEG_QUALITY, QUALITY])
    if not ok:
        raise RuntimeError("the overlay could not be written as JPEG")
    return bytes(data)
