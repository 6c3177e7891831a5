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
  const reading = value.figure !== undefined;
  const why = { why: value.why ?? "" };
  const filled = reading ? t("hand.by_rule", why) : t("hand.assumed", why);
  const state = value.state === "not_taken" ? t("hand.not_taken", why) : assumed ? filled : t(`state.${value.state}`);
  const clears = value.needed ? t("hand.clears_needed") : reading ? t("hand.clears_reading") : t("hand.clears");
  return (
    <div class="in-hand" id="in-hand">
      <p>
        <b>{value.name}</b>
        {value.kind !== "lines" && <span class="now"> {value.text}</span>}
        {value.also && <span class="also"> {value.also}</span>}
        <span class={`state ${value.state}`}> {state}</span>
      </p>
      <p class="small">
        {value.allowed && <span>{t("hand.allowed", { allowed: value.allowed })} </span>}
        {value.nudge && <span>{t("hand.nudge", { nudge: value.nudge })} </span>}
        {value.clears && !assumed && <span>{clears}</span>}
      </p>
    </div>
  );
}
