"""What a finding says, and what the things are called that findings and refusals are about. The words: coutil.words.

Importing this module lets `coutil.words.in_words` say references.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from coutil.pattern.model import Edge, Finding, FindingLevel, Panel, Seam
from coutil.pattern.refs import (
    About,
    ClothRef,
    CupRef,
    EdgeRef,
    KeysRef,
    LayerRef,
    LevelRef,
    MarkRef,
    NotchRef,
    PadRef,
    PanelRef,
    PieceRef,
    SeamRef,
    Side,
    Topic,
)
from coutil.plane import Pt
from coutil.words import Length, Naming, Told, has, in_words, say, tell

# Where the texts of findings stand in the catalogue.
FOUND: Final = "found"
_BODY: Final = "body."


def says(finding: Finding, naming: Naming | None = None) -> str:
    """What a finding says, in words; raises KeyError for a code that is not in the catalogue.

    Values of the order are called by their keys, or as `naming` says.
    """
    return tell(f"{FOUND}.{finding.code}", finding.args, naming)


def about_words(about: About) -> str:
    """What a finding is about, in words: "left side seam", "high hip girth", "body: bust"."""
    said = in_words(about)
    return say("about.edge", edge=said) if isinstance(about, EdgeRef) else said


def each_once(findings: Iterable[Finding]) -> list[Finding]:
    """The findings without those that read like an earlier one: figures may differ by less than is said."""
    out: dict[tuple[str, str, str], Finding] = {}
    for f in findings:
        out.setdefault((f.level, about_words(f.about), says(f)), f)
    return list(out.values())


def told(code: str, /, **args: object) -> Told:
    """What a finding of this code would say, as a part of something else."""
    return Told(f"{FOUND}.{code}", args)


def part(code: str, /, **args: object) -> Told:
    """A part of a finding's text, by its code below `found.part`."""
    return told(f"part.{code}", **args)


def finding(level: FindingLevel, about: About, said: Told) -> Finding:
    """A finding of what was `told`."""
    return Finding(said.code.removeprefix(f"{FOUND}."), level, about, said.args)


def panel_ref(panel: Panel) -> PanelRef:
    """The panel, with its side where the two sides are drafted apart."""
    return PanelRef(panel.name, panel.side)


def seam_ref(seam: Seam) -> SeamRef:
    """The seam, with its side where the sides are drafted apart and it does not join them."""
    return SeamRef(seam.name, "both" if seam.on_itself else seam.side)


def edge_ref(panel: Panel, edge: Edge) -> EdgeRef:
    """The edge of the panel."""
    return EdgeRef(panel.name, edge.name, panel.side)


def the_edge(panel: Panel, edge: Edge) -> Told:
    """The edge in a sentence: "the side edge", "the top"."""
    return part("rim" if edge.kind in ("top", "hem") else "edge", edge=edge_ref(panel, edge))


def edge_called(edge: Edge) -> Told:
    """What an edge over the bust point is called: "princess edge"."""
    return _of_cup("edge", edge)


def seam_called(edge: Edge) -> Told:
    """What the seam of an edge over the bust point is called: "princess seam"."""
    return _of_cup("seam", edge)


def place(panel: Panel, at: Pt) -> Told:
    """Where a point lies on a panel, as one would find it with a ruler from the centre line and the waist."""
    across = Length(abs(at[0]), "cm")
    if "waist" not in panel.levels:
        return part("across_only", across=across, part=panel.part)
    (_, y0), (_, y1) = panel.levels["waist"]
    up = at[1] - (y0 + y1) / 2.0
    code = "above_waist" if up >= 0.0 else "below_waist"
    return part(code, across=across, part=panel.part, up=Length(abs(up), "cm"))


def _of_cup(what: str, edge: Edge) -> Told:
    own = f"cup_{what}.{edge.role}"
    return Told(own) if has(own) else Told(f"about.{what}", {what: key_words(edge.role)})


def mark_name(mark: str) -> str:
    """A mark on an edge: "high hip", "end of the centre front"."""
    return say(f"mark.{mark}") if has(f"mark.{mark}") else key_words(mark)


def level_words(level: str) -> str:
    """A level of the body: "high hip". One of a pattern that was brought in may bear a name of its own."""
    return say(f"level.{level}") if has(f"level.{level}") else key_words(level)


def key_words(key: str) -> str:
    """A name of the code in plain words: "high_hip" -> "high hip"."""
    return key.replace("_", " ")


def _sided(side: Side, name: str) -> str:
    return name if side == "both" else say("about.sided", side=say(f"about.side.{side}"), name=name)


@in_words.register
def _(ref: PanelRef, spec: str = "") -> str:
    return _sided(ref.side, ref.name)


@in_words.register
def _(ref: EdgeRef, spec: str = "") -> str:
    # Only its name: the texts say "edge" or "seam" themselves.
    return key_words(ref.edge)


@in_words.register
def _(ref: SeamRef, spec: str = "") -> str:
    return _sided(ref.side, say("about.seam", seam=ref.name))


@in_words.register
def _(ref: PadRef, spec: str = "") -> str:
    if ref.panel is None:
        return _sided(ref.side, say("about.pad"))
    return say("about.panel_pad", panel=_sided(ref.side, ref.panel))


@in_words.register
def _(ref: CupRef, spec: str = "") -> str:
    return _sided(ref.side, say("about.cup"))


@in_words.register
def _(ref: LevelRef, spec: str = "") -> str:
    return say(f"about.{ref.of}", level=key_words(ref.level))


@in_words.register
def _(ref: MarkRef, spec: str = "") -> str:
    return say("about.mark", mark=mark_name(ref.name))


@in_words.register
def _(ref: NotchRef, spec: str = "") -> str:
    return key_words(ref.name)


@in_words.register
def _(ref: KeysRef, spec: str = "") -> str:
    keys = ", ".join(k.removeprefix(_BODY) for k in ref.keys)
    return say("about.body", keys=keys) if all(k.startswith(_BODY) for k in ref.keys) else keys


@in_words.register
def _(ref: ClothRef, spec: str = "") -> str:
    return ref.name


@in_words.register
def _(ref: LayerRef, spec: str = "") -> str:
    return say(f"cloth_layer.{ref.layer}")


@in_words.register
def _(ref: PieceRef, spec: str = "") -> str:
    return ref.name


@in_words.register
def _(ref: Topic, spec: str = "") -> str:
    return say(f"topic.{ref.name}")
