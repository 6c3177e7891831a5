// The one line: all that changes what the page shows of its order goes through it, one request at a time. So no answer
// can overtake another, and typing faster than the server answers sends only the newest text.

import { AGAIN, Away, Refused } from "./api";
import type { EditWish } from "./contract";
import { notice, saving, shut } from "./store";
import { t } from "./texts";
import { anyWaiting, drop, leave, type Waiting, write } from "./waiting";

/** One value in hand, from when it is taken until it is put down. */
export interface Hand {
  key: string;
  /** The edit that it stands upon: a foreign change below a half-typed text must be seen. */
  base: number;
  /** What the value held at that edit, as `heldBy` tells it. */
  stood: string;
  /** The version that a refusal goes back to; known when the first text of this hand is sent. */
  since: number | null;
  /** Whether anything has been typed or stepped. */
  used: boolean;
}

export interface Job {
  /** Edits of one key that wait in line are taken together. */
  key: string | null;
  order: string | null;
  wish: EditWish | null;
  hand: Hand | null;
  waits: Waiting | null;
  /** It was sent once and not answered: it may be in the book, so it is sent again as it was. */
  sent: boolean;
  run: (job: Job) => Promise<void>;
}

const line: Job[] = [];
let running = false;
let stopped = false;
let current: Job | null = null;

export function enqueue(job: Job): void {
  const last = line[line.length - 1];
  if (last !== undefined && last.wish !== null && job.wish !== null && goTogether(last, job)) {
    const both = together(last.wish, job.wish);
    if (both !== null) {
      last.wish = both;
      drop(job.waits);
      if (last.waits !== null) last.waits.wish = both;
      write();
      return;
    }
  }
  line.push(job);
  if (!running) void work();
}

/** Runs a call when its turn comes, and again while the server is away. */
export function inLine(run: () => Promise<void>): void {
  enqueue({ key: null, order: null, wish: null, hand: null, waits: null, sent: false, run });
}

/** Whether an edit of a value of an order waits or is under way. */
export function waits(key: string): boolean {
  return line.some((job) => job.key === key) || current?.key === key;
}

/** Whether a newer edit of a value waits behind the one under way. */
export function newerWaits(key: string): boolean {
  return line.some((job) => job.key === key);
}

/** The hands that hold what waits for a value of an order. */
export function handsOf(order: string, key: string): Hand[] {
  return line.flatMap((job) => (job.order === order && job.key === key && job.hand !== null ? [job.hand] : []));
}

/** What waits for an order was typed while a step of it was on its way, and stands upon that step: it gets new hands. */
export function handAnew(order: string, handOn: (key: string) => Hand): void {
  const anew = new Map<Hand, Hand>();
  for (const job of line) {
    if (job.order !== order || job.hand === null) continue;
    const fresh = anew.get(job.hand) ?? handOn(job.hand.key);
    fresh.used = true;
    anew.set(job.hand, fresh);
    job.hand = fresh;
  }
}

function goTogether(last: Job, job: Job): boolean {
  return !last.sent && last.key === job.key && last.order === job.order && last.hand === job.hand;
}

/** Two waiting edits of one key in one hand as one, or null where both have to be sent. */
function together(first: EditWish, second: EditWish): EditWish | null {
  if (first.add || first.remove || second.add || second.remove) return null;
  if (second.text !== undefined || second.back) return second;
  if (first.nudge !== undefined && second.nudge !== undefined) return { ...second, nudge: first.nudge + second.nudge };
  return null;
}

async function work(): Promise<void> {
  running = true;
  for (let job = line[0]; job !== undefined && !stopped; job = line[0]) {
    try {
      line.shift();
      current = job;
      await job.run(job);
      current = null;
      // What still waits is not kept yet.
      if (saving.value === "away") saving.value = "keeping";
    } catch (fault) {
      current = null;
      if (fault instanceof Away) {
        saving.value = "away";
        job.sent = true;
        line.unshift(job);
        await new Promise((done) => setTimeout(done, AGAIN));
      } else if (fault instanceof Refused) {
        if (fault.status === 401 || fault.code === "no_token") closeBook(fault.says);
        else drop(job.waits);
        notice.value = fault.says;
      } else {
        running = false;
        throw fault;
      }
    }
  }
  running = false;
  if (saving.value === "keeping") saving.value = "kept";
}

/** Nothing more is sent, and the browser need not ask her before the page closes. */
export function endLine(): void {
  stopped = true;
}

/** This window can do no more; what waits stays in the browser for the next one. */
export function closeBook(says: string): void {
  endLine();
  shut.value = anyWaiting() ? `${says} ${t("waiting.shut")}` : says;
  leave();
}

// The browser asks her before it closes a page whose edits still wait.
window.addEventListener("beforeunload", (event) => {
  if (saving.peek() !== "kept" && !stopped) event.preventDefault();
});
