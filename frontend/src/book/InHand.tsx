// The slip at the foot of the left page: what is known of the value in hand. It has its own place, so that nothing
// moves while she goes from value to value.

import { inHand, notice, values } from "../store";
import { t } from "../texts";

export function InHand(): preact.JSX.Element {
  const value = values.value[inHand.value ?? ""];
  if (value === undefined) {
    return (
      <div class="in-hand" id="in-hand">
        <p class="idle">{notice.value || t("hand.none")}</p>
      </div>
    );
  }
  const assumed = value.state === "assumed";
  return (
    <div class="in-hand" id="in-hand">
      <p>
        <b>{value.name}</b>
        {value.kind !== "lines" && <span class="now"> {value.text}</span>}
        {value.also && <span class="also"> {value.also}</span>}
        <span class={`state ${value.state}`}> {assumed ? t("hand.assumed", { why: value.why ?? "" }) : t(`state.${value.state}`)}</span>
      </p>
      <p class="small">
        {value.allowed && <span>{t("hand.allowed", { allowed: value.allowed })} </span>}
        {value.nudge && <span>{t("hand.nudge", { nudge: value.nudge })} </span>}
        {value.clears && !assumed && <span>{t("hand.clears")}</span>}
      </p>
    </div>
  );
}
