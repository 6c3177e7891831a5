// The line of the head that says that other machines can get in, and who tried in vain.

import { dialog, session } from "../store";
import { t } from "../texts";
import { useDoor } from "./told";
import { SignOut } from "./SignOut";
import { triesInAll } from "./tries";

export function Openness(): preact.JSX.Element | null {
  const told = useDoor();
  if (!session.value?.openly) return null;
  return (
    <div class="openly">
      <p>{t("door.openly")}</p>
      <button type="button" class="plain" aria-haspopup="dialog" onClick={() => void (dialog.value = "door")}>
        {t("door.open")}
      </button>
      {session.value.by_password && <SignOut />}
      <p class="tried" role="status">
        {told !== null && told.wrong > 0 && triesInAll(told)}
      </p>
    </div>
  );
}
