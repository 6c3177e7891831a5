// The button that signs out; while the book does not answer, it offers to go without what could not be sent.

import { saving } from "../store";
import { t } from "../texts";
import { leaving, signOut } from "./leave";

export function SignOut(): preact.JSX.Element {
  const away = leaving.value && saving.value === "away";
  return (
    <button type="button" class="plain" disabled={leaving.value && !away} onClick={signOut}>
      {t(away ? "door.leave_now" : "door.leave")}
    </button>
  );
}
