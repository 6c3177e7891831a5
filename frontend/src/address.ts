// What this window shows stands in its address: the order, the spread, the part of the lesson, what lies over the book. So
// a reload, a step back, a kept link and a second window each show what they showed.

import { batch, computed, effect } from "@preact/signals";
import type { SpreadId } from "./contract";
import { openOrder, spreadOpened } from "./queue";
import { card, dialog, type Over, opened, part, session, sheet, spread } from "./store";

const OVER: readonly Over[] = ["shelf", "versions", "keys", "privacy"];

interface Place {
  order: string;
  spread: SpreadId;
  part: number;
  over: Over | null;
  card: string | null;
}

const here = computed(() => {
  if (opened.value === null) return null;
  const leaf = spread.value === "lesson" && part.value > 0 ? `/${part.value + 1}` : "";
  const query = new URLSearchParams();
  if (dialog.value !== null) query.set("over", dialog.value);
  if (dialog.value === "shelf" && card.value !== null) query.set("client", card.value);
  const said = query.toString();
  return `/order/${opened.value}/${spread.value}${leaf}${said && `?${said}`}`;
});

/** The place that the address names; null where it names none. */
export function placeInAddress(): Place | null {
  const [, root, order, name, nth, more] = location.pathname.split("/");
  if (root !== "order" || order === undefined || more !== undefined) return null;
  const found = session.peek()?.spreads.find((s) => s.id === name)?.id;
  const query = new URLSearchParams(location.search);
  return {
    order,
    spread: found ?? "tape",
    part: Math.max(0, Number(nth ?? 1) - 1) || 0,
    over: OVER.find((one) => one === query.get("over")) ?? null,
    card: query.get("client"),
  };
}

export function goTo(place: Place): void {
  batch(() => {
    const turned = spread.peek() !== place.spread;
    spread.value = place.spread;
    if (opened.peek() !== place.order) openOrder(place.order);
    else if (turned || sheet.peek() === null) spreadOpened();
    part.value = place.part;
    card.value = place.card;
    dialog.value = place.over;
  });
}

/** From now on the address follows what is shown, and what is shown follows the address. */
export function keepAddress(): void {
  let first = true;
  let lay: Over | null = null;
  effect(() => {
    const to = here.value;
    const over = dialog.value;
    if (to !== null && to !== location.pathname + location.search) {
      // What lay over the book for a while and was put away is no place to go back to.
      if (first || (lay !== null && over === null)) history.replaceState(null, "", to);
      else history.pushState(null, "", to);
    }
    if (to !== null) first = false;
    lay = over;
  });
  window.addEventListener("popstate", () => {
    const place = placeInAddress();
    if (place === null) location.reload();
    else goTo(place);
  });
}
