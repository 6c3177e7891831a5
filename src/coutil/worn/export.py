"""Form and worn cloth as files for other programs: OBJ (mm) and glTF 2.0 (metres, y up, z forward)."""

from __future__ import annotations

import base64
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from coutil.worn.form import Form
from coutil.worn.sections import Floats
from coutil.worn.sewn import Ints
from coutil.worn.wear import Worn

# Codes of the glTF standard: component types, targets of a buffer's view.
_FLOAT, _UINT, _VERTICES, _INDICES = 5126, 5125, 34962, 34963
_MM_PER_M = 1000.0


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """A named mesh: vertices (n, 3) in mm, triangles (m, 3) anticlockwise seen from outside."""

    name: str
    points: Floats
    faces: Ints


def solids(worn: Worn) -> tuple[Solid, ...]:
    """The form, and each panel where it lies, both halves; an unsettled one has no panels to show."""
    form = worn.stand.form
    out = [form_solid(form)]
    if not worn.settled:
        return tuple(out)
    points, faces = worn.rest.points, worn.sewn.outward()
    for p in worn.sewn.patches:
        used, local = np.unique(faces[p.faces], return_inverse=True)
        mesh = Solid(f"{p.panel.name}, {p.side}", points[used], local.reshape(-1, 3))
        out.append(mesh)
        if worn.sewn.half:
            turned = mesh.faces[:, [0, 2, 1]]
            out.append(Solid(f"{p.panel.name}, right", mesh.points * np.array([-1.0, 1.0, 1.0]), turned))
    return tuple(out)


def form_solid(form: Form) -> Solid:
    return Solid("form", form.points, form.faces)


def obj_text(meshes: Sequence[Solid], *, note: str) -> str:
    """An OBJ file in mm with a group for each mesh; `note` stands on top, line by line."""
    out = [f"# {line}" for line in note.splitlines()]
    first = 1
    for mesh in meshes:
        out.append(f"o {mesh.name.replace(' ', '_')}")
        out += [f"v {x:.3f} {y:.3f} {z:.3f}" for x, y, z in mesh.points.tolist()]
        out += [f"f {a} {b} {c}" for a, b, c in (mesh.faces + first).tolist()]
        first += len(mesh.points)
    return "\n".join(out) + "\n"


def gltf_text(meshes: Sequence[Solid], *, note: str) -> str:
    """A glTF 2.0 file that holds its own buffer; `note` is its copyright-free remark (asset.extras.note)."""
    data = bytearray()
    views: list[dict[str, Any]] = []
    accessors: list[dict[str, Any]] = []

    def put(values: Any, target: int, kind: str, component: int, **more: Any) -> int:
        raw = values.tobytes()
        views.append({"buffer": 0, "byteOffset": len(data), "byteLength": len(raw), "target": target})
        accessors.append(
            {"bufferView": len(views) - 1, "componentType": component, "count": len(values), "type": kind, **more}
        )
        data.extend(raw)
        return len(accessors) - 1

    nodes, named = [], []
    for mesh in meshes:
        at = (mesh.points / _MM_PER_M).astype("<f4")
        ends = {"min": at.min(axis=0).tolist(), "max": at.max(axis=0).tolist()}
        position = put(at, _VERTICES, "VEC3", _FLOAT, **ends)
        flat = mesh.faces.astype("<u4").ravel()
        index = put(flat, _INDICES, "SCALAR", _UINT)
        named.append({"name": mesh.name, "primitives": [{"attributes": {"POSITION": position}, "indices": index}]})
        nodes.append({"name": mesh.name, "mesh": len(named) - 1})
    uri = "data:application/octet-stream;base64," + base64.b64encode(bytes(data)).decode("ascii")
    whole = {
        "asset": {"version": "2.0", "generator": "coutil", "extras": {"note": note}},
        "scene": 0,
        "scenes": [{"nodes": list(range(len(nodes)))}],
        "nodes": nodes,
        "meshes": named,
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{"byteLength": len(data), "uri": uri}],
    }
    return json.dumps(whole, ensure_ascii=False)
