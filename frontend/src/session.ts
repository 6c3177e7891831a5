// The first call of the page and how she likes to read.

import { bearToken, get, post, Refused } from "./api";
import { goTo, keepAddress, placeInAddress } from "./address";
import { bringIn } from "./bringing";
import type { Order, Session, Settings } from "./contract";
import { watch } from "./events";
import { inLine } from "./line";
import { fetchSheet, openOrder } from "./queue";
import { lost, order, session, settings, shut, spread } from "./store";
import { learn, t } from "./texts";
import { keepFor } from "./waiting";
import { effect } from "@preact/signals";

export async function begin(): Promise<void> {
  let given: Session;
  try {
    given = await get<Session>("/api/session");
  } catch (fault) {
    if (!(fault instanceof Refused)) throw fault;
    shut.value = fault.says;
    return;
  }
  bearToken(given.token);
  learn(given.texts);
  settings.value = given.settings;
  session.value = given;
  document.documentElement.lang = given.language;
  // A first visit begins where there is most to see.
  const place = placeInAddress();
  if (place !== null) goTo(place);
  else {
    spread.value = given.first_visit ? "shape" : "tape";
    if (given.open !== null) openOrder(given.open);
  }
  keepAddress();
  keepFor(given.book);
  bringIn();
  effect(() => {
    const id = order.value?.id;
    if (id !== undefined && id !== watching) {
      watching = id;
      watch(id);
    }
    document.title = order.value === null || lost.value !== null ? "coutil" : titleOf(order.value);
  });
}

/** Client and order first: what is left of a title in a narrow tab. */
function titleOf(one: Order): string {
  return [one.client.label, one.name, t("title")].filter((word) => word !== "").join(" · ");
}

let watching = "";

/** What she picks holds at once; the browser keeps it by the server's answers, so these stand in the one line too. */
export function choose(wish: Partial<Settings>): void {
  settings.value = { ...settings.peek(), ...wish };
  inLine(async () => {
    await post<Settings>("/api/settings", wish);
  });
  if (wish.unit) fetchSheet();
}

effect(() => {
  document.documentElement.dataset.look = settings.value.look;
});
