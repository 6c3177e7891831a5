import { t } from "../texts";

/** Every row: the keys, and the text that says what they do. */
const ROWS = ["shelf", "spreads", "fields", "enter", "nudge", "back", "undo", "paper", "lines", "handles", "layers", "measures"] as const;
const KINDS = ["cut", "net", "placement", "fold", "grain", "level", "notch"] as const;

export function Keys(): preact.JSX.Element {
  return (
    <>
      <dl class="keys">
        {ROWS.map((row) => (
          <div key={row}>
            <dt>{t(`keys.${row}.press`)}</dt>
            <dd>{t(`keys.${row}.does`)}</dd>
          </div>
        ))}
      </dl>
      <h3>{t("keys.kinds")}</h3>
      <ul class="kinds">
        {KINDS.map((kind) => (
          <li key={kind}>
            <svg viewBox="0 0 60 16" width="60" height="16" aria-hidden="true">
              <path d={kind === "notch" ? "M20 3V13M30 3V13" : "M2 8H58"} class={kind} />
            </svg>
            {t(`kind.${kind}`)}
          </li>
        ))}
      </ul>
    </>
  );
}
