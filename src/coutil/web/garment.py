"""Where the panels of a pattern lie and what their edges are, by the ids of what is drawn: what the page lights up.

Ids here are plain: without the side of an uneven body. No panel is asked for by its name; a seaming of any number of
panels, or a pattern that was brought in, has its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from coutil.pattern import Panel, Pattern
from coutil.seaming.roles import CENTRE_BACK, CENTRE_FRONT, HEM, SIDE


def plain_id(panel: str) -> str:
    """The id of a panel, by its name, without its side."""
    return panel.replace(" ", "-")


@dataclass(frozen=True, slots=True)
class Garment:
    """Panels by their plain ids, from the centre front to the centre back.

    `inner` and `outer` are those beside the bust point, towards the centre front and away from it; `cup_edges` the ids
    of their edges on the cup seam. `bearing` says by role which edges there are, `roles` the role by the edge's id.
    """

    panels: tuple[str, ...]
    front: tuple[str, ...]
    back: tuple[str, ...]
    inner: str
    outer: str
    cup_edges: tuple[str, ...]
    bearing: Mapping[str, tuple[str, ...]]
    roles: Mapping[str, str]

    @classmethod
    def of(cls, pattern: Pattern) -> Garment:
        """What a pattern has; of an uneven one either half will do for what it lists."""
        found: dict[str, Panel] = {}
        for panel in pattern.panels:
            found.setdefault(plain_id(panel.name), panel)
        bearing: dict[str, list[str]] = {}
        roles: dict[str, str] = {}
        for name, panel in found.items():
            for e in panel.edges:
                part = f"{name}/edge/{e.name}"
                roles[part] = e.role
                bearing.setdefault(e.role, []).append(part)
        inner = outer = ""
        cup_edges: tuple[str, ...] = ()
        for seam in pattern.cup_seams[:1]:
            inner, outer = (plain_id(p.name) for p in pattern.panels_of(seam))
            cup_edges = (f"{inner}/edge/{seam.a.edge}", f"{outer}/edge/{seam.b.edge}")
        return cls(
            panels=tuple(found),
            front=tuple(n for n, p in found.items() if p.part == "front"),
            back=tuple(n for n, p in found.items() if p.part == "back"),
            inner=inner,
            outer=outer,
            cup_edges=cup_edges,
            bearing={role: tuple(parts) for role, parts in bearing.items()},
            roles=roles,
        )

    @property
    def cup(self) -> tuple[str, ...]:
        """The panels beside the bust point."""
        return (self.inner, self.outer) if self.inner else ()

    def edges(self, role: str, panels: Iterable[str] | None = None) -> tuple[str, ...]:
        """The edges with a role, of all panels or of these."""
        found = self.bearing.get(role, ())
        if panels is None:
            return found
        kept = tuple(f"{p}/" for p in panels)
        return tuple(part for part in found if part.startswith(kept)) if kept else ()

    def at(self, role: str) -> tuple[str, ...]:
        """The panels that bear an edge with a role."""
        return tuple(part.partition("/")[0] for part in self.edges(role))

    @property
    def middle(self) -> tuple[str, ...]:
        """The panels at the centre front."""
        return self.at(CENTRE_FRONT)

    @property
    def spine(self) -> tuple[str, ...]:
        """The panels at the centre back."""
        return self.at(CENTRE_BACK)

    @property
    def sides(self) -> tuple[str, ...]:
        """The panels at the side seam; without one that under the arm, the last that is drawn as a front."""
        return self.at(SIDE) or tuple(p for p in self.at(HEM) if p in self.front)[-1:]
