// What the book knows of one person: her tapes over time; rename, take out, erase wholly.

import { useState } from "preact/hooks";
import { get, post } from "../api";
import type { Client, TapeTaken } from "../contract";
import { fetchSheet, openOrder } from "../queue";
import { order } from "../store";
import { t } from "../texts";
import { useTold } from "../told";
import type { Order } from "../contract";
import { Tapes } from "./Tapes";
import { tried } from "./tried";

interface Props {
  client: Client;
  again: () => void;
  onGone: () => void;
  tell: (says: string) => void;
}

export function ClientCard(props: Props): preact.JSX.Element {
  const { client, again, onGone, tell } = props;
  const [label, setLabel] = useState(client.label);
  const [note, setNote] = useState(client.note ?? "");
  const [repeated, setRepeated] = useState("");
  const path = `/api/clients/${encodeURIComponent(client.id)}`;
  const [asked, setAsked] = useState(0);
  // The list of clients, which hears of every change, tells when a tape came, went or got another day.
  const told = useTold<{ tapes: TapeTaken[] }>(path, [asked, client.tapes, client.taken_on]);

  const save = (event: Event): void => {
    event.preventDefault();
    void tried(async () => {
      await post(path, { label, note });
      again();
      if (order.peek()?.client.id === client.id) fetchSheet();
    }, tell);
  };
  const erase = (): Promise<void> =>
    tried(async () => {
      const mine = order.peek()?.client.id === client.id;
      const said = await post<{ left?: string[]; mentions?: Order[] }>(`${path}/erase`, { label: repeated });
      onGone();
      const named = (said.mentions ?? []).map((one) => one.name);
      tell([...(said.left ?? []), ...(named.length > 0 ? [t("client.mentions", { orders: named.join(", ") })] : [])].join(" "));
      if (mine) {
        const left = await get<{ orders: Order[] }>("/api/orders?limit=1");
        if (left.orders[0]) openOrder(left.orders[0].id);
      }
    }, tell);

  return (
    <section class="client-card">
      <h3>{t("client.about", { client: client.label })}</h3>
      <form onSubmit={save}>
        <label>
          {t("client.label")} <input type="text" required value={label} onInput={(e) => setLabel(e.currentTarget.value)} />
        </label>
        <label>
          {t("client.note")} <input type="text" value={note} onInput={(e) => setNote(e.currentTarget.value)} />
        </label>
        <button type="submit" class="plain">
          {t("client.save")}
        </button>
      </form>
      {told && <Tapes client={client} tapes={told.tapes} again={() => { setAsked(asked + 1); again(); }} tell={tell} />}
      <p>
        <a href={`${path}/export`} download>
          {t("client.out")}
        </a>
      </p>
      <span class="erase">
        <label>
          {t("client.erase_label", { client: client.label })} <input type="text" value={repeated} onInput={(e) => setRepeated(e.currentTarget.value)} />
        </label>
        <button type="button" class="plain" disabled={repeated !== client.label} onClick={() => void erase()}>
          {t("client.erase")}
        </button>
      </span>
    </section>
  );
}
