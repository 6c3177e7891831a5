// What waited in this browser for the book goes in when it is opened again; where the order has changed since, she is asked.

import { get, nextSeq, post, Refused, windowId } from "./api";
import type { Answer, EditWish, Sheet } from "./contract";
import { inLine } from "./line";
import { fetchSheet } from "./queue";
import { heldBy, type LeftOver, leftOver, notice, opened, order } from "./store";
import { t } from "./texts";
import { drop, takeOver, type Waiting } from "./waiting";

export function bringIn(): void {
  takeOver((left) => {
    const moved = new Map<string, Map<number, number>>();
    for (const one of left) inLine(async () => bring(one, moved));
    inLine(async () => {
      if (left.some((one) => one.order === opened.peek())) fetchSheet();
    });
  });
}

/** `moved`: where the edits that waited stand upon now that the ones before them have gone in, by order. */
async function bring(one: Waiting, moved: Map<string, Map<number, number>>): Promise<void> {
  const path = `/api/orders/${encodeURIComponent(one.order)}`;
  let now: Sheet;
  try {
    now = await get<Sheet>(path);
  } catch (fault) {
    if (!(fault instanceof Refused) || fault.status !== 404) throw fault;
    ask({ waiting: one, order: "", name: "", typed: typed(one.wish), now: null, version: 0 });
    return;
  }
  const steps = moved.get(one.order) ?? new Map<number, number>();
  moved.set(one.order, steps);
  const base = steps.get(one.base) ?? one.base;
  let answer = await sent(one, now, base);
  // A server begun anew knows no text of that edit; where the value holds what it held then, nobody has changed it.
  if (typeof answer !== "number" && unchanged(one, answer)) answer = await sent(one, now, answer.version ?? now.version);
  if (typeof answer === "number") {
    steps.set(one.base, answer);
    return;
  }
  const name = now.values[one.wish.key]?.name ?? one.wish.key;
  const theirs = answer.conflict?.theirs ?? now.values[one.wish.key]?.text ?? "";
  ask({ waiting: one, order: now.order.name, name, typed: typed(one.wish), now: theirs, version: answer.version ?? now.version });
}

function unchanged(one: Waiting, answer: Partial<Answer>): boolean {
  return one.stood !== undefined && heldBy(answer.sheet?.values[one.wish.key]) === one.stood;
}

/** Sends it; the edit at which its order stands then, or what stands against it. */
async function sent(one: Waiting, now: Sheet, base: number, since = one.since): Promise<number | Partial<Answer>> {
  const name = now.values[one.wish.key]?.name ?? one.wish.key;
  const hand = one.since === undefined ? {} : { hand: since ?? now.step };
  const body = { ...one.wish, ...hand, base_version: base, seq: nextSeq(), window: windowId, spread: "" };
  try {
    const answer = await post<Answer>(`/api/orders/${encodeURIComponent(one.order)}/edit`, body);
    drop(one);
    notice.value = t("waiting.brought", { what: `${name}: ${typed(one.wish)}` });
    return answer.sheet?.version ?? base;
  } catch (fault) {
    if (!(fault instanceof Refused)) throw fault;
    if (fault.status === 409) return fault.body;
    if (fault.status !== 422) throw fault;
    // The book keeps a text that it cannot use, and shows it in its field.
    drop(one);
    notice.value = `${name}: ${fault.body.refused?.[0]?.says ?? fault.says}`;
    return fault.body.version ?? base;
  }
}

function ask(one: LeftOver): void {
  leftOver.value = [...leftOver.peek(), one];
}

function typed(wish: EditWish): string {
  if (wish.nudge !== undefined) return t("waiting.steps", { n: wish.nudge });
  return Array.isArray(wish.text) ? wish.text.join(", ") : (wish.text ?? "");
}

/** Her text after all, upon what the order says now. */
export function takeLeft(one: LeftOver): void {
  settled(one);
  inLine(async () => {
    const now = await get<Sheet>(`/api/orders/${encodeURIComponent(one.waiting.order)}`);
    const answer = await sent(one.waiting, now, one.version, now.step);
    if (typeof answer === "number") drop(one.waiting);
    else ask({ ...one, now: answer.conflict?.theirs ?? one.now, version: answer.version ?? one.version });
    if (one.waiting.order === order.peek()?.id) fetchSheet();
  });
}

export function dropLeft(one: LeftOver): void {
  settled(one);
  drop(one.waiting);
}

function settled(one: LeftOver): void {
  leftOver.value = leftOver.peek().filter((other) => other !== one);
}
