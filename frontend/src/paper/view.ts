// The page's one transform: how the paper lies under the eye. Screen = paper times k, plus an offset, in CSS pixels.

import { signal } from "@preact/signals";
import type { At, Box } from "../contract";

export interface View {
  /** Pixels for one millimetre of paper. */
  k: number;
  x: number;
  y: number;
}

/** Limits of the zoom in pixels per mm: a whole uneven body on a small screen, and a notch filling a hand. */
const LEAST = 0.1;
const MOST = 24;

export class Eye {
  readonly view = signal<View>({ k: 1, x: 0, y: 0 });
  /** Whether she has moved the paper herself: then it stays where she put it. */
  moved = false;
  private width = 1;
  private height = 1;

  /** Lays a box of the paper (x0, y0, x1, y1) into a window of the screen. */
  fit(box: Box, left: number, top: number, width: number, height: number): void {
    const [x0, y0, x1, y1] = box;
    const k = clamp(Math.min(width / Math.max(1, x1 - x0), height / Math.max(1, y1 - y0)));
    this.view.value = {
      k,
      x: left + (width - k * (x1 + x0)) / 2,
      y: top + (height - k * (y1 + y0)) / 2,
    };
    this.width = left + width;
    this.height = top + height;
    this.moved = false;
  }

  pan(dx: number, dy: number): void {
    const { k, x, y } = this.view.peek();
    this.view.value = { k, x: x + dx, y: y + dy };
    this.moved = true;
  }

  /** Zooms about a place of the screen that stays where it is; about the middle if none is given. */
  zoom(by: number, at: At = [this.width / 2, this.height / 2]): void {
    const { k, x, y } = this.view.peek();
    const next = clamp(k * by);
    const [px, py] = at;
    this.view.value = { k: next, x: px - ((px - x) * next) / k, y: py - ((py - y) * next) / k };
    this.moved = true;
  }

  toPaper([sx, sy]: At): At {
    const { k, x, y } = this.view.peek();
    return [(sx - x) / k, (sy - y) / k];
  }
}

export function toScreen(view: View, [px, py]: At): At {
  return [px * view.k + view.x, py * view.k + view.y];
}

function clamp(k: number): number {
  return Math.min(MOST, Math.max(LEAST, k));
}
