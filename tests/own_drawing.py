"""A maker's own drawing that tells nothing but its outlines."""

from __future__ import annotations

from coutil.pattern import Pattern


def plain_drawing(pattern: Pattern) -> bytes:
    """One outline a panel as an SVG at 1:1, nothing inside, no word of what it is."""
    plain = "".join(
        f'<path d="M{" ".join(f"{x + 300 * k:.3f},{-y:.3f}" for x, y in p.outline(tolerance=0.05))}Z"/>'
        for k, p in enumerate(pattern.panels)
    )
    box = "-100 -500 2000 1000"
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="2000mm" height="1000mm" viewBox="{box}">{plain}</svg>'
    return svg.encode()
