// Signing out on a machine that came in by the password: nothing of the book stays behind in this browser.

import { post, Refused } from "../api";
import { inLine } from "../queue";
import { saving } from "../store";
import { signal } from "@preact/signals";

/** Whatever the page keeps in the browser begins with this. */
const OURS = "coutil.";

/** True from the press of the button on: what was typed before goes into the book first. */
export const leaving = signal(false);

/**
 * Takes off this browser what the page kept there. The server's answer tells the browser the same, but browsers hear
 * that only over encrypted ways and on the machine itself.
 */
export function forgetHere(): void {
  for (const store of [localStorage, sessionStorage]) {
    const keys = Array.from({ length: store.length }, (_, n) => store.key(n));
    for (const key of keys) if (key?.startsWith(OURS)) store.removeItem(key);
  }
}

export function signOut(): void {
  if (leaving.peek()) return;
  leaving.value = true;
  inLine(async () => {
    try {
      await post("/api/leave", {});
    } catch (fault) {
      // Signed out already, by another window.
      if (!(fault instanceof Refused && fault.status === 401)) {
        leaving.value = !(fault instanceof Refused);
        throw fault;
      }
    }
    forgetHere();
    // All that stood in the line before is in the book, so the browser has nothing to ask her.
    saving.value = "kept";
    location.replace("/");
  });
}
