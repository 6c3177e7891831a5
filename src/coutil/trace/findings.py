"""What there is to say of a pattern that was read: what was proposed, what is in doubt, what is not known."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coutil.pattern import (
    LEVELS,
    EdgeRef,
    Finding,
    LevelRef,
    MarkRef,
    Panel,
    PanelRef,
    Seam,
    SeamRef,
    Topic,
    part,
)
from coutil.pattern.model import FindingLevel
from coutil.pattern.telling import finding
from coutil.trace.model import Traced
from coutil.trace.sides import bow, leans
from coutil.trace.tell import Telling, ToldPanel, ToldSeam
from coutil.words import Length

# A centre that leans by more than this off the grain, in degrees, was drawn or photographed askew; one that bows by
# less than this over its length, in mm, is meant to be straight.
ASKEW = 1.0
STRAIGHT_CENTRE = 1.0
# A proposal less sure than this is a warning.
UNSURE = 0.5

_FILE = Topic("pattern_file")


def read_findings(traced: Traced, telling: Telling) -> list[Finding]:
    """What was read, passed over and proposed."""
    out = [Finding("traced.scale", "note", _FILE, {"scale": traced.scale})]
    out += [Finding("traced.note", "note", _FILE, {"text": text}) for text in traced.notes]
    out += [Finding("traced.passed", "note", _FILE, {"what": what}) for what in telling.passed]
    out += [finding("warn", Topic("panels"), doubt) for doubt in telling.doubts]
    out += _grain_findings(telling)
    strays = max(s.strays for s in traced.shapes)
    if strays > 0.0:
        out.append(Finding("traced.fitted", "note", _FILE, {"off": Length(strays, "fine_mm")}))
    for p in telling.panels:
        out += _panel_findings(p)
    return out


def _panel_findings(p: ToldPanel) -> Iterator[Finding]:
    about = PanelRef(p.name)
    if p.sure < 1.0:
        args = {"outline": repr(p.work.shape.name), "panel": about, "sure": 100.0 * p.sure}
        yield Finding("traced_panel.taken", _level(p.sure), about, args)
    if p.sure_edges < 1.0:
        sides = tuple(
            part("sides", numbers=tuple(k + 1 for k in e.sides), edge=EdgeRef(p.name, e.name, p.side)) for e in p.edges
        )
        args = {"sides": sides, "sure": 100.0 * p.sure_edges}
        yield Finding("traced_panel.sides", _level(p.sure_edges), about, args)
    if p.work.tilt:
        args = {"angle": abs(p.work.tilt), "what": "grain" if p.work.grain else "fold"}
        yield Finding("traced_panel.tilted", "note", about, args)
    if p.fold and not p.work.said.fold:
        yield Finding("traced_panel.fold", "note", about, {"edge": EdgeRef(p.name, p.fold, p.side)})
    if p.work.turned:
        yield Finding("traced_panel.turned", "note", about, {"by": p.work.turned})
    for k, s0, s1 in p.work.shape.doubtful:
        args = {"side": k + 1, "start": Length(s0, "both"), "end": Length(s1, "both")}
        yield Finding("traced_panel.doubtful", "warn", about, args)


def _grain_findings(telling: Telling) -> Iterator[Finding]:
    """Of which panels the grain is only taken to be upright; a warning where one of them seems to lie askew."""
    for p in telling.panels:
        if p.fold and p.work.grain is not None and (off := leans(p.curve(p.edge(p.fold)))) > ASKEW:
            yield Finding("traced_panel.grain_off_fold", "warn", PanelRef(p.name), {"angle": off})
    lost = [p for p in telling.panels if p.work.grain is None and p.fold is None]
    if not lost:
        return
    centres = [p.curve(e) for p in lost for e in p.edges if e.role in ("centre_front", "centre_back")]
    off = max((leans(c) for c in centres if bow(c) < STRAIGHT_CENTRE), default=0.0)
    args = {"panels": _named(p.name for p in lost), "askew": off > ASKEW, "angle": off}
    yield Finding("traced.no_grain", "warn" if off > ASKEW else "note", Topic("grain"), args)


def seam_findings(told: ToldSeam) -> list[Finding]:
    """What was proposed of a seam."""
    if told.sure >= 1.0:
        return []
    about = SeamRef(told.name)
    (a, a_edge), (b, b_edge) = told.a, told.b
    args = {
        "a": PanelRef(a),
        "a_edge": EdgeRef(a, a_edge, told.side),
        "b": PanelRef(b),
        "b_edge": EdgeRef(b, b_edge, told.side),
        "sure": 100.0 * told.sure,
    }
    out = [Finding("traced_seam.taken", _level(told.sure), about, args)]
    if told.peak:
        peak = {"a": PanelRef(a), "b": PanelRef(b), "peak": Length(told.peak, "both")}
        out.append(Finding("traced_seam.peak", "note", about, peak))
    return out


def unknown(panels: Sequence[Panel], seams: Sequence[Seam]) -> list[Finding]:
    """What is not known of the pattern, by name, and what therefore is not offered."""
    out = []
    beside = {r.panel for s in seams if s.cup for r in (s.a, s.b)}
    fronts = [p for p in panels if p.name in beside]
    lost = [p.name for p in fronts if not any("bust_point" in e.marks for e in p.edges if e.kind == "seam")]
    if not fronts:
        out.append(Finding("unknown.no_cup_seam", "note", Topic("pads")))
    elif lost:
        out.append(Finding("unknown.bust_point", "note", Topic("pads"), {"panels": _named(lost)}))
    for level in LEVELS:
        without = [p.name for p in panels if level not in p.levels]
        if not without:
            continue
        args = {
            "level": MarkRef(level),
            "where": "nowhere" if len(without) == len(panels) else "some",
            "panels": _named(without),
            "no_pad": level == "underbust" and not lost and bool(set(without) & beside),
            "key": level,
        }
        out.append(Finding("unknown.level", "note", LevelRef(level), args))
    return out


def _named(names: Iterator[str] | Sequence[str]) -> tuple[PanelRef, ...]:
    return tuple(PanelRef(n) for n in dict.fromkeys(names))


def _level(sure: float) -> FindingLevel:
    return "warn" if sure < UNSURE else "note"
