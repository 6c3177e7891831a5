import { Away, Refused } from "../api";
import { t } from "../texts";

/** Runs a call of the shelf; what the server refuses is said at the foot of the dialog. */
export async function tried(act: () => Promise<void>, tell: (says: string) => void): Promise<void> {
  try {
    tell("");
    await act();
  } catch (fault) {
    if (fault instanceof Away) tell(t("shelf.away"));
    else if (fault instanceof Refused) tell(fault.says);
    else throw fault;
  }
}
