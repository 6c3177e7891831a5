// What an order says of tapes: from which one its readings are, and how they are kept as one.

import { useState } from "preact/hooks";
import type { Sheet } from "../contract";
import { post } from "../api";
import { day, today } from "../dates";
import { inLine } from "../queue";
import { notice } from "../store";
import { notADay, TapeDay } from "../shelf/Tapes";
import { t } from "../texts";

export function FromTape(props: { sheet: Sheet }): preact.JSX.Element | null {
  const { tape } = props.sheet;
  if (tape === null) return null;
  return (
    <p class="from-tape">
      {t("tape.from", { day: day(tape.taken_on) })}
      {tape.changed.length > 0 && ` ${t("tape.changed", { readings: tape.changed.join(", ") })}`}
      {!tape.kept && ` ${t("tape.gone")}`}
    </p>
  );
}

/** The readings of this order, kept as a tape of its client: tapes over time stand with the client on the shelf. */
export function KeepTape(props: { sheet: Sheet }): preact.JSX.Element {
  const { order } = props.sheet;
  const [taken, setTaken] = useState(today());
  const [note, setNote] = useState("");
  const [says, setSays] = useState("");
  const keep = (event: Event): void => {
    event.preventDefault();
    const wrong = notADay(taken);
    setSays(wrong);
    if (wrong !== "") return;
    inLine(async () => {
      await post(`/api/orders/${encodeURIComponent(order.id)}/tape`, { taken_on: taken, note });
      setNote("");
      notice.value = t("tape.kept", { client: order.client.label, day: day(taken) });
    });
  };
  return (
    <form class="section keep-tape" noValidate onSubmit={keep}>
      <TapeDay taken={taken} onTaken={setTaken} />
      <label>
        {t("tape.note")} <input type="text" maxLength={1000} value={note} onInput={(e) => setNote(e.currentTarget.value)} />
      </label>
      <button type="submit" class="plain">
        {t("tape.keep", { client: order.client.label })}
      </button>
      {says && <p class="beside stop" role="alert">{says}</p>}
    </form>
  );
}
