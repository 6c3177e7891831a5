// What is asked of the book about the open order: its sheet, and every change of it. Each goes through the one line and
// names the order that it was meant for, so that nothing reaches the order that was opened meanwhile.

import { batch, signal } from "@preact/signals";
import { Away, get, nextSeq, post, Refused, windowId } from "./api";
import type { Answer, EditWish, Sheet } from "./contract";
import { enqueue, type Hand, handAnew, handsOf, inLine, type Job, newerWaits, waits } from "./line";
import {
  card,
  conflict,
  dialog,
  heldBy,
  inHand,
  lays,
  lost,
  notice,
  opened,
  part,
  refusals,
  resting,
  saving,
  sheet,
  session,
  spread,
  typing,
  values,
  without,
} from "./store";
import { t } from "./texts";
import { drop, keep, type Waiting, write } from "./waiting";

/** Milliseconds of rest before a refusal is shown while she still types: half a number is not a mistake yet. */
const REST = 700;

let shownSeq = 0;
/** How many sheets have been shown: what is on the screen can be told from outside by it (bench/page.py). */
export const shownCount = signal(0);
/** The newest edit and version of each order that this window knows of, from whatever answer told them. */
const known = new Map<string, { edit: number; step: number }>();
/** The field in hand. */
let hand: Hand | null = null;
/** The last text that the book took from the field in hand. */
let taken: string | null = null;
/** Two windows wrote one value: what waits for her to decide. */
let undecided: Waiting | null = null;
/** Refusals that wait for her to rest, by the key of what was refused. */
const timers = new Map<string, { timer: ReturnType<typeof setTimeout>; tell: () => void }>();

function forget(key: string): void {
  clearTimeout(timers.get(key)?.timer);
  if (timers.delete(key)) resting.value = new Set(timers.keys());
}

function forgetAll(): void {
  for (const key of [...timers.keys()]) forget(key);
}

/** What an answer tells of where its order stands. */
function learn(fresh: Sheet): void {
  if (fresh.version >= versionNow(fresh.order.id)) known.set(fresh.order.id, { edit: fresh.version, step: fresh.step });
}

/** Shows a sheet, if it is of the order that this window shows, unless a newer one is shown already. */
function show(fresh: Sheet, seq: number): void {
  learn(fresh);
  const before = sheet.peek()?.order.id;
  if (fresh.order.id !== opened.peek() || (fresh.order.id === before && seq <= shownSeq)) return;
  shownSeq = seq;
  batch(() => {
    // What was typed into the sheet before, while this one was on its way, belongs to that one.
    if (fresh.order.id !== before) letGo();
    else letGoOfMended(fresh);
    lost.value = null;
    sheet.value = fresh;
    lays.value = fresh.lays;
    shownCount.value += 1;
  });
}

/** A refused text that the book had and has no more was mended in another window: it goes from this one too. */
function letGoOfMended(fresh: Sheet): void {
  for (const [key, { typed }] of Object.entries(refusals.peek())) {
    const had = typed !== null && values.peek()[key]?.typed === typed;
    if (had && fresh.values[key]?.typed !== typed) refusals.value = without(refusals.peek(), key);
  }
}

/** Fetches the sheet of the order that this window shows, with the spread that is open. */
export function fetchSheet(): void {
  const which = opened.peek();
  if (which === null) return;
  inLine(async () => {
    // She may have gone on to another one.
    if (which !== opened.peek()) return;
    const seq = nextSeq();
    const before = values.peek();
    let fresh: Sheet;
    try {
      fresh = await get<Sheet>(`/api/orders/${encodeURIComponent(which)}?spread=${spread.peek()}`);
    } catch (fault) {
      if (fault instanceof Refused && fault.status === 404 && which === opened.peek()) lost.value = fault.says;
      else throw fault;
      return;
    }
    const held = hand;
    show(fresh, seq);
    // What has been taken already may be overwritten by a newer page; what waits or was refused keeps its old base.
    const text = typing.peek()[held?.key ?? ""];
    if (held !== null && held === hand && !waits(held.key) && (text === undefined || text === taken)) {
      stand(held, fresh.version);
      // The text stays as she is typing it, though she rests: shown anew and marked, her next key would replace it. But
      // another window's value is shown, and is what this hand goes back to from now on.
      if (before[held.key]?.text !== fresh.values[held.key]?.text) {
        typing.value = without(typing.peek(), held.key);
        renewHand();
      }
    }
  });
}

/** Opens another order; what was half typed in the old one stays there, refused and unsaved, and is let go. */
export function openOrder(id: string): void {
  const other = opened.peek() !== id;
  batch(() => {
    letGo();
    if (other) part.value = 0;
    opened.value = id;
    dialog.value = null;
    card.value = null;
    lost.value = null;
  });
  fetchSheet();
}

function letGo(): void {
  forgetAll();
  typing.value = {};
  refusals.value = {};
  conflict.value = null;
  drop(undecided);
  undecided = null;
  inHand.value = null;
  hand = null;
}

export function takeInHand(key: string): void {
  inHand.value = key;
  taken = null;
  hand = handOn(key);
}

function handOn(key: string): Hand {
  return { key, base: versionNow(), stood: heldBy(values.peek()[key]), since: null, used: false };
}

/** From now on a hand stands upon an edit, and upon what the page shows of it. */
function stand(one: Hand, edit: number): void {
  one.base = edit;
  one.stood = heldBy(values.peek()[one.key]);
}

/** The order stands elsewhere than this hand has brought it, after an undo, say: the hand begins anew from there. */
function renewHand(): void {
  if (hand !== null) hand = handOn(hand.key);
}

/** So do all hands, those that hold what was typed while the undo was on its way too. */
function renewHands(order: string): void {
  renewHand();
  handAnew(order, (key) => (hand?.key === key ? hand : handOn(key)));
}

export function putDown(key: string): void {
  if (hand?.key === key) hand = null;
  if (inHand.peek() === key) inHand.value = null;
  // She types there no more.
  timers.get(key)?.tell();
  if (!waits(key)) typing.value = without(typing.peek(), key);
}

/**
 * Changes one value. What is typed, or stepped by the arrow keys in its field, belongs to the hand that holds it: all of it
 * is one step for undo, and a refusal puts back what the hand found.
 */
export function edit(wish: EditWish, as: "typed" | "chosen" = "chosen"): void {
  const open = sheet.peek();
  if (open === null) return;
  const key = wish.key;
  const met = conflict.peek();
  if (met?.conflict?.key === key && typeof wish.text === "string") {
    conflict.value = { ...met, conflict: { ...met.conflict, yours: wish.text } };
    return;
  }
  forget(key);
  saving.value = saving.peek() === "away" ? "away" : "keeping";
  const own = as === "typed" && hand?.key === key ? hand : null;
  if (own !== null) own.used = true;
  put(wish, open.order.id, own, hand?.key === key ? hand : handOn(key));
}

/** As it was taken in hand. */
export function takeBack(key: string): void {
  const refused = refusals.peek()[key] !== undefined || values.peek()[key]?.typed !== undefined;
  const changed = refused || typing.peek()[key] !== undefined || hand?.used === true;
  forget(key);
  typing.value = without(typing.peek(), key);
  refusals.value = without(refusals.peek(), key);
  if (changed) edit({ key, back: true }, "typed");
}

function put(wish: EditWish, order: string, own: Hand | null, upon: Hand): void {
  const { base, stood } = upon;
  const kept = keep({ order, wish, base, stood, ...(own === null ? {} : { since: own.since }) });
  enqueue({ key: wish.key, order, wish, hand: own, waits: kept, sent: false, run: send });
}

/** Sends her text once more, on top of what the other window wrote. */
export function mineAfterAll(): void {
  const open = conflict.peek();
  const order = sheet.peek()?.order.id;
  if (!open?.conflict || order === undefined) return;
  const { key, yours } = open.conflict;
  conflict.value = null;
  drop(undecided);
  undecided = null;
  const own = { ...handOn(key), base: open.version, used: true };
  if (hand?.key === key) hand = own;
  saving.value = "keeping";
  put({ key, text: yours }, order, own, own);
}

export function theirsThen(): void {
  const key = conflict.peek()?.conflict?.key;
  conflict.value = null;
  drop(undecided);
  undecided = null;
  if (key === undefined) return;
  typing.value = without(typing.peek(), key);
  refusals.value = without(refusals.peek(), key);
  if (hand?.key === key) renewHand();
}

async function send(job: Job): Promise<void> {
  const { wish, order, hand: own } = job;
  if (wish === null || order === null) return;
  const body: Record<string, unknown> = { ...wish, base_version: baseOf(job, order) };
  if (own !== null) {
    own.since ??= known.get(order)?.step ?? null;
    body.hand = own.since;
  }
  if (job.waits !== null && (job.waits.base !== body.base_version || job.waits.since !== own?.since)) {
    job.waits.base = baseOf(job, order);
    if (own !== null) {
      job.waits.since = own.since;
      job.waits.stood = own.stood;
    }
    write();
  }
  await ask(order, "edit", body, job);
  if (hand?.key !== wish.key && !newerWaits(wish.key)) typing.value = without(typing.peek(), wish.key);
}

/** What an edit stands upon: a hand has its own base; what may be in the book already is sent as it was. */
function baseOf(job: Job, order: string): number {
  if (job.hand !== null) return job.hand.base;
  if (job.sent && job.waits !== null) return job.waits.base;
  return hand?.key === job.key && order === sheet.peek()?.order.id ? hand.base : versionNow(order);
}

/** After an answer about a value: what was typed there meanwhile stands upon it. */
function rebase(job: Job | null, order: string): void {
  if (job?.key == null) return;
  const version = versionNow(order);
  const here = order === sheet.peek()?.order.id;
  const now = [job.hand, ...handsOf(order, job.key), here && hand?.key === job.key ? hand : null];
  for (const one of now) {
    if (one === null) continue;
    if (here) stand(one, version);
    else one.base = version;
  }
}

/** The newest edit of an order that this window knows of: of the one that is shown, if none is named. */
export function versionNow(order = sheet.peek()?.order.id): number {
  return known.get(order ?? "")?.edit ?? 0;
}

/** Posts what changes an order and shows what comes of it. Returns whether it was taken. */
async function ask(order: string, call: string, body: object, job: Job | null): Promise<boolean> {
  const seq = nextSeq();
  const wish = job?.wish ?? null;
  const path = `/api/orders/${encodeURIComponent(order)}/${call}`;
  const base = versionNow(order);
  const here = (): boolean => order === sheet.peek()?.order.id;
  try {
    const answer = await post<Answer>(path, { base_version: base, ...body, seq, window: windowId, spread: spread.peek() });
    drop(job?.waits ?? null);
    if (answer.superseded || answer.sheet === undefined) return true;
    show(answer.sheet, seq);
    rebase(job, order);
    if (!here()) return true;
    // What was refused for its own sake stays; what this edit mended goes.
    for (const key of answer.accepted ?? []) {
      forget(key);
      refusals.value = without(refusals.peek(), key);
      // What she has begun to type there since then has its own answer.
      if (!waits(key)) typing.value = without(typing.peek(), key);
    }
    if (wish !== null) {
      forget(wish.key);
      refusals.value = without(refusals.peek(), wish.key);
      taken = typeof wish.text === "string" ? wish.text : null;
    }
    return true;
  } catch (fault) {
    if (!(fault instanceof Refused)) throw fault;
    if (fault.status === 422 && fault.body.refused) {
      drop(job?.waits ?? null);
      if (fault.body.sheet !== undefined) show(fault.body.sheet, seq);
      const now = known.get(order);
      if (now !== undefined) now.edit = Math.max(now.edit, fault.body.version ?? 0);
      rebase(job, order);
      if (here()) refuse(fault.body, wish);
    } else if (fault.status === 409) {
      if (here()) collide(fault.body, seq, job);
      else drop(job?.waits ?? null);
    } else {
      // The order has been erased meanwhile: its page does not go on showing it.
      if (fault.status === 404 && here()) lost.value = fault.says;
      throw fault;
    }
    return false;
  }
}

function refuse(body: Partial<Answer>, wish: EditWish | null): void {
  const first = body.refused?.[0];
  if (first === undefined) return;
  const key = wish?.key ?? first.key;
  const typed = typeof wish?.text === "string" ? wish.text : null;
  const tell = (): void => {
    forget(key);
    refusals.value = { ...refusals.peek(), [key]: { ...first, key, typed } };
    notice.value = first.says;
  };
  forget(key);
  // A newer text is on its way, and what is said of that one counts.
  if (newerWaits(key)) return;
  // A text that is still in the field waits for a rest; the field that has been left cannot.
  if (typed !== null && inHand.peek() === key) {
    timers.set(key, { timer: setTimeout(tell, REST), tell });
    resting.value = new Set(timers.keys());
  } else tell();
}

function collide(body: Partial<Answer>, seq: number, job: Job | null): void {
  if (body.sheet !== undefined) show(body.sheet, seq);
  drop(undecided);
  // It stays in the browser until she has decided.
  undecided = body.conflict ? (job?.waits ?? null) : null;
  if (undecided === null) drop(job?.waits ?? null);
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
    if ((await ask(open.order.id, way, {}, null)) && open.order.id === sheet.peek()?.order.id) {
      typing.value = Object.fromEntries(Object.entries(typing.peek()).filter(([key]) => newerWaits(key)));
      refusals.value = {};
      renewHands(open.order.id);
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
    await ask(open.order.id, call, body, null);
    if (open.order.id === sheet.peek()?.order.id) renewHands(open.order.id);
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
    inLine(async () => {
      try {
        const followed = await ask(open.order.id, "drag", { handle, x, y, final }, null);
        if (followed) refusals.value = keys.reduce(without, refusals.peek());
        done(followed);
      } catch (fault) {
        if (fault instanceof Away) throw fault;
        fail(fault);
        throw fault;
      }
    });
  });
}

export function spreadOpened(): void {
  if (session.peek() !== null) fetchSheet();
}
