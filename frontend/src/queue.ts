// All that changes what the page shows of its order goes through one line, one request at a time: so no answer can
// overtake another, every edit knows the version that it stands upon, and typing faster than the server answers sends
// only the newest text.

import { batch, signal } from "@preact/signals";
import { AGAIN, Away, get, nextSeq, post, Refused, windowId } from "./api";
import type { Answer, EditWish, Sheet } from "./contract";
import {
  conflict,
  dialog,
  inHand,
  lays,
  notice,
  refusals,
  saving,
  session,
  sheet,
  shut,
  spread,
  typing,
  without,
} from "./store";
import { t } from "./texts";

/** Milliseconds of rest before a refusal is shown while she still types: half a number is not a mistake yet. */
const REST = 700;

interface Job {
  /** Edits of one key that wait in line are taken together. */
  key: string | null;
  wish: EditWish | null;
  run: () => Promise<void>;
}

const line: Job[] = [];
let running = false;
let shownSeq = 0;
/** How many sheets have been shown: what is on the screen can be told from outside by it (bench/page.py). */
export const shownCount = signal(0);
let shownOrder = "";
/** The version that the last refusal left: a text that cannot be used is kept too, and counts. */
let leftVersion = 0;
/** The version that the field in hand was opened upon: a foreign change below a half-typed text must be seen. */
let fieldBase: { key: string; version: number } | null = null;
/** The last text that the book took from the field in hand. */
let taken: string | null = null;
/** Refusals that wait for her to rest, by the key of what was refused. */
const resting = new Map<string, ReturnType<typeof setTimeout>>();

function forget(key: string): void {
  clearTimeout(resting.get(key));
  resting.delete(key);
}

function forgetAll(): void {
  for (const key of [...resting.keys()]) forget(key);
}

function enqueue(job: Job): void {
  const last = line[line.length - 1];
  if (job.key !== null && last?.key === job.key && last.wish !== null && job.wish !== null) {
    const both = together(last.wish, job.wish);
    if (both !== null) {
      last.wish = both;
      return;
    }
  }
  line.push(job);
  if (!running) void work();
}

/** Runs a call when its turn comes, and again while the server is away. */
export function inLine(run: () => Promise<void>): void {
  enqueue({ key: null, wish: null, run });
}

/** Two waiting edits of one key as one, or null where both have to be sent. */
function together(first: EditWish, second: EditWish): EditWish | null {
  if (first.add || first.remove || second.add || second.remove) return null;
  if (second.text !== undefined) return second;
  if (first.nudge !== undefined && second.nudge !== undefined) return { ...second, nudge: first.nudge + second.nudge };
  return null;
}

async function work(): Promise<void> {
  running = true;
  for (let job = line[0]; job !== undefined; job = line[0]) {
    try {
      line.shift();
      await job.run();
      // What still waits is not kept yet.
      if (saving.value === "away") saving.value = "keeping";
    } catch (fault) {
      if (fault instanceof Away) {
        saving.value = "away";
        line.unshift(job);
        await new Promise((done) => setTimeout(done, AGAIN));
      } else if (fault instanceof Refused) {
        refusedOutright(fault);
      } else {
        running = false;
        throw fault;
      }
    }
  }
  running = false;
  if (saving.value === "keeping") saving.value = "kept";
}

// The browser asks her before it closes a page whose edits still wait.
window.addEventListener("beforeunload", (event) => {
  if (saving.peek() !== "kept") event.preventDefault();
});

function refusedOutright(fault: Refused): void {
  if (fault.status === 401) shut.value = fault.says;
  notice.value = fault.says;
}

/** Shows a sheet unless a newer one is shown already. */
function show(fresh: Sheet, seq: number): void {
  if (fresh.order.id === shownOrder && seq <= shownSeq) return;
  shownSeq = seq;
  if (fresh.order.id !== shownOrder) leftVersion = 0;
  shownOrder = fresh.order.id;
  batch(() => {
    sheet.value = fresh;
    lays.value = fresh.lays;
    shownCount.value += 1;
  });
}

/** Fetches the sheet of an order (the open one if none is named) with the spread that is open. */
export function fetchSheet(id: string | null = null, after?: () => void): void {
  inLine(async () => {
    const which = id ?? sheet.peek()?.order.id;
    if (which === undefined) return;
    const seq = nextSeq();
    const fresh = await get<Sheet>(`/api/orders/${encodeURIComponent(which)}?spread=${spread.peek()}`);
    const held = fieldBase?.key;
    show(fresh, seq);
    // What has been taken already may be overwritten by a newer page; what waits or was refused keeps its old base.
    const text = typing.peek()[held ?? ""];
    if (held !== undefined && !waits(held) && (text === undefined || text === taken)) {
      typing.value = without(typing.peek(), held);
      fieldBase = { key: held, version: fresh.version };
    }
    after?.();
  });
}

/** Opens another order; what was half typed in the old one stays there, refused and unsaved, and is let go. */
export function openOrder(id: string): void {
  forgetAll();
  typing.value = {};
  refusals.value = {};
  conflict.value = null;
  inHand.value = null;
  fieldBase = null;
  dialog.value = null;
  fetchSheet(id);
}

export function takeInHand(key: string): void {
  inHand.value = key;
  taken = null;
  fieldBase = { key, version: versionNow() };
}

export function putDown(key: string): void {
  if (fieldBase?.key === key) fieldBase = null;
  if (inHand.peek() === key) inHand.value = null;
  if (!waits(key)) typing.value = without(typing.peek(), key);
}

function waits(key: string): boolean {
  return line.some((job) => job.key === key) || current === key;
}

let current: string | null = null;

export function edit(wish: EditWish): void {
  const key = wish.key;
  const open = conflict.peek();
  if (open?.conflict?.key === key && typeof wish.text === "string") {
    conflict.value = { ...open, conflict: { ...open.conflict, yours: wish.text } };
    return;
  }
  forget(key);
  saving.value = saving.peek() === "away" ? "away" : "keeping";
  const job: Job = { key, wish, run: async () => send(job.wish ?? wish, null) };
  enqueue(job);
}

/** Sends her text once more, on top of what the other window wrote. */
export function mineAfterAll(): void {
  const open = conflict.peek();
  if (!open?.conflict) return;
  const { key, yours } = open.conflict;
  conflict.value = null;
  const wish = { key, text: yours };
  inLine(async () => send(wish, open.version));
}

export function theirsThen(): void {
  const key = conflict.peek()?.conflict?.key;
  conflict.value = null;
  if (key === undefined) return;
  typing.value = without(typing.peek(), key);
  refusals.value = without(refusals.peek(), key);
  if (fieldBase?.key === key) fieldBase = { key, version: sheet.peek()?.version ?? 0 };
}

async function send(wish: EditWish, base: number | null): Promise<void> {
  const open = sheet.peek();
  if (open === null) return;
  current = wish.key;
  const held = fieldBase?.key === wish.key ? fieldBase.version : versionNow();
  try {
    await ask(`/api/orders/${encodeURIComponent(open.order.id)}/edit`, { ...wish, base_version: base ?? held }, wish);
  } finally {
    current = null;
  }
  if (fieldBase?.key !== wish.key && !waits(wish.key)) typing.value = without(typing.peek(), wish.key);
}

/** The newest version of the open order that this window knows of. */
export function versionNow(): number {
  return Math.max(leftVersion, sheet.peek()?.version ?? 0);
}

/** Posts what changes the order and shows what comes of it. Returns whether it was taken. */
async function ask(path: string, body: object, wish: EditWish | null): Promise<boolean> {
  const seq = nextSeq();
  const base = versionNow();
  try {
    const answer = await post<Answer>(path, { base_version: base, ...body, seq, window: windowId, spread: spread.peek() });
    if (answer.superseded || answer.sheet === undefined) return true;
    show(answer.sheet, seq);
    if (wish !== null && fieldBase?.key === wish.key) fieldBase = { key: wish.key, version: answer.sheet.version };
    // What was refused for its own sake stays; what this edit mended goes.
    for (const key of answer.accepted ?? []) {
      forget(key);
      refusals.value = without(refusals.peek(), key);
      typing.value = without(typing.peek(), key);
    }
    if (wish !== null) {
      forget(wish.key);
      refusals.value = without(refusals.peek(), wish.key);
      taken = typeof wish.text === "string" ? wish.text : null;
    }
    return true;
  } catch (fault) {
    if (!(fault instanceof Refused)) throw fault;
    if (fault.status === 422 && fault.body.refused) refuse(fault.body, wish);
    else if (fault.status === 409) collide(fault.body, seq);
    else throw fault;
    return false;
  }
}

function refuse(body: Partial<Answer>, wish: EditWish | null): void {
  leftVersion = Math.max(leftVersion, body.version ?? 0);
  if (wish !== null && fieldBase?.key === wish.key) fieldBase = { key: wish.key, version: versionNow() };
  const first = body.refused?.[0];
  if (first === undefined) return;
  const key = wish?.key ?? first.key;
  const typed = typeof wish?.text === "string" ? wish.text : null;
  const tell = (): void => {
    refusals.value = { ...refusals.peek(), [key]: { ...first, key, typed } };
    notice.value = first.says;
  };
  forget(key);
  // A newer text is on its way, and what is said of that one counts.
  if (line.some((job) => job.key === key)) return;
  // A text that is still in the field waits for a rest; the field that has been left cannot.
  if (typed !== null && inHand.peek() === key) resting.set(key, setTimeout(tell, REST));
  else tell();
}

function collide(body: Partial<Answer>, seq: number): void {
  if (body.sheet !== undefined) show(body.sheet, seq);
  conflict.value = { conflict: body.conflict ?? null, version: body.version ?? body.sheet?.version ?? 0 };
}

export function undo(): void {
  step("undo", sheet.peek()?.undo);
}

export function redo(): void {
  step("redo", sheet.peek()?.redo);
}

function step(way: "undo" | "redo", what: string | null | undefined): void {
  const open = sheet.peek();
  if (open === null) return;
  saving.value = "keeping";
  forgetAll();
  inLine(async () => {
    if (await ask(`/api/orders/${encodeURIComponent(open.order.id)}/${way}`, {}, null)) {
      typing.value = {};
      refusals.value = {};
      if (what) notice.value = t(way === "undo" ? "undone" : "redone", { what });
    }
  });
}

/** Brings an earlier version of the open order back. */
export function restore(version: number): void {
  whole("restore", { version });
}

/** Puts a tape of the same client into the open order. */
export function useTape(tape: string): void {
  whole("use_tape", { tape });
}

/** Changes the open order as a whole, not one value of it. */
function whole(call: "restore" | "use_tape", body: object): void {
  const open = sheet.peek();
  if (open === null) return;
  inLine(async () => {
    await ask(`/api/orders/${encodeURIComponent(open.order.id)}/${call}`, body, null);
  });
}

/** One place of a drag; answers whether the drawing could follow. */
export function dragTo(
  handle: string,
  x: number,
  y: number,
  final: boolean,
  keys: readonly string[],
): Promise<boolean> {
  const open = sheet.peek();
  if (open === null) return Promise.resolve(false);
  if (final) saving.value = "keeping";
  return new Promise((done, fail) => {
    enqueue({
      key: null,
      wish: null,
      run: async () => {
        try {
          const path = `/api/orders/${encodeURIComponent(open.order.id)}/drag`;
          const followed = await ask(path, { handle, x, y, final }, null);
          if (followed) refusals.value = keys.reduce(without, refusals.peek());
          done(followed);
        } catch (fault) {
          if (fault instanceof Away) throw fault;
          fail(fault);
          throw fault;
        }
      },
    });
  });
}

export function spreadOpened(): void {
  if (session.peek() !== null) fetchSheet();
}
