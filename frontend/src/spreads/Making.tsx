// The making: the card that lies beside the machine.

import type { Sheet } from "../contract";
import { t } from "../texts";

export function MakingRight(props: { sheet: Sheet }): preact.JSX.Element {
  const steps = props.sheet.spread?.steps ?? [];
  return (
    <div class="work paper-card" tabIndex={0} role="group" aria-label={t("making.card")}>
      <h3>{t("making.card")}</h3>
      {props.sheet.spread?.refused && <p class="beside stop">{props.sheet.spread.refused}</p>}
      <ol class="card">
        {steps.map((step) => (
          <li key={step.number} value={step.number}>
            <b>{step.title}</b> {step.says.join(" ")}
          </li>
        ))}
      </ol>
    </div>
  );
}
