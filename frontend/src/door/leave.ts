// Signing out on a machine that came in by the password: nothing of the book stays behind in this browser.

import { post, Refused } from "../api";
import { closeBook, endLine, inLine } from "../line";
import { saving, shut } from "../store";
import { t } from "../texts";
import { forget } from "../waiting";
import { effect, signal } from "@preact/signals";

/** True from the press of the button on: what was typed before goes into the book first. */
export const leaving = signal(false);

/** Pressed once more while the book does not answer: what could not be sent is thrown away. */
function leaveNow(): void {
  forget();
  closeBook(t("door.left_unheard"));
}

export function signOut(): void {
  if (leaving.peek()) {
    if (saving.peek() === "away") leaveNow();
    return;
  }
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
    // The answer tells the browser the same, but browsers hear that only over encrypted ways and on the machine itself.
    forget();
    // All that was typed before she left is in the book; what she typed since then nobody may send.
    endLine();
    location.replace("/");
  });
}

// The session ended before her turn to leave it came, as when the server was begun anew: still nothing stays here.
effect(() => {
  if (leaving.value && shut.value !== null) forget();
});
