// What was typed and is not in the book yet lies in the browser's own store too, under this book's identity: it outlives
// the page, the server and the machine's sleep, and no other book ever gets it.

import { windowId } from "./api";
import type { EditWish } from "./contract";

/** All that this page keeps in the browser begins so. */
const OURS = "coutil.";

export interface Waiting {
  id: number;
  order: string;
  wish: EditWish;
  /** The edit of the book that it stands upon. */
  base: number;
  /** What the value held at that edit, as `heldBy` tells it: a server begun anew knows the texts of earlier edits no more. */
  stood?: string;
  /** The version upon which the value was taken in hand; null where that is not told yet, absent where none is typed. */
  since?: number | null;
}

let folder = "";
let mine: Waiting[] = [];
let counted = 0;
let release: (() => void) | null = null;

const ownName = (): string => folder + windowId;

/** From now on what waits is kept for this book. */
export function keepFor(book: string): void {
  folder = `${OURS}${book}.waiting.`;
  // While this window lives nobody else sends what waits here. Only a safe address has locks: without them two windows may
  // send the same, and the book knows it for the same.
  void navigator.locks?.request(ownName(), () => new Promise<void>((done) => (release = done)));
}

export function keep(one: Omit<Waiting, "id">): Waiting {
  counted += 1;
  const made = { ...one, id: counted };
  mine.push(made);
  write();
  return made;
}

export function drop(one: Waiting | null): void {
  if (one === null || !mine.includes(one)) return;
  mine = mine.filter((other) => other !== one);
  write();
}

/** Writes down what was changed in one that is kept. */
export function write(): void {
  if (folder === "") return;
  try {
    if (mine.length > 0) localStorage.setItem(ownName(), JSON.stringify(mine));
    else localStorage.removeItem(ownName());
  } catch {
    // A full or forbidden store: it waits in this window alone.
  }
}

export const anyWaiting = (): boolean => mine.length > 0;

/** Lets another window send what this one can send no more. */
export function leave(): void {
  folder = "";
  release?.();
}

/** Takes over what windows that are gone have left behind, each once its own window has gone. */
export function takeOver(take: (left: Waiting[]) => void): void {
  const own = ownName();
  for (const name of names().filter((one) => one.startsWith(folder) && one !== own)) {
    const claim = (): void => {
      if (folder === "") return;
      const left = read(name);
      // First here, then away there: a page that dies between the two leaves it twice, not lost.
      const taken = left.map((one) => keep(one));
      localStorage.removeItem(name);
      if (taken.length > 0) take(taken);
    };
    if (navigator.locks) void navigator.locks.request(name, claim);
    else claim();
  }
}

/** Nothing of this page stays in this browser, as when she signs out of a machine that is not hers. */
export function forget(): void {
  mine = [];
  leave();
  for (const store of [localStorage, sessionStorage]) {
    for (const name of names(store).filter((one) => one.startsWith(OURS))) store.removeItem(name);
  }
}

function names(store: Storage = localStorage): string[] {
  return Array.from({ length: store.length }, (_, n) => store.key(n) ?? "");
}

function read(name: string): Omit<Waiting, "id">[] {
  try {
    const said: unknown = JSON.parse(localStorage.getItem(name) ?? "[]");
    return Array.isArray(said) ? (said as Waiting[]).filter((one) => typeof one?.order === "string" && typeof one.wish?.key === "string") : [];
  } catch {
    return [];
  }
}
