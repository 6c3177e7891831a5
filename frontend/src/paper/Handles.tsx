// Points of the drawing that can be taken hold of. The server works out what a place means; the page only says where
// the pointer is, one place at a time, the newest first.

import { Refused } from "../api";
import { bringToHand } from "../book/hand";
import type { At, Drawing, Handle } from "../contract";
import { dragTo, edit, fetchSheet } from "../queue";
import { held, inHand, keysHere, notice, saving, values } from "../store";
import { t } from "../texts";
import type { Eye } from "./view";

interface Props {
  drawing: Drawing;
  eye: Eye;
}

export function Handles({ drawing, eye }: Props): preact.JSX.Element {
  const here = keysHere.value;
  return (
    <g class="handles">
      {/* Those whose values stand on the open spread: points of the tape, the shape and the pads often lie on each other. */}
      {drawing.handles.filter((handle) => handle.keys.some((key) => here.has(key))).map((handle) => (
        <Knob key={handle.id} handle={handle} eye={eye} />
      ))}
    </g>
  );
}

function Knob({ handle, eye }: { handle: Handle; eye: Eye }): preact.JSX.Element {
  const [x, y] = handle.at;
  const holding = held.value?.handle === handle.id;
  const chosen = holding || handle.keys.includes(inHand.value ?? "");
  return (
    <g class={`handle ${handle.cursor} ${chosen ? "chosen" : ""} ${holding ? "held" : ""}`} transform={`translate(${x} ${y})`}>
      {holding && held.value && (
        <circle class="ghost" cx={held.value.at[0] - x} cy={held.value.at[1] - y} aria-hidden="true" />
      )}
      <circle class="knob" aria-hidden="true" />
      <circle
        class="grip"
        tabIndex={0}
        role="button"
        aria-label={t("paper.handle", { name: handle.name, text: handle.text })}
        aria-description={t("paper.handle_keys")}
        onPointerDown={(e) => take(e, handle, eye)}
        onKeyDown={(e) => keys(e, handle)}
        onFocus={() => void (inHand.value = handle.keys[0] ?? null)}
        onBlur={() => void (inHand.value = null)}
        onDblClick={() => handle.keys[0] !== undefined && bringToHand(handle.keys[0])}
      />
      {chosen && (
        <text class="saying" aria-hidden="true">
          {handle.text}
        </text>
      )}
    </g>
  );
}

/** Arrows nudge: along its way for a point on a way; for a free point up and down move the second value, the sideways ones the first. */
function keys(event: KeyboardEvent, handle: Handle): void {
  const first = handle.keys[0];
  if (event.key === "Enter" && first !== undefined) {
    event.preventDefault();
    bringToHand(first);
    return;
  }
  const across = event.key === "ArrowLeft" || event.key === "ArrowRight";
  const upright = event.key === "ArrowUp" || event.key === "ArrowDown";
  if (!across && !upright) return;
  event.preventDefault();
  event.stopPropagation();
  const key = handle.along === null && upright ? (handle.keys[1] ?? first) : first;
  if (key === undefined || values.peek()[key]?.nudge === undefined) return;
  edit({ key, nudge: way(event.key, handle) * (event.shiftKey ? 10 : 1) });
}

/** +1 where the key points the way in which the handle's value grows. `along` is that way, on paper with y down. */
function way(key: string, handle: Handle): number {
  const pointed: Record<string, At> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  const [px, py] = pointed[key] ?? [0, 0];
  if (handle.along === null) return key === "ArrowLeft" || key === "ArrowDown" ? 1 : -1;
  const [ax, ay] = handle.along;
  const dot = px * ax + py * ay;
  // A key square to the way still moves the point: up and right add.
  if (Math.abs(dot) < 0.3) return key === "ArrowUp" || key === "ArrowRight" ? 1 : -1;
  return Math.sign(dot);
}

function take(event: PointerEvent, handle: Handle, eye: Eye): void {
  if (event.button > 0) return;
  event.preventDefault();
  event.stopPropagation();
  const grip = event.currentTarget as SVGElement;
  const sheetBox = grip.closest(".squared")?.getBoundingClientRect();
  if (sheetBox === undefined) return;
  grip.focus();
  grip.setPointerCapture(event.pointerId);

  const paper = (e: PointerEvent): At => eye.toPaper([e.clientX - sheetBox.left, e.clientY - sheetBox.top]);
  // She takes hold beside the point as often as on it: the point keeps that distance to the finger.
  const grabbed = paper(event);
  const off: At = [handle.at[0] - grabbed[0], handle.at[1] - grabbed[1]];
  let wanted: At | null = null;
  let good: At | null = null;
  let asking = false;
  let over: "" | "let go" | "given up" = "";

  const place = (e: PointerEvent): At => {
    const [x, y] = paper(e);
    return onItsWay(handle, [x + off[0], y + off[1]]);
  };
  const next = async (): Promise<void> => {
    if (asking) return;
    asking = true;
    try {
      while (wanted !== null && over !== "given up") {
        const at: At = wanted;
        wanted = null;
        if (await dragTo(handle.id, at[0], at[1], false, handle.keys)) good = at;
      }
      if (over === "given up") fetchSheet();
      // Out of reach at the end: it stays at the last place that the drawing could follow.
      if (over === "let go" && good !== null) await dragTo(handle.id, good[0], good[1], true, handle.keys);
    } catch (fault) {
      if (!(fault instanceof Refused)) throw fault;
      fetchSheet();
    } finally {
      asking = false;
      if (over === "let go" && good === null) saving.value = "kept";
    }
  };
  const onMove = (e: PointerEvent): void => {
    if (e.pointerId !== event.pointerId) return;
    wanted = place(e);
    held.value = { handle: handle.id, at: wanted };
    void next();
  };
  const end = (how: "let go" | "given up"): void => {
    grip.removeEventListener("pointermove", onMove);
    grip.removeEventListener("pointerup", onUp);
    grip.removeEventListener("pointercancel", onCancel);
    window.removeEventListener("keydown", onKey, true);
    held.value = null;
    over = how;
    if (how === "let go") saving.value = "keeping";
    void next();
  };
  const onUp = (e: PointerEvent): void => {
    if (e.pointerId === event.pointerId) end("let go");
  };
  const onCancel = (e: PointerEvent): void => {
    if (e.pointerId === event.pointerId) end("given up");
  };
  const onKey = (e: KeyboardEvent): void => {
    if (e.key !== "Escape") return;
    e.preventDefault();
    e.stopPropagation();
    notice.value = t("paper.given_up");
    end("given up");
  };
  grip.addEventListener("pointermove", onMove);
  grip.addEventListener("pointerup", onUp);
  grip.addEventListener("pointercancel", onCancel);
  window.addEventListener("keydown", onKey, true);
}

/** The place on the handle's way that lies nearest the pointer, so that its ghost does not stray. */
function onItsWay(handle: Handle, [x, y]: At): At {
  if (handle.along === null) return [x, y];
  const [ax, ay] = handle.along;
  const size = ax * ax + ay * ay;
  const far = ((x - handle.at[0]) * ax + (y - handle.at[1]) * ay) / size;
  return [handle.at[0] + far * ax, handle.at[1] + far * ay];
}
