// Wrong passwords in words: how many, since when, from which address.

import { when } from "../dates";
import { t } from "../texts";
import type { DoorTold, Tried } from "./told";

/** All of them in one sentence. */
export function triesInAll(told: DoorTold): string {
  const newest = told.tries[0];
  if (newest === undefined || told.since === null) return "";
  if (told.machines === 1) return triesOf(newest);
  const fill = { n: told.wrong, machines: told.machines, since: when(told.since), peer: newest.peer, last: when(newest.last) };
  return t("door.wrong_all", fill);
}

/** Those of one machine. */
export function triesOf(one: Tried): string {
  const fill = { n: one.wrong, peer: one.peer, since: when(one.since), last: when(one.last) };
  if (one.wrong === 1) return t("door.wrong_one", { ...fill, when: fill.since });
  // Within one minute both times are the same words.
  return fill.since === fill.last ? t("door.wrong_soon", { ...fill, when: fill.since }) : t("door.wrong_many", fill);
}

export function unreadOf(one: Tried): string {
  if (one.unread === 0) return "";
  return one.unread === 1 ? t("door.unread_one") : t("door.unread_many", { n: one.unread });
}
