// A sheet of squared paper that can be pushed about and brought nearer: by mouse, by one or two fingers, by keys.

import type { ComponentChildren, RefObject } from "preact";
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import type { At, Box } from "../contract";
import { t } from "../texts";
import type { Eye } from "./view";

interface Props {
  eye: Eye;
  /** What is to be seen when the paper is laid straight, in mm: x0, y0, x1, y1. */
  box: Box;
  /** The paper is laid straight again when this changes. */
  what: string;
  label: string;
  square: number;
  /** Pixels kept free on each side: left, top, right, bottom. */
  clear?: readonly [number, number, number, number];
  children: ComponentChildren;
  /** Drawn in screen pixels over the paper. */
  over?: (size: { width: number; height: number }) => ComponentChildren;
  beside?: (size: { width: number; height: number }) => ComponentChildren;
  onBlank?: () => void;
}

/** Pixels that a pointer may tremble before it is taken for a push. */
const TREMBLE = 4;
const STEP = 40;
const NEARER = 1.25;

export function SquaredSheet(props: Props): preact.JSX.Element {
  const { eye, box, square, label } = props;
  const outer = useRef<HTMLDivElement>(null);
  const [size, setSize] = useState({ width: 0, height: 0 });
  const clear = props.clear ?? [12, 12, 12, 12];
  const straight = useRef<() => void>(() => {});
  straight.current = () => {
    const [left, top, right, bottom] = clear;
    eye.fit(box, left, top, size.width - left - right, size.height - top - bottom);
  };

  // Before the browser paints: paper that is laid straight a frame later slips away under a hand that is quick.
  useLayoutEffect(() => {
    const div = outer.current;
    if (div === null) return undefined;
    const measure = (): void => setSize({ width: div.clientWidth, height: div.clientHeight });
    measure();
    const seen = new ResizeObserver(measure);
    seen.observe(div);
    return () => seen.disconnect();
  }, []);
  useLayoutEffect(() => {
    if (size.width > 0 && !eye.moved) straight.current();
  }, [size.width, size.height]);
  useLayoutEffect(() => {
    if (size.width > 0) straight.current();
  }, [props.what]);
  usePushing(outer, eye, props.onBlank);

  const keys = (event: KeyboardEvent): void => {
    if (event.target !== outer.current || event.ctrlKey || event.metaKey || event.altKey) return;
    const act = moves(eye, straight.current)[event.key];
    if (act === undefined) return;
    event.preventDefault();
    act();
  };

  return (
    <div class="squared" ref={outer} tabIndex={0} role="group" aria-label={label} aria-description={t("paper.keys")} onKeyDown={keys}>
      <Squares eye={eye} square={square} width={size.width} height={size.height} />
      <svg class="sheet" width={size.width} height={size.height}>
        <World eye={eye}>{props.children}</World>
        {props.over?.(size)}
      </svg>
      {props.beside?.(size)}
      <div class="zoom">
        <button type="button" class="round" aria-label={t("paper.nearer")} title={t("paper.nearer")} onClick={() => eye.zoom(NEARER)}>
          <svg viewBox="0 0 16 16" aria-hidden="true"><path d="M3 8H13M8 3V13" /></svg>
        </button>
        <button type="button" class="round" aria-label={t("paper.farther")} title={t("paper.farther")} onClick={() => eye.zoom(1 / NEARER)}>
          <svg viewBox="0 0 16 16" aria-hidden="true"><path d="M3 8H13" /></svg>
        </button>
        <button type="button" class="round" aria-label={t("paper.whole")} title={t("paper.whole")} onClick={() => straight.current()}>
          <svg viewBox="0 0 16 16" aria-hidden="true"><path d="M3 6V3H6M10 3H13V6M13 10V13H10M6 13H3V10" /></svg>
        </button>
      </div>
    </div>
  );
}

function moves(eye: Eye, straight: () => void): Record<string, () => void> {
  return {
    ArrowLeft: () => eye.pan(STEP, 0),
    ArrowRight: () => eye.pan(-STEP, 0),
    ArrowUp: () => eye.pan(0, STEP),
    ArrowDown: () => eye.pan(0, -STEP),
    "+": () => eye.zoom(NEARER),
    "=": () => eye.zoom(NEARER),
    "-": () => eye.zoom(1 / NEARER),
    "0": straight,
  };
}

/** The ruled squares that can be seen: every square a fine line, every fifth a stronger one. */
function Squares(props: { eye: Eye; square: number; width: number; height: number }): preact.JSX.Element {
  const { k, x, y } = props.eye.view.value;
  const fine: string[] = [];
  const strong: string[] = [];
  // Squares closer than this many pixels would make a grey mass: only every fifth line is drawn then.
  const crowded = props.square * k < 3.5;
  const first = Math.floor(-x / k / props.square);
  const last = Math.ceil((props.width - x) / k / props.square);
  for (let i = first; i <= last; i += 1) {
    const at = (i * props.square * k + x).toFixed(1);
    if (i % 5 === 0) strong.push(`M${at} 0V${props.height}`);
    else if (!crowded) fine.push(`M${at} 0V${props.height}`);
  }
  const top = Math.floor(-y / k / props.square);
  const bottom = Math.ceil((props.height - y) / k / props.square);
  for (let i = top; i <= bottom; i += 1) {
    const at = (i * props.square * k + y).toFixed(1);
    if (i % 5 === 0) strong.push(`M0 ${at}H${props.width}`);
    else if (!crowded) fine.push(`M0 ${at}H${props.width}`);
  }
  return (
    <svg class="squares" width={props.width} height={props.height} aria-hidden="true">
      <path class="fine" d={fine.join("")} />
      <path class="fifth" d={strong.join("")} />
    </svg>
  );
}

/** What lies on the paper. `--u` is the millimetres of one pixel, so that letters and dots keep their size. */
function World(props: { eye: Eye; children: ComponentChildren }): preact.JSX.Element {
  const { k, x, y } = props.eye.view.value;
  return (
    <g transform={`translate(${x.toFixed(2)} ${y.toFixed(2)}) scale(${k.toFixed(5)})`} style={{ "--u": (1 / k).toFixed(5) }}>
      {props.children}
    </g>
  );
}

function usePushing(outer: RefObject<HTMLDivElement | null>, eye: Eye, onBlank: (() => void) | undefined): void {
  const blank = useRef(onBlank);
  blank.current = onBlank;
  useEffect(() => {
    const div = outer.current;
    if (div === null) return undefined;
    const down = new Map<number, At>();
    let pushed = false;
    let start: At = [0, 0];

    const at = (event: PointerEvent | WheelEvent): At => {
      const { left, top } = div.getBoundingClientRect();
      return [event.clientX - left, event.clientY - top];
    };
    const isOurs = (event: Event): boolean =>
      event.target instanceof Element && event.target.closest("button,.note,.handle,.slip,a,summary,details") === null;

    const onDown = (event: PointerEvent): void => {
      if (!isOurs(event) || event.button > 0) return;
      down.set(event.pointerId, at(event));
      pushed = down.size > 1;
      start = at(event);
    };
    const onMove = (event: PointerEvent): void => {
      const before = down.get(event.pointerId);
      if (before === undefined) return;
      const now = at(event);
      if (!pushed && Math.hypot(now[0] - start[0], now[1] - start[1]) < TREMBLE) return;
      if (!pushed) div.setPointerCapture(event.pointerId);
      pushed = true;
      div.classList.add("pushing");
      const other = [...down].find(([id]) => id !== event.pointerId)?.[1];
      if (other === undefined) eye.pan(now[0] - before[0], now[1] - before[1]);
      else {
        const apart = Math.hypot(before[0] - other[0], before[1] - other[1]);
        const next = Math.hypot(now[0] - other[0], now[1] - other[1]);
        eye.pan((now[0] - before[0]) / 2, (now[1] - before[1]) / 2);
        if (apart > 0) eye.zoom(next / apart, [(now[0] + other[0]) / 2, (now[1] + other[1]) / 2]);
      }
      down.set(event.pointerId, now);
    };
    const onUp = (event: PointerEvent): void => {
      down.delete(event.pointerId);
      if (down.size === 0) div.classList.remove("pushing");
    };
    const onClick = (event: MouseEvent): void => {
      if (pushed) {
        event.stopPropagation();
        event.preventDefault();
        pushed = false;
      } else if (event.target instanceof Element && event.target.matches("svg.sheet")) blank.current?.();
    };
    const onWheel = (event: WheelEvent): void => {
      if (!isOurs(event)) return;
      event.preventDefault();
      eye.zoom(Math.exp(-event.deltaY * (event.deltaMode === 0 ? 0.0016 : 0.05)), at(event));
    };
    div.addEventListener("pointerdown", onDown);
    div.addEventListener("pointermove", onMove);
    div.addEventListener("pointerup", onUp);
    div.addEventListener("pointercancel", onUp);
    div.addEventListener("click", onClick, true);
    div.addEventListener("wheel", onWheel, { passive: false });
    return () => {
      div.removeEventListener("pointerdown", onDown);
      div.removeEventListener("pointermove", onMove);
      div.removeEventListener("pointerup", onUp);
      div.removeEventListener("pointercancel", onUp);
      div.removeEventListener("click", onClick, true);
      div.removeEventListener("wheel", onWheel);
    };
  }, [eye]);
}
