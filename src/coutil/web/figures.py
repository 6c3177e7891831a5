"""A drawing of how each measurement is taken: a plain figure and the tape upon it.

Our own figure, drawn by eye in units of a hundredth of a body's height or so; it shows where, not how much.
"""

from __future__ import annotations

from typing import Any, Final

from coutil.body import MEASUREMENTS, SIDE_MEASUREMENTS

# One half of each outline, at x > 0; the other is its reflection. x right, y down, the waist at y = 0.
_OUTLINE: Final = (
    # neck and shoulder
    ((8, -100), (8, -94), (9, -89), (15, -87), (22, -84), (34, -82), (38, -77)),
    # outer side of the arm
    ((38, -77), (44, -70), (45, -52), (46, -34), (47, -20), (48, -8), (49, 4)),
    # inner side of the arm, up to the armpit
    ((40, 4), (39, -12), (37, -30), (33, -50)),
    # side of the body
    ((33, -50), (34, -40), (32, -32), (28, -22), (25, -14), (23, -6), (23.5, 0), (25, 10), (32, 20), (34, 36),
     (34.5, 46), (34, 56), (33, 66)),
)  # fmt: skip
_BREAST: Final = ((5, -40), (7, -26), (25, -24), (29, -44))
_SPINE: Final = ((0, -88), (0, -60), (0, -20), (0, 40))
_BLADE: Final = ((10, -66), (18, -60), (19, -48), (12, -42))
_BOX: Final = [-54, -104, 54, 70]
_WHOLE_BOX: Final = [-36, -4, 36, 108]
# The whole figure, small: head, body and legs, for the height alone.
_WHOLE: Final = (
    ((0, 0), (5, 0), (6, 4), (6, 7), (6, 11), (3, 14), (0, 14)),
    ((2, 14), (2, 17), (5, 18), (11, 20), (14, 26), (14, 38), (15, 50)),
    ((8, 26), (9, 32), (6.5, 36), (6.5, 40), (7, 45), (9.5, 48), (9.5, 54), (9, 70), (6, 88), (6, 102)),
    ((6, 102), (8, 103), (8, 104), (2, 104)),
    ((2, 104), (2, 90), (1, 70), (0, 58)),
)

_GIRTHS: Final = {"upper_bust": (-57, 33), "bust": (-40, 33.5), "underbust": (-27, 29.5), "waist": (0, 23.5),
                  "high_hip": (20, 29), "hip": (42, 34.4)}  # fmt: skip
_POINT: Final = (15.0, -38.0)


def figures() -> dict[str, dict[str, Any]]:
    """Every measurement's drawing, by its name in the order file."""
    out = {}
    for m in (*SIDE_MEASUREMENTS, *MEASUREMENTS):
        view, tape, dots = _tape(m.key)
        out[m.key] = {
            "view": view,
            "box": _WHOLE_BOX if view == "whole" else _BOX,
            "body": _body(view),
            "tape": tape,
            "dots": [list(d) for d in dots],
            "text": m.name,
            "how": m.how,
            "standard": m.standard or "",
        }
    return out


def _body(view: str) -> list[str]:
    if view == "whole":
        return [_d(run, flip) for run in _WHOLE for flip in (1, -1)]
    runs = [_d(run, flip) for run in _OUTLINE for flip in (1, -1)]
    if view == "back":
        return [*runs, _d(_SPINE, 1), *(_d(_BLADE, flip) for flip in (1, -1))]
    return [*runs, *(_d(_BREAST, flip) for flip in (1, -1))]


def _tape(key: str) -> tuple[str, str, tuple[tuple[float, float], ...]]:
    """View, path of the tape and the ends that are marked."""
    if key in _GIRTHS:
        y, r = map(float, _GIRTHS[key])
        return (
            "front",
            f"M{-r} {y}C{-r / 2} {y + 4} {r / 2} {y + 4} {r} {y}C{r / 2} {y - 3} {-r / 2} {y - 3} {-r} {y}",
            (),
        )
    px, py = _POINT
    straight: dict[str, tuple[str, tuple[tuple[float, float], tuple[float, float]]]] = {
        "bust_span": ("front", ((-px, py), (px, py))),
        "bust_point": ("front", ((0.0, py), (px, py))),
        "high_hip_depth": ("front", ((23.5, 0.0), (29.0, 20.0))),
        "hip_depth": ("front", ((23.5, 0.0), (34.4, 42.0))),
        "side_length": ("front", ((33.0, -50.0), (23.5, 0.0))),
        "centre_back_length": ("back", ((0.0, -90.0), (0.0, 0.0))),
        "bust_depth": ("front", ((11.0, -88.0), (px, py))),
        "height": ("whole", ((24.0, 0.0), (24.0, 104.0))),
    }
    if key in straight:
        view, ((ax, ay), (bx, by)) = straight[key]
        return view, f"M{ax} {ay}L{bx} {by}", ((ax, ay), (bx, by))
    if key == "bust_to_underbust":
        return "front", f"M{px} {py}C{px + 1} {py + 6} {px} {py + 9} {px - 1} -27", ((px, py), (px - 1, -27.0))
    if key == "bust_to_waist":
        return "front", f"M{px} {py}C{px + 1} {py + 6} {px} {py + 9} {px - 1} -27L{px - 3} 0", ((px, py), (px - 3, 0.0))
    if key == "underbust_to_waist":
        return "front", f"M{px - 1} -27L{px - 3} 0", ((px - 1, -27.0), (px - 3, 0.0))
    if key == "front_upper_arc":
        return "front", "M-33 -52C-17 -49 17 -49 33 -52", ((-33.0, -52.0), (33.0, -52.0))
    x0 = 0.0 if key in ("front_bust", "front_waist") else None
    r, y, sag = (33.0, -40.0, 4.0) if "bust" in key else (23.5, 0.0, 3.0)
    if x0 is None:
        return "front", f"M{-r} {y}C{-r / 2} {y + sag} {r / 2} {y + sag} {r} {y}", ((-r, y), (r, y))
    low = y + 0.75 * sag
    return "front", f"M0 {low}C{r / 4} {low} {r / 2} {y + sag * 0.6} {r} {y}", ((0.0, low), (r, y))


def _round(y: float, r: float) -> str:
    """Round the body: the near half sags a little, the far half shows above it."""
    h = r / 2
    return f"M{-r:g} {y:g}C{-h:g} {y + 4:g} {h:g} {y + 4:g} {r:g} {y:g}C{h:g} {y - 3:g} {-h:g} {y - 3:g} {-r:g} {y:g}"


def _d(points: tuple[tuple[float, float], ...], flip: int) -> str:
    """A path through runs of cubics: a start, then threes of points; two points alone make a line."""
    said = [f"{flip * x:g} {y:g}" for x, y in points]
    head, rest = said[0], said[1:]
    if len(rest) % 3:
        return f"M{head}" + "".join(f"L{p}" for p in rest)
    return f"M{head}" + "".join(f"C{' '.join(rest[k : k + 3])}" for k in range(0, len(rest), 3))
