// A question with two answers that mean nothing apart: what the outlines of a drawing are and, of cut lines, what lies
// between them and the net line. One form, one send, one step for undo.

import { useEffect, useState } from "preact/hooks";
import { edit } from "../queue";
import { refusals, values } from "../store";
import { Mark } from "../paper/Margin";
import { t } from "../texts";

/** The choice for which the length is asked too. */
const WITH_LENGTH = "cut";

export function Asked(props: { keys: [string, string] }): preact.JSX.Element | null {
  const [chief, other] = props.keys;
  const line = values.value[chief];
  const length = values.value[other];
  const standsLine = line?.typed ?? String(line?.value ?? "");
  const standsLength = length?.typed ?? length?.edit ?? length?.text ?? "";
  const [chosen, choose] = useState(standsLine);
  const [typed, type] = useState(standsLength);
  // Undo and other windows change what stands; what is half answered here is let go then.
  useEffect(() => choose(standsLine), [standsLine]);
  useEffect(() => type(standsLength), [standsLength]);
  if (line === undefined || length === undefined) return null;

  const send = (event: Event): void => {
    event.preventDefault();
    edit({ key: chief, text: chosen, beside: { [other]: chosen === WITH_LENGTH ? typed : "" } });
  };
  const refusal = refusals.value[chief];
  const wrong = refusal !== undefined;
  return (
    <form class="asked" onSubmit={send} aria-describedby={wrong ? `refused-${chief}` : undefined}>
      <fieldset>
        <legend class="unseen">{t("asked.line")}</legend>
        {line.choices?.map((choice) => (
          <label key={choice.value}>
            <input
              type="radio"
              name={chief}
              data-key={choice.value === (chosen || line.choices?.[0]?.value) ? chief : undefined}
              value={choice.value}
              checked={chosen === choice.value}
              onChange={() => choose(choice.value)}
            />
            {choice.text}
          </label>
        ))}
        <label class="length">
          {length.name}
          <input
            type="text"
            data-key={other}
            autocomplete="off"
            value={typed}
            disabled={chosen !== WITH_LENGTH}
            aria-invalid={wrong && chosen === WITH_LENGTH}
            onInput={(event) => type(event.currentTarget.value)}
          />
        </label>
      </fieldset>
      <button type="submit" class="plain">
        {t("asked.take")}
      </button>
      {refusal && (
        <p class="beside stop" role="alert" id={`refused-${chief}`}>
          <Mark level="stop" /> {refusal.says}
        </p>
      )}
    </form>
  );
}
