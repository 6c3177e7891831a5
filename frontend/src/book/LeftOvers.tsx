// What was typed while the book did not answer and stands against what the order says now: she takes it or drops it.

import { dropLeft, takeLeft } from "../bringing";
import { leftOver } from "../store";
import { t } from "../texts";

export function LeftOvers(): preact.JSX.Element {
  return (
    <>
      {leftOver.value.map((one) => (
        <div key={one.waiting.id} class="conflict left-over" role="alert">
          <p>
            {one.now === null
              ? t("waiting.gone", { typed: one.typed })
              : t("waiting.both", { typed: one.typed, name: one.name, order: one.order, now: one.now })}
          </p>
          {one.now !== null && (
            <button type="button" class="plain" onClick={() => takeLeft(one)}>
              {t("waiting.take", { typed: one.typed })}
            </button>
          )}
          <button type="button" class="plain" onClick={() => dropLeft(one)}>
            {one.now === null ? t("waiting.drop") : t("waiting.leave", { now: one.now })}
          </button>
        </div>
      ))}
    </>
  );
}
