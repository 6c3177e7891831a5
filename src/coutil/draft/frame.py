"""The frame of a half: where every edge stands at every level, and how high each level lies on each panel.

A seam's two edges must be equally long between two levels, but they curve differently: an edge that stands in further
below the bust reaches less high for the same length. Each panel therefore has its own heights of the levels, found one
after the other from the centre front to the centre back: the seam over the bust point from the tape, every other edge
from the panel it will be sewn to.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from coutil.body import Body, BodySide
from coutil.draft.refusal import DraftError, level_told
from coutil.draft.rise import Rise, SteepError, from_heights, from_lengths
from coutil.draft.sharing import Half, Widths, share_out
from coutil.draft.style import SettledStyle, ribs
from coutil.seaming import Seaming
from coutil.words import Length

# Left and right of an uneven body meet at the centre front and at the centre back; the levels of their panels tilt to
# meet there. Beyond this tilt, in mm, the grain of a narrow panel would be visibly off. Found by trial.
MOST_TILT = 30.0
# Heights at the centre front are moved until the seam over the bust point has the tape's lengths within this, in mm:
# three orders below the walk's tolerance. A panel or two between them change lengths by little, so each round gains
# more than a digit; sixty are far more than any body tried has needed.
CLOSE_ENOUGH, MOST_ROUNDS = 1e-6, 60

Lengths = Mapping[tuple[str, str], float]


@dataclass(frozen=True, slots=True)
class Frame:
    """Rises of one half by panel from the centre front: of the edge towards the centre front and of the other.

    None where the edge is a straight centre. Front panels: x from the centre front; back panels: x from the centre
    back's own edge. `centre_front` and `centre_back` are the heights of the levels on these two edges.
    """

    half: Half
    near: tuple[Rise | None, ...]
    far: tuple[Rise | None, ...]
    centre_front: dict[str, float]
    centre_back: dict[str, float]

    def inner(self, seam: int) -> Rise:
        """The edge of a seam that lies towards the centre front."""
        rise = self.far[seam]
        assert rise is not None
        return rise

    def outer(self, seam: int) -> Rise:
        """The edge of a seam that lies towards the centre back."""
        rise = self.near[seam + 1]
        assert rise is not None
        return rise


def frames(seaming: Seaming, body: Body, style: SettledStyle, foam: float) -> tuple[Frame, ...]:
    """One frame for an even body, two (left, right) for an uneven one. Raises DraftError."""

    def frame(side: BodySide, where: str, front: Widths | None, back: Widths | None) -> Frame:
        half = share_out(seaming, body, side, style, foam, where)
        try:
            return _Half(seaming, half, side, body, style.hip, front, back).frame()
        except SteepError as steep:
            raise _explain(steep, where) from None

    if body.symmetric:
        return (frame(body.left, "both", None, None),)
    sides = ((body.left, "left"), (body.right, "right"))
    loose = [frame(side, where, None, None) for side, where in sides]
    front = _meet(loose[0].centre_front, loose[1].centre_front, "front")
    half_way = [frame(side, where, front, None) for side, where in sides]
    back = _meet(half_way[0].centre_back, half_way[1].centre_back, "back")
    return tuple(frame(side, where, front, back) for side, where in sides)


def _meet(left: Mapping[str, float], right: Mapping[str, float], where: str) -> dict[str, float]:
    """Heights half way between the two sides, for the edges where they meet."""
    for level in left:
        if abs(left[level] - right[level]) > 2.0 * MOST_TILT:
            raise DraftError(
                ("body.left", "body.right"),
                "sides_apart",
                part=where,
                level=level_told(level),
                apart=Length(abs(left[level] - right[level]), "cm"),
                most=Length(2.0 * MOST_TILT, "cm"),
            )
    return {level: (left[level] + right[level]) / 2.0 for level in left}


@dataclass(frozen=True, slots=True)
class _Half:
    """What the frame of one half is solved from; `front` and `back` are where its levels meet the other half's."""

    seaming: Seaming
    half: Half
    side: BodySide
    body: Body
    hip: float
    front: Widths | None
    back: Widths | None

    def frame(self) -> Frame:
        """Raises SteepError."""
        n, cup = len(self.seaming.panels), self.seaming.cup
        near: list[Rise | None] = [None] * n
        far: list[Rise | None] = [None] * n
        if cup == 0:
            princess = far[0] = self._princess_of_the_first()
            heights = {level: princess.height(level) for level in self._levels}
        else:
            heights = self._over_the_bust_point(near, far)
        centre_front = dict(self.front) if self.front else heights
        for k in range(1 if cup is None else cup + 1, n):
            self._panel(k, near, far, centre_front)
        last = near[-1]
        assert last is not None
        centre_back = dict(self.back) if self.back else {level: last.height(level) for level in self._levels}
        return Frame(self.half, tuple(near), tuple(far), centre_front, centre_back)

    @property
    def _levels(self) -> tuple[str, ...]:
        return self.half.levels

    @property
    def _tape(self) -> dict[tuple[str, str], float]:
        """Lengths between the levels from the waist up."""
        if not self.seaming.bust:
            return {("waist", "underbust"): ribs(self.body)}
        over = self.side.bust_to_waist - self.side.bust_to_underbust
        return {("waist", "underbust"): over, ("underbust", "bust"): self.side.bust_to_underbust}

    def _below(self) -> dict[str, float]:
        """Heights of the levels below the waist, by the tape's depths."""
        depths = {"hip": self.body.hip_depth, "high_hip": self.body.high_hip_depth}
        return {level: -depths[level] for level in self._levels if level in depths}

    def _princess_of_the_first(self) -> Rise:
        """The first panel's edge over the bust point: by length from the waist up, by depth from the waist down.

        Below the waist nothing curves much: the centre front's own straight edge carries the tape's depth.
        """
        levels = self._levels
        place = {
            level: _level_end(self.half.width[0][level], self.front[level] if self.front else None) for level in levels
        }
        # The bust point's distance is square to the centre front.
        place["bust"] = _constant(self.half.width[0]["bust"])
        upper = from_lengths(levels[levels.index("waist") :], place, self._tape)
        skirt = [(place[level](y), y) for level, y in self._below().items()]
        guess = from_heights(levels, [*skirt, *upper.points], fade=self.hip)
        # Once more with the skirt in play, since its slope at the waist steers the curve above.
        below = {pair: n for pair, n in guess.lengths().items() if pair not in self._tape}
        return from_lengths(levels, place, {**self._tape, **below}, fade=self.hip)

    def _over_the_bust_point(self, near: list[Rise | None], far: list[Rise | None]) -> Widths:
        """The panels up to the seam over the bust point, their levels' heights moved until it has the tape's lengths.

        Without such a seam the straight centre front carries the tape's lengths. Returns the heights at which the first
        panel's levels end.
        """
        cup, levels = self.seaming.cup, self._levels
        above = self._tape
        heights = {**self._below(), "waist": 0.0}
        for (lower, upper), length in above.items():
            heights[upper] = heights[lower] + length
        for _ in range(MOST_ROUNDS):
            place = [
                (_level_end(self.half.width[0][v], self.front[v] if self.front else None)(heights[v]), heights[v])
                for v in levels
            ]
            far[0] = from_heights(levels, place, fade=self.hip)
            if cup is None:
                return heights
            for k in range(1, cup + 1):
                self._panel(k, near, far, heights)
            seam = far[cup]
            assert seam is not None
            found = seam.lengths()
            short = {pair: length - found[pair] for pair, length in above.items()}
            heights["underbust"] += short["waist", "underbust"]
            heights["bust"] += short["waist", "underbust"] + short["underbust", "bust"]
            if max(map(abs, short.values())) < CLOSE_ENOUGH:
                return heights
        raise SteepError("underbust", "bust", self.half.width[0]["bust"], above["underbust", "bust"])

    def _panel(self, k: int, near: list[Rise | None], far: list[Rise | None], centre_front: Widths) -> None:
        """Panel k: its near edge as long as the one it is sewn to, its far edge at its widths from there."""
        half, levels, last = self.half, self._levels, len(self.seaming.panels) - 1
        sewn_to, inset = far[k - 1], half.near[k]
        assert sewn_to is not None
        assert inset is not None
        inward = 1.0 if self.seaming.panels[k].part == "front" else -1.0
        place: dict[str, Callable[[float], float]]
        if k == last:
            place = {
                level: _level_end(half.width[k][level], self.back[level] if self.back else None) for level in levels
            }
        else:
            place = {level: _constant(half.at[k] + inward * inset[level]) for level in levels}
        rise = near[k] = from_lengths(levels, place, sewn_to.lengths(), fade=self.hip)
        if k == last:
            return
        width = dict(half.width[k])
        if k == 1 and self.seaming.cup == 0:
            # On an uneven body the bust level tilts on the centre front: its chord is a little longer than the bust
            # span's half, and the next panel gives back that little.
            bust = half.width[0]["bust"]
            width["bust"] -= math.hypot(bust, sewn_to.height("bust") - centre_front["bust"]) - bust
        points = [(rise.point(v)[0] + inward * width[v], rise.height(v)) for v in levels]
        far[k] = from_heights(levels, points, fade=self.hip)


def _constant(x: float) -> Callable[[float], float]:
    return lambda _y: x


def _level_end(width: float, meets: float | None) -> Callable[[float], float]:
    """x of the far end of a level `width` long whose end on the centre line lies at height `meets` (None: level)."""
    if meets is None:
        return _constant(width)
    return lambda y: max(width * width - (y - meets) ** 2, 0.0) ** 0.5


def _explain(steep: SteepError, where: str) -> DraftError:
    """Which measurements conflict when a stretch of edge cannot be drawn."""
    conflicts = {
        ("underbust", "bust"): ("bust", "underbust", "bust_to_underbust"),
        ("waist", "underbust"): ("underbust", "waist", "bust_to_waist"),
        ("high_hip", "waist"): ("waist", "high_hip", "high_hip_depth"),
        ("hip", "high_hip"): ("high_hip", "hip", "hip_depth"),
    }
    names = conflicts.get((steep.lower, steep.upper), ("bust", "underbust", "waist", "bust_to_waist"))
    return DraftError(
        names,
        "steep",
        lower=level_told(steep.lower),
        upper=level_told(steep.upper),
        side=where,
        sideways=Length(steep.sideways, "cm"),
        length=Length(steep.length, "cm"),
    )
