// What the server tells by itself: other windows' changes, the lays' progress. Closed while the page is hidden, since a
// browser holds only six connections to one place.

import { get, windowId } from "./api";
import { forget } from "./waiting";
import { doorChanged } from "./door/told";
import type { Lays } from "./contract";
import { closeBook, inLine } from "./line";
import { fetchSheet, versionNow } from "./queue";
import { lays, notice, sheet } from "./store";
import { signal } from "@preact/signals";
import { t } from "./texts";

/** Counts up when the list of orders or clients changes. */
export const bookChanged = signal(0);

let source: EventSource | null = null;
let watched = "";

interface Changed {
  order: string;
  version: number;
  window?: string;
  what?: string;
  lays?: Lays;
}

export function watch(order: string): void {
  watched = order;
  reopen();
}

function reopen(): void {
  source?.close();
  source = null;
  if (document.hidden || watched === "") return;
  source = new EventSource(`/api/events?window=${windowId}&order=${encodeURIComponent(watched)}`);
  on("hello", (said) => {
    behind(said);
    if (said.lays) hearLays(said.order, said.lays);
  });
  on("changed", (said) => {
    if (said.window === windowId) return;
    if (behind(said) && said.what) notice.value = t("elsewhere", { what: said.what });
  });
  // Erased: the book says so when it is asked for the order.
  on("gone", (said) => {
    if (said.order === sheet.peek()?.order.id) fetchSheet();
  });
  on("lays", (said) => {
    if (said.lays) hearLays(said.order, said.lays);
  });
  source.addEventListener("book", () => {
    bookChanged.value += 1;
  });
  source.addEventListener("door", () => {
    doorChanged.value += 1;
  });
  // Another window of this browser signed out; what this one put in store since goes too.
  source.addEventListener("left", () => {
    source?.close();
    forget();
    closeBook(t("door.left"));
  });
  source.addEventListener("closing", () => {
    closeBook(t("closing"));
  });
}

function on(name: string, act: (said: Changed) => void): void {
  source?.addEventListener(name, (event) => act(JSON.parse((event as MessageEvent<string>).data) as Changed));
}

/** News are brief: how far it has come. What was found is asked for, in this window's own unit. */
function hearLays(of: string, brief: Lays): void {
  if (of !== sheet.peek()?.order.id) return;
  const known = lays.peek();
  if (brief.state === "working") lays.value = { ...known, ...brief };
  // Where there are none and never were, there is nothing to ask.
  else if (brief.state !== "none" || known.state !== "none") inLine(async () => askLays(of));
}

async function askLays(of: string): Promise<void> {
  if (of !== sheet.peek()?.order.id) return;
  const said = await get<{ lays: Lays }>(`/api/orders/${encodeURIComponent(of)}/lays`);
  lays.value = said.lays;
}

/** Fetches the sheet if the book is further on than the page. */
function behind(said: Changed): boolean {
  const open = sheet.peek();
  if (open === null || said.order !== open.order.id || said.version <= versionNow()) return false;
  fetchSheet();
  return true;
}

document.addEventListener("visibilitychange", reopen);
