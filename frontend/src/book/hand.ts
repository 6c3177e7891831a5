// Going to a sentence: turn to its spread, unfold its section, put the cursor into its value.

import type { SpreadId } from "../contract";
import { spreadOpened } from "../queue";
import { spread, spreadOf } from "../store";

export function turnTo(id: SpreadId): void {
  if (spread.peek() === id) return;
  spread.value = id;
  spreadOpened();
}

export function bringToHand(key: string): void {
  const where = spreadOf(key);
  if (where === null) return;
  turnTo(where);
  // The page has to be drawn before there is a field to go to.
  requestAnimationFrame(() => requestAnimationFrame(() => fieldOf(key)?.focus()));
}

function fieldOf(key: string): HTMLElement | null {
  const field = document.querySelector<HTMLElement>(`[data-key="${CSS.escape(key)}"]`);
  const fold = field?.closest("details");
  if (fold) fold.open = true;
  return field;
}

/** The next field of the page, as Enter goes through a tape. */
export function nextField(from: HTMLElement, by: 1 | -1): void {
  const all = [...document.querySelectorAll<HTMLElement>("[data-key]")].filter((field) => field.offsetParent !== null);
  all[all.indexOf(from) + by]?.focus();
}

