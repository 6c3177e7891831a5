// Every part of the drawing by its id: what it is called, where it runs, how long it is.

import { computed } from "@preact/signals";
import type { At, Drawing, Label } from "../contract";
import { sheet } from "../store";

export interface Part {
  id: string;
  panel: string;
  name: string;
  d?: string;
  at?: At;
  text?: string;
  also?: string;
  label?: Label;
}

export const parts = computed<ReadonlyMap<string, Part>>(() => collect(sheet.value?.drawing ?? null));

function collect(drawing: Drawing | null): Map<string, Part> {
  const found = new Map<string, Part>();
  const add = (part: Part): void => {
    found.set(part.id, part);
  };
  for (const panel of drawing?.panels ?? []) {
    add({ id: panel.id, panel: panel.name, name: panel.name, d: panel.net });
    for (const line of [...panel.edges, ...panel.levels]) add({ ...line, panel: panel.name });
    for (const line of [panel.grain, panel.fold]) if (line) add({ ...line, panel: panel.name, name: panel.name });
    for (const point of panel.points) add({ ...point, panel: panel.name });
    if (panel.pad) {
      add({ id: panel.pad.id, panel: panel.name, name: panel.name, d: panel.pad.d });
      for (const edge of panel.pad.edges) add({ ...edge, panel: panel.name, name: panel.name });
    }
    for (const piece of panel.layers) {
      add({ id: piece.id, panel: panel.name, name: piece.piece, d: piece.cut });
      for (const notch of piece.notches) add({ ...notch, panel: panel.name });
    }
  }
  return found;
}
