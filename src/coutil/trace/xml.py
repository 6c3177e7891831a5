"""A small, wary XML reader: a tree of plain nodes, with limits, and no entities but the five that XML itself has.

Python's documentation (xml, "XML vulnerabilities") tells of the attacks that this guards against: entities that expand
without end, entities from elsewhere, nesting without end.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from xml.parsers import expat

from coutil.trace.model import LARGEST_FILE, TraceError

# Drawings are nested a dozen deep at most; the tree is walked by recursion.
_DEEPEST = 60
_MOST_NODES = 100_000
# Text that is kept of one node, in signs; a label is shorter.
_LONGEST_TEXT = 2_000


@dataclass(slots=True)
class Node:
    """An element: its name and its attributes without their prefixes, and the text that stands directly in it."""

    tag: str
    attributes: dict[str, str]
    inside: list[Node] = field(default_factory=list)
    text: str = ""

    def every(self) -> Iterator[Node]:
        yield self
        for n in self.inside:
            yield from n.every()

    def all_text(self) -> str:
        return " ".join(" ".join(n.text for n in self.every()).split())


def parse_xml(data: bytes) -> Node:
    """The root of a document; raises TraceError for anything malformed, huge, too deep or with entities of its own."""
    if len(data) > LARGEST_FILE:
        raise TraceError("too_large", most=LARGEST_FILE // 1_000_000)
    parser = expat.ParserCreate()
    open_nodes: list[Node] = []
    roots: list[Node] = []
    count = 0

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal count
        count += 1
        if count > _MOST_NODES:
            raise TraceError("too_many_elements", most=_MOST_NODES)
        if len(open_nodes) >= _DEEPEST:
            raise TraceError("too_deep_elements", most=_DEEPEST)
        # Attributes with a prefix do not push out those without.
        plain = {k.rpartition(":")[2]: v for k, v in attributes.items() if ":" in k}
        plain.update({k: v for k, v in attributes.items() if ":" not in k})
        node = Node(name.rpartition(":")[2], plain)
        (open_nodes[-1].inside if open_nodes else roots).append(node)
        open_nodes.append(node)

    def end(_: str) -> None:
        open_nodes.pop()

    def text(says: str) -> None:
        if open_nodes and len(open_nodes[-1].text) < _LONGEST_TEXT:
            open_nodes[-1].text += says[:_LONGEST_TEXT]

    def doctype(name: str, system: str | None, public: str | None, inner: int) -> None:
        if inner:
            raise TraceError("own_entities")

    def entity(*_: object) -> None:
        raise TraceError("entities")

    def outside(*_: object) -> int:
        raise TraceError("other_file")

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = text
    parser.StartDoctypeDeclHandler = doctype
    parser.EntityDeclHandler = entity
    parser.ExternalEntityRefHandler = outside
    try:
        parser.Parse(data, True)
    except expat.ExpatError as e:
        raise TraceError("not_xml", why=expat.ErrorString(e.code), line=e.lineno) from None
    except (LookupError, ValueError) as e:
        if isinstance(e, TraceError):
            raise
        # An encoding that Python does not know, or one that it cannot decode by.
        raise TraceError("unknown_encoding") from None
    if not roots:
        raise TraceError("empty")
    return roots[0]
