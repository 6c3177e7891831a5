// The measuring tape across the head of the book: its stations are the spreads, in the order of the work.

import { session, sheet, spread } from "../store";
import { t } from "../texts";
import { turnTo } from "./hand";

export function TapeNav(): preact.JSX.Element {
  const stops = sheet.value?.findings.filter((f) => f.level === "stop").length ?? 0;
  return (
    <nav class="tape" aria-label={t("spreads")}>
      <ul>
        {(session.value?.spreads ?? []).map((station, n) => (
          <li key={station.id}>
            <button
              type="button"
              aria-current={spread.value === station.id ? "page" : undefined}
              aria-keyshortcuts={`Alt+${n + 1}`}
              onClick={() => turnTo(station.id)}
            >
              <span class="number" aria-hidden="true">
                {n + 1}
              </span>
              {station.title}
              {station.id === "checks" && stops > 0 && <span class="stops"> {t("findings.stops", { count: stops })}</span>}
            </button>
          </li>
        ))}
      </ul>
    </nav>
  );
}
