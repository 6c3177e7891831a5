// The pages before: every version of the order with what changed. Any of them can become the newest again.

import type { Version } from "../contract";
import { restore } from "../queue";
import { day, when } from "../dates";
import { dialog, order } from "../store";
import { t } from "../texts";
import { useTold } from "../told";

export function Versions(): preact.JSX.Element {
  const open = order.value;
  const path = open === null ? null : `/api/orders/${encodeURIComponent(open.id)}/versions?limit=200`;
  const all = useTold<{ versions: Version[] }>(path, [open?.version])?.versions ?? [];
  return (
    <ol class="versions">
      {all.map((one) => (
        <li key={one.version} class={one.now ? "now" : ""}>
          <time dateTime={one.when}>{when(one.when)}</time>
          <span>
            {one.what || t("versions.first")}
            {one.tape && <small>{t("versions.tape", { day: day(one.tape) })}</small>}
          </span>
          {one.now ? (
            <span class="state">{t("versions.now")}</span>
          ) : (
            <button
              type="button"
              class="plain"
              aria-label={t("versions.restore_that", { when: when(one.when), what: one.what })}
              onClick={() => {
                restore(one.version);
                dialog.value = null;
              }}
            >
              {t("versions.restore")}
            </button>
          )}
        </li>
      ))}
    </ol>
  );
}
