"""Telling the panels: which outline is which, and which role each of its sides has.

What a person says goes before anything; what is left open is proposed, from names in the file, from where sides lie,
from equal lengths of partners, with a figure from 0 to 1 that says how sure the proposal is (1: it was said).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal, cast

from coutil.order.own import OwnPanel, OwnPattern
from coutil.pattern.model import Role, Side
from coutil.pattern.refs import PanelRef, SeamRef
from coutil.pattern.telling import part, told
from coutil.plane import Curve
from coutil.seaming import (
    CUP_ROLE,
    USUAL,
    USUAL_ROLES,
    Part,
    edge_kind,
    part_named,
    place_named,
    proposed_names,
    seam_roles,
)
from coutil.seaming.roles import CENTRE_BACK, CENTRE_FRONT, MIDDLE_SEAM, SIDE
from coutil.trace.arrange import PEAK_LEAST, PEAK_MOST, Arrangement, arranged
from coutil.trace.inward import net_sides
from coutil.trace.model import Shape, Traced, TraceError
from coutil.trace.sides import Placed, run
from coutil.trace.words import is_pad, meaningful, numbered, panel_of, side_of
from coutil.trace.work import Work, straightened, work_of
from coutil.words import Length, Told

# Roles of the upright edges from the centre front to the centre back.
RANK = USUAL_ROLES
# Panels whose edges differ by so many mm each on average may lie on their sides; they do if they fit twice as well when
# they are turned.
FITS_BADLY = 4.0
LIES_BETTER = 0.5
# Squares to check a print by are up to 10 cm or 4 in large (common practice, no source).
LARGEST_SQUARE = 105.0
# An arrangement less sure than this is told to be in doubt.
DOUBTFUL = 0.3
# Outlines whose sides agree within this, in mm, are one panel: with the same name, and without.
SAME_NAMED, SAME_COPIED = 1.0, 0.05


@dataclass(frozen=True, slots=True)
class ToldEdge:
    """One edge: its name, its role and the numbers (from 0) of the outline's sides that make it."""

    name: str
    role: Role
    sides: tuple[int, ...]
    where: Literal["inner", "outer", "top", "hem", ""] = ""


@dataclass(frozen=True, slots=True)
class ToldPanel:
    """One panel as told or proposed. `inner_left`: its edge towards the centre front lies on the left in the file.

    `sure` is how sure its name and `sure_edges` how sure its edges' roles are, from 0 to 1.
    """

    work: Work
    name: str
    side: Side
    fold: str | None
    edges: tuple[ToldEdge, ...]
    inner_left: bool
    sure: float
    sure_edges: float

    @property
    def part(self) -> Part:
        """From which side it is drawn."""
        return part_named(self.name)

    def edge(self, name: str) -> ToldEdge:
        for e in self.edges:
            if e.name == name:
                return e
        raise TraceError(
            "no_such_edge",
            PanelRef(self.name),
            panel=self.name,
            edge=repr(name),
            edges=", ".join(e.name for e in self.edges),
        )

    def curve(self, edge: ToldEdge) -> Curve:
        c = run(self.work.sides, edge.sides)
        assert c is not None
        return c


@dataclass(frozen=True, slots=True)
class ToldSeam:
    """A seam as told or proposed; `longer` is by how much edge a is longer than b, in mm, peak and ease apart."""

    name: str
    side: Side
    a: tuple[str, str]
    b: tuple[str, str]
    ease: float
    peak: float
    longer: float
    sure: float


@dataclass(frozen=True, slots=True)
class Telling:
    """Panels from the centre front to the centre back, seams, the outlines that were passed over, with why, and what
    cannot be told for certain, in whole sentences.
    """

    panels: tuple[ToldPanel, ...]
    seams: tuple[ToldSeam, ...]
    passed: tuple[Told, ...] = ()
    doubts: tuple[Told, ...] = ()


def tell(traced: Traced, own: OwnPattern) -> Telling:
    """Panels, edges, roles and seams of traced shapes. Raises TraceError where what was said does not fit them."""
    chosen, passed = _chosen(traced, own)
    cut = own.line == "cut"
    works = [work_of(shape, said, cut=cut) for shape, said in chosen]
    doubts: list[Told] = []
    if _lying(works):
        works = [work_of(shape, said, lying=True, cut=cut) for shape, said in chosen]
        doubts.append(told("traced.lying"))
    sides = {w.side for w in works}
    halves: list[Side] = ["both"] if sides == {"both"} else ["left", "right"]
    panels: dict[int, ToldPanel] = {}
    seams: dict[tuple[object, ...], ToldSeam] = {}
    for half in halves:
        members = [w for w in works if w.side in (half, "both")]
        if not members:
            continue
        row, doubted = _chain(members)
        doubts += [d for d in doubted if d not in doubts]
        for p in row:
            panels.setdefault(next(k for k, w in enumerate(works) if w.shape is p.work.shape), p)
        if not own.seams:
            for seam in _seams(row, half, own):
                seams.setdefault((seam.name, seam.side), seam)
    ordered = _unlike(_in_order(panels))
    if own.seams:
        for seam in _said_seams(own, ordered):
            seams.setdefault((seam.name, seam.side), seam)
    return Telling(ordered, tuple(seams.values()), tuple(passed), tuple(doubts))


# --- which outlines ------------------------------------------------------------------------------------------------


def _chosen(traced: Traced, own: OwnPattern) -> tuple[list[tuple[Shape, OwnPanel]], list[Told]]:
    if own.panels:
        return [(_find(traced, p.outline), p) for p in own.panels], []
    out: list[tuple[Shape, OwnPanel]] = []
    passed: list[Told] = []
    for shape in traced.shapes:
        if is_pad(shape.name):
            passed.append(part("passed_pad", shape=shape.name))
            continue
        square = _square(shape)
        if square and any(not _square(s) for s in traced.shapes):
            passed.append(part("passed_square", shape=shape.name, size=Length(square, "mm")))
            continue
        twin = next((s for s, _ in out if _alike(s, shape)), None)
        if twin is not None:
            passed.append(part("passed_twin", shape=shape.name, twin=twin.name))
            continue
        out.append((shape, OwnPanel(shape.name)))
    return out, passed


def _square(shape: Shape) -> float:
    """The side of a square that stands straight and is no larger than test squares are; else 0."""
    lengths = [c.length for c in shape.sides]
    upright = all(c.straight and min(abs(c.end[0] - c.start[0]), abs(c.end[1] - c.start[1])) < 0.1 for c in shape.sides)
    if len(lengths) != 4 or not upright or max(lengths) - min(lengths) > 0.5 or max(lengths) > LARGEST_SQUARE:
        return 0.0
    return sum(lengths) / 4.0


def _find(traced: Traced, outline: str) -> Shape:
    for s in traced.shapes:
        if s.name == outline:
            return s
    if outline.isascii() and outline.isdigit() and 1 <= int(outline[:6]) <= len(traced.shapes):
        return traced.shapes[int(outline) - 1]
    names = ", ".join(f"{k} {s.name!r}" for k, s in enumerate(traced.shapes[:20], start=1))
    raise TraceError("no_such_outline", outline=repr(outline), file=traced.source, outlines=names)


def _alike(a: Shape, b: Shape) -> bool:
    """Whether two outlines are one panel, drawn twice or mirrored; those that are named left and right are not."""
    names = [(panel_of(s.name), side_of(s.name)) for s in (a, b)]
    if (names[0][0] and names[1][0] and names[0] != names[1]) or names[0][1] != names[1][1]:
        return False
    # Names vouch for what was drawn anew; without them only a copy counts.
    off = SAME_NAMED if names[0][0] and names[0] == names[1] else SAME_COPIED
    ours, theirs = ([c.length for c in (s.net or s.sides)] for s in (a, b))
    if len(ours) != len(theirs):
        return False
    turns = [theirs[k:] + theirs[:k] for k in range(len(theirs))]
    turns += [t[::-1] for t in turns]
    return any(all(abs(u - v) < off for u, v in zip(ours, t, strict=True)) for t in turns)


# --- the order of the panels ---------------------------------------------------------------------------------------


def _lying(works: Sequence[Work]) -> bool:
    """Whether panels of which nothing says how they stand fit each other only when they are turned by a quarter."""
    if any(w.stands or w.side != "both" for w in works) or len(works) < 2:
        return False
    tall, wide = (sum(abs(c.end[k] - c.start[k]) for w in works for c in w.sides) for k in (1, 0))
    if tall > wide:
        # Panels of a bodice are longer than they are wide, taken together.
        return False
    upright = _arranged(works).against
    if upright < FITS_BADLY * len(works):
        return False
    turned = [work_of(w.shape, w.said, lying=True, cut=w.cut) for w in works]
    return _arranged(turned).against < LIES_BETTER * upright


def _arranged(works: Sequence[Work]) -> Arrangement:
    names = [panel_of(w.said.name or w.shape.name) for w in works]
    places = [place_named(name, len(works)) for name in names]
    return arranged(works, [w.placed for w in works], places, all(w.said.name for w in works))


def _chain(works: Sequence[Work]) -> tuple[list[ToldPanel], list[Told]]:
    """The panels of one half in order, with their names, orientation and edges; and what about that is in doubt."""
    n = len(works)
    places = [w.placed for w in works]
    known = [w.said.name or panel_of(w.shape.name) or "" for w in works]
    found = _arranged(works)
    names = _names(works, found.order, known)
    out = []
    for i, k in enumerate(found.order):
        w = works[k]
        edges, sure_edges = _edges(w, places[k], found.flips[k], i, n)
        said = 1.0 if w.said.name else (0.95 if panel_of(known[k]) else found.sure)
        fold = _fold(w, edges)
        if fold is not None and w.grain is None:
            on = run(w.sides, next(e.sides for e in edges if e.name == fold))
            assert on is not None
            w = straightened(w, on)
        sure_edges = 1.0 if w.said.roles else min(sure_edges, found.sure)
        out.append(ToldPanel(w, names[i], w.side, fold, edges, found.flips[k], said, sure_edges))
    return out, list(_doubts(works, out, found))


def _doubts(works: Sequence[Work], panels: Sequence[ToldPanel], found: Arrangement) -> Iterator[Told]:
    """What cannot be told of the arrangement: what would fit almost as well."""
    if found.other is not None and found.sure < DOUBTFUL and any(p.sure < 1.0 or p.sure_edges < 1.0 for p in panels):
        order, flips = found.other
        name = {k: p.work.shape.name for k, p in zip(found.order, panels, strict=True)}
        turned = tuple(name[k] for k in found.order if flips[k] != found.flips[k])
        if order == found.order[::-1] and len(order) > 1:
            yield told("traced.which_end", taken=repr(name[order[-1]]), other=repr(name[order[0]]))
        elif order != found.order:
            yield told("traced.which_order", names=tuple(name[k] for k in order))
        else:
            lie = "one" if len(turned) == 1 else "several"
            yield told("traced.which_way", names=tuple(map(repr, turned)), lie=lie)
    if len(panels) > len(USUAL) + 1 and not all(w.said.roles for w in works):
        yield told("traced.which_seam", seams=len(panels) - 1)


def _names(works: Sequence[Work], order: Sequence[int], known: Sequence[str]) -> list[str]:
    n = len(order)
    proposed = proposed_names(n)
    out = []
    for i, k in enumerate(order):
        w = works[k]
        given = w.said.name or (known[k] if n == len(USUAL) else w.shape.name)
        keep = bool(w.said.name) or panel_of(given) is not None or (n != len(USUAL) and meaningful(given))
        keep = keep and not numbered(given)
        name = (panel_of(given) or given) if keep else proposed[i]
        out.append(name)
    return out


def _fold(w: Work, edges: Sequence[ToldEdge]) -> str | None:
    """The edge on the fold: as said, as the file says, or a centre front that is one straight line."""
    if w.said.fold is not None:
        for e in edges:
            if w.said.fold in (e.role, e.name):
                return e.name
        raise TraceError("no_fold_edge", PanelRef(w.shape.name), panel=w.shape.name, edge=repr(w.said.fold))
    if w.side != "both":
        return None
    for e in edges:
        if w.shape.fold is not None and e.sides == (w.shape.fold,) and edge_kind(e.role) == "centre":
            return e.name
        if e.role == CENTRE_FRONT and w.line != "cut" and len(e.sides) == 1 and w.sides[e.sides[0]].straight:
            return e.name
    return None


# --- edges ---------------------------------------------------------------------------------------------------------


def _edges(w: Work, p: Placed, inner_left: bool, i: int, n: int) -> tuple[tuple[ToldEdge, ...], float]:
    """The edges of the panel at place i of n, in the order of its outline, and how sure their roles are."""
    if w.said.roles:
        return _said_edges(w, inner_left), 1.0
    seams = seam_roles(n)
    inner: Role = CENTRE_FRONT if i == 0 else seams[i - 1]
    outer: Role = CENTRE_BACK if i == n - 1 else seams[i]
    if n == 1:
        inner, outer = CENTRE_FRONT, SIDE
    left, right = (inner, outer) if inner_left else (outer, inner)
    roles: dict[str, Role] = {"left": left, "right": right, "top": "top", "hem": "hem"}
    out: list[ToldEdge] = []
    for place in p.places:
        if any(e.where == place for e in out):
            continue
        out.append(ToldEdge(roles[place], roles[place], tuple(p.of(place)), cast("Literal['top']", place)))
    where = {"left": "inner" if inner_left else "outer", "right": "outer" if inner_left else "inner"}
    named = [replace(e, where=cast("Literal['top']", where.get(e.where, e.where))) for e in out]
    return _numbered(named), p.sure


def _said_edges(w: Work, inner_left: bool) -> tuple[ToldEdge, ...]:
    roles = w.said.roles
    if len(roles) != len(w.sides):
        lengths = ", ".join(f"{k} ({s.length / 10.0:.1f} cm)" for k, s in enumerate(w.sides, start=1))
        raise TraceError(
            "roles_for_sides",
            PanelRef(w.shape.name),
            panel=w.shape.name,
            roles=len(roles),
            sides=len(w.sides),
            lengths=lengths,
        )
    runs: list[list[int]] = []
    for k, role in enumerate(roles):
        if runs and roles[runs[-1][-1]] == role:
            runs[-1].append(k)
        else:
            runs.append([k])
    if len(runs) > 1 and roles[runs[0][0]] == roles[runs[-1][-1]]:
        runs[0] = runs.pop() + runs[0]
    ranks = [RANK.index(r) for r in roles if r in RANK]
    upright = [r for r in runs if roles[r[0]] in RANK]
    # Two edges of one role, as a panel at the side has, are told apart by where they lie.
    alike = dict.fromkeys(map(tuple, upright), "") if min(ranks, default=0) == max(ranks, default=0) else {}
    if len(alike) == 2:
        left, right = sorted(alike, key=lambda r: _across(w, r))
        alike = {left: "inner" if inner_left else "outer", right: "outer" if inner_left else "inner"}
    out = []
    for r in runs:
        told = roles[r[0]]
        where: str = told if told in ("top", "hem") else ""
        if told in RANK and min(ranks) != max(ranks):
            where = {min(ranks): "inner", max(ranks): "outer"}.get(RANK.index(told), "")
        where = alike.get(tuple(r), where)
        out.append(ToldEdge(told, told, tuple(r), cast("Literal['top']", where)))
    return _numbered(out)


def _across(w: Work, numbers: Sequence[int]) -> float:
    """How far to the right the middle of an edge lies."""
    c = run(w.sides, numbers)
    return c.point(c.length / 2.0)[0] if c is not None else 0.0


def _numbered(edges: Sequence[ToldEdge]) -> tuple[ToldEdge, ...]:
    """Names without doubles: a second edge of one role is called role_2."""
    seen: dict[str, int] = {}
    out = []
    for e in edges:
        seen[e.role] = seen.get(e.role, 0) + 1
        out.append(e if seen[e.role] == 1 else replace(e, name=f"{e.role}_{seen[e.role]}"))
    return tuple(out)


# --- seams ---------------------------------------------------------------------------------------------------------


def _seams(panels: Sequence[ToldPanel], half: Side, own: OwnPattern) -> list[ToldSeam]:
    """Neighbours' edges of one role, or else those that face each other, sewn together."""
    out: list[ToldSeam] = []
    used: set[tuple[str, str]] = set()
    for a, b in pairwise(panels):
        pairs = [
            (e.role != f.role, e.where != "outer", f.where != "inner", abs(a.curve(e).length - b.curve(f).length), e, f)
            for e in a.edges
            for f in b.edges
            if e.role in RANK[1:-1] and f.role in RANK[1:-1]
            if (a.name, e.name) not in used and (b.name, f.name) not in used
        ]
        if not pairs:
            continue
        *_, e, f = min(pairs, key=lambda p: p[:4])
        used |= {(a.name, e.name), (b.name, f.name)}
        name = e.role.replace("_", " ")
        count = sum(1 for s in out if s.name.split(" ")[0] == name.split(" ")[0])
        side: Side = "both" if a.side == b.side == "both" else half
        peak = 0.0
        longer = _sewn(a, e, own) - _sewn(b, f, own)
        if e.role == CUP_ROLE and not out and PEAK_LEAST < -longer < PEAK_MOST:
            peak, longer = -longer, 0.0
        sure = min(a.sure_edges, b.sure_edges, 1.0 / (1.0 + abs(longer) / 5.0), 0.5 if peak else 1.0)
        name = name if not count else f"{name} {count + 1}"
        out.append(ToldSeam(name, side, (a.name, e.name), (b.name, f.name), 0.0, peak, longer, sure))
    first = panels[0]
    for e in first.edges:
        if e.role == CENTRE_FRONT and first.fold != e.name and half != "right":
            ref = (first.name, e.name)
            out.append(ToldSeam(MIDDLE_SEAM, half if first.side != "both" else "both", ref, ref, 0.0, 0.0, 0.0, 1.0))
    return out


def _sewn(p: ToldPanel, edge: ToldEdge, own: OwnPattern) -> float:
    """The length of an edge in mm on the net line, if that is known; else on the line that the file has."""
    cut = not p.work.shape.net and (own.line or p.work.line) == "cut"
    if cut and (own.allowance is not None or p.work.said.allowances):
        try:
            net = net_sides(p.work, p.edge(p.fold).sides if p.fold else (), own)
        except TraceError:
            # Whoever asks for the pattern is told why; a proposal takes what there is.
            return p.curve(edge).length
        curve = run(net, [k for k in edge.sides if k in net])
        return 0.0 if curve is None else curve.length
    return p.curve(edge).length


def _said_seams(own: OwnPattern, panels: Sequence[ToldPanel]) -> list[ToldSeam]:
    out = []
    for s in own.seams:
        sides = {p.side for p in panels if p.name in (s.a[0], s.b[0])}
        halves: tuple[Side, ...] = ("left", "right") if sides & {"left", "right"} else ("both",)
        for half in halves:
            ends = []
            for panel, edge in (s.a, s.b):
                found = next((p for p in panels if p.name == panel and p.side in (half, "both")), None)
                if found is None:
                    names = ", ".join(dict.fromkeys(p.name for p in panels))
                    raise TraceError(
                        "seam_of_no_panel", SeamRef(s.name), seam=repr(s.name), panel=repr(panel), panels=names
                    )
                ends.append((found, found.edge(edge)))
            (a, e), (b, f) = ends
            longer = _sewn(a, e, own) - _sewn(b, f, own) - s.ease + s.peak
            out.append(ToldSeam(s.name, half, s.a, s.b, s.ease, s.peak, longer, 1.0))
    return out


# --- the end -------------------------------------------------------------------------------------------------------


def _in_order(panels: dict[int, ToldPanel]) -> list[ToldPanel]:
    def key(p: ToldPanel) -> tuple[int, int]:
        ranks = [RANK.index(e.role) for e in p.edges if e.role in RANK]
        return (("both", "left", "right").index(p.side), sum(ranks) if ranks else 100)

    out = list(panels.values())
    return sorted(out, key=key) if any(p.side != "both" for p in out) else out


def _unlike(panels: Sequence[ToldPanel]) -> tuple[ToldPanel, ...]:
    seen: set[tuple[str, str]] = set()
    for p in panels:
        clash = (p.name, p.side) in seen or (p.side != "both" and (p.name, "both") in seen)
        if clash:
            raise TraceError("two_panels_of_a_name", PanelRef(p.name, p.side), panel=repr(p.name))
        seen.add((p.name, p.side))
    return tuple(panels)
