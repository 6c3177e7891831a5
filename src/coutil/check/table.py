"""The list of all checks, for patterns that coutil drafted and for those that somebody brought in.

The maker of a pattern that was brought in drew it so: what is off is said and left to her. Only an outline that is
none, a seam that cannot be eased together, a pad that does not fit and a garment that is much too tight are a stop
then. The client's body serves as a measure: what the pattern has more or less than it at each level. What such a
pattern lacks leaves out the checks that need it; the room that read it says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from coutil.body import Body, rests_on
from coutil.body.resolve import BodySide
from coutil.check.body import body_findings, of_body, reduction_findings, taken_findings
from coutil.check.cup import cup_findings
from coutil.check.foam import foam_findings
from coutil.check.girth import bust_point_findings, fit_findings, girth_findings, mark_findings
from coutil.check.notches import notch_findings
from coutil.check.pads import over_channels, pad_findings
from coutil.check.reach import reach_findings
from coutil.check.sound import sound_findings
from coutil.check.true import EITHER_FRONT, corners, true_findings
from coutil.check.walk import walk_findings
from coutil.dome import cups
from coutil.order import Build, Style, eased
from coutil.pattern import Cup, Finding, Pattern, girths, gravest_first
from coutil.pattern.model import Side
from coutil.seaming import CENTRE_BACK

# What a sewer eases into a seam between two notches without a pucker, in mm (1/8 in; common practice, no source). It is
# also what a hand-drawn or photographed line may be off.
EASED = 3.175
# A line that was drawn elsewhere may break by this much at a join, in degrees: files round to a tenth of a micrometre,
# which turns the short handles of a curve by some hundredths; half of what a top may turn by where it runs on.
DRAWN_BREAK = 0.5
# And bend the other way by this much, in degrees: on 10 cm that strays 0.1 mm from straight, less than a pencil line.
DRAWN_TURN = 0.5


@dataclass(frozen=True, slots=True)
class Given:
    """What is checked and by what measure.

    `asked` is the ease that the draft gave each level, in mm; `foam` is what it added to the front's girth at the bust
    for the foam; `gap` how much of the girth nothing is cut for; `of_side` the measurements beside each cup seam;
    `own`: somebody else drew the pattern.
    """

    pattern: Pattern
    body: Body
    style: Style
    build: Build
    asked: Mapping[str, float]
    foam: float
    own: bool
    gap: float
    of_side: Mapping[Side, BodySide]
    cups: tuple[Cup, ...]

    @property
    def girth(self) -> dict[str, float]:
        """The body's girths in mm by level."""
        b = self.body
        return {"bust": b.bust, "underbust": b.underbust, "waist": b.waist, "high_hip": b.high_hip, "hip": b.hip}

    @property
    def open_front(self) -> float:
        """What an opening at the centre front leaves open when worn, in mm."""
        opening = self.style.opening("centre_front")
        return 0.0 if self.own or opening is None else opening.worn

    @property
    def ease(self) -> dict[str, float]:
        """What the garment has more than the body at each level, in mm: as the style asks, or as the pattern has it."""
        if self.own:
            return {level: mm - self.girth[level] for level, mm in girths(self.pattern, gap=self.gap).items()}
        return {**self.asked, "hip": self.asked["high_hip"]}


@dataclass(frozen=True, slots=True)
class Check:
    """One check: when it is made and what it says.

    `needs` says in words what it needs, `applies` whether that is there. For a pattern that was brought in `slack` is
    given to it besides, and the stops among its findings of the families `lowered` (the first word of their codes) are
    warnings.
    """

    name: str
    needs: str
    applies: Callable[[Given], bool]
    run: Callable[..., Iterable[Finding]]
    slack: Mapping[str, Any] = field(default_factory=dict)
    lowered: tuple[str, ...] = ()

    def found(self, given: Given) -> list[Finding]:
        """What it has to say; nothing where it does not apply."""
        if not self.applies(given):
            return []
        if not given.own:
            return list(self.run(given))
        return _lowered(self.run(given, **self.slack), self.lowered)


def check(
    pattern: Pattern,
    body: Body,
    style: Style,
    build: Build,
    *,
    ease: Mapping[str, float] | None = None,
    foam: float = 0.0,
    own: bool = False,
) -> Pattern:
    """The pattern with its cups and with everything that the checks have to say, the gravest first.

    `ease` is what the draft gave each level, in mm (None: what the style states or is usual); `foam` is what it added
    to the front's girth at the bust for the foam; `own`: somebody else drew the pattern. Findings that it bears
    already are kept, before those of the same level. Raises ValueError where
    a seam names a mark that its edge lacks, and KeyError where a seam names a panel that is missing.
    """
    given = _given(pattern, body, style, build, ease, foam, own)
    # Before all else: whose body this is.
    found = [*taken_findings(body), *(_lowered(pattern.findings) if own else pattern.findings)]
    for c in CHECKS:
        found += c.found(given)
    return of_body(replace(pattern, cups=given.cups, findings=gravest_first(found)), body)


def left_out(pattern: Pattern, body: Body, style: Style, build: Build, *, own: bool = False) -> tuple[Check, ...]:
    """The checks that do not apply to a pattern, for want of what they need."""
    given = _given(pattern, body, style, build, None, 0.0, own)
    return tuple(c for c in CHECKS if not c.applies(given))


def _given(
    pattern: Pattern, body: Body, style: Style, build: Build, ease: Mapping[str, float] | None, foam: float, own: bool
) -> Given:
    seams = [s for s in pattern.cup_seams if _bears_bust_point(pattern, s.side) or not own]
    of_side = {s.side: body.right if s.side == "right" else body.left for s in seams}
    reach = {side: m.bust_to_underbust for side, m in of_side.items() if _bears_bust_point(pattern, side)}
    gap = style.gap if not own or opens(pattern) else 0.0
    asked = eased(style, body) if ease is None else ease
    return Given(pattern, body, style, build, asked, foam, own, gap, of_side, cups(pattern, reach))


def opens(pattern: Pattern) -> bool:
    """Whether a centre back opens: one that lies on the fold does not."""
    return any(e.role == CENTRE_BACK and p.fold not in (e.name, e.role) for p in pattern.panels for e in p.edges)


def _bears_bust_point(pattern: Pattern, side: Side) -> bool:
    return all("bust_point" in e.marks for e in pattern.edges_of(pattern.cup_seam(side)))


def _lowered(findings: Iterable[Finding], families: tuple[str, ...] | None = None) -> list[Finding]:
    """The findings, stops of the families (None: all) as warnings."""
    return [
        replace(f, level="warn")
        if f.level == "stop" and (families is None or f.code.partition(".")[0] in families)
        else f
        for f in findings
    ]


def _always(_: Given) -> bool:
    return True


def _drafted(g: Given) -> bool:
    return not g.own


def _brought_in(g: Given) -> bool:
    return g.own


def _over_bust(g: Given) -> bool:
    return bool(g.of_side)


def _has_cups(g: Given) -> bool:
    return bool(g.cups)


def _true(g: Given, *, cornered: bool = False, whole: bool = True) -> list[Finding]:
    # Where a corner at the centre front cannot be told from a style, it is taken to be wanted.
    asked = EITHER_FRONT if cornered else corners(g.style)
    return true_findings(g.pattern, asked=asked, whole=whole)


def _girth(g: Given) -> list[Finding]:
    ease = g.ease
    return girth_findings(g.pattern, body=g.girth, ease={**ease, "bust": ease["bust"] + g.foam}, gap=g.gap)


def _bust_points(g: Given) -> list[Finding]:
    return [
        f
        for side, m in g.of_side.items()
        for f in bust_point_findings(
            g.pattern,
            side,
            from_centre=m.bust_point - g.open_front / 2.0,
            to_underbust=m.bust_to_underbust,
            to_waist=m.bust_to_waist,
        )
    ]


def _pads(g: Given) -> list[Finding]:
    pad = g.build.pad
    return pad_findings(
        g.pattern,
        top_drop=pad.top_drop,
        side_inset=pad.side_inset,
        side_dip=pad.side_dip,
        front_dip=pad.front_dip,
        apart=pad.apart,
        beyond=pad.beyond,
    ) + over_channels(g.pattern)


def _fit(g: Given) -> list[Finding]:
    ease = g.ease
    return fit_findings(g.pattern, g.girth, gap=g.gap, standard=_of_standard(g)) + reduction_findings(
        {k: g.girth[k] for k in ease}, ease
    )


def _of_standard(g: Given) -> frozenset[str]:
    """The levels whose girth nobody read off a tape: they are not called the client's."""
    return frozenset(level for level in g.girth if rests_on(g.body, (level,)))


CHECKS: tuple[Check, ...] = (
    Check(
        "shape of the panels",
        "nothing; that a line does not wiggle, the levels",
        _always,
        lambda g, **slack: sound_findings(g.pattern, **slack),
        {"breaks": DRAWN_BREAK, "turns": DRAWN_TURN},
        ("run",),
    ),
    Check(
        "walk",
        "seams",
        lambda g: bool(g.pattern.seams),
        lambda g, **slack: walk_findings(g.pattern, **slack),
        {"eased": EASED},
    ),
    Check(
        "trueing", "tops and hems that meet the seams", _always, _true, {"cornered": True, "whole": False}, ("true",)
    ),
    Check("girths", "a pattern that was drafted: the girths are then the body's with the ease", _drafted, _girth),
    Check("marks of the levels", "levels", _always, lambda g: mark_findings(g.pattern), lowered=("level",)),
    Check("fit", "a pattern that was brought in, and levels on all of its panels", _brought_in, _fit),
    Check("bust point", "a seam over the bust point", _over_bust, _bust_points, lowered=("bust_point",)),
    Check("pads", "pads", lambda g: bool(g.pattern.pads), _pads),
    Check(
        "notches", "pieces", lambda g: bool(g.pattern.pieces), lambda g: notch_findings(g.pattern), lowered=("notch",)
    ),
    Check("reduction", "a pattern that was drafted", _drafted, lambda g: reduction_findings(g.girth, g.ease)),
    Check("reach", "a pattern that was drafted", _drafted, lambda g: reach_findings(g.pattern, g.body)),
    Check("body", "nothing", _always, lambda g: body_findings(g.body)),
    Check(
        "cup gauge", "a seam over the bust point that bears it", _has_cups, lambda g: cup_findings(g.pattern, g.cups)
    ),
    Check(
        "foam",
        "a seam over the bust point that bears it, and a thickness of the foam",
        lambda g: bool(g.cups) and bool(g.build.pad.thickness),
        lambda g: foam_findings(g.build.pad.thickness, g.cups, added=g.foam),
    ),
)
