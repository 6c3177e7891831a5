// A new order: what it is called, whom it is for, and what it will begin with, said before it is begun.

import { useState } from "preact/hooks";
import { post } from "../api";
import type { Client, Order, TapeInOrder } from "../contract";
import { day } from "../dates";
import { openOrder } from "../queue";
import { notice } from "../store";
import { t } from "../texts";
import { ClientPick, wanted } from "./ClientPick";
import type { Picked, Wanted } from "./ClientPick";
import { tried } from "./tried";

interface Props {
  /** The client that is chosen on the shelf: the order is for her unless another is chosen here. */
  client: Client | undefined;
  clients: Client[];
  tell: (says: string) => void;
}

export function NewOrder(props: Props): preact.JSX.Element {
  const { client, clients, tell } = props;
  const [name, setName] = useState("");
  const [text, setText] = useState(client?.label ?? "");
  const [picked, setPicked] = useState<Picked>(client ?? null);
  // As the book knows her now: a tape may have been kept since she was chosen.
  const now = picked === null || picked === "new" ? picked : (clients.find((one) => one.id === picked.id) ?? null);
  const whom = wanted(clients, text, now);

  const start = (event: Event): void => {
    event.preventDefault();
    if (whom.kind === "which") return tell(told(whom));
    void tried(async () => {
      const who = whom.kind === "known" ? { client: whom.client.id } : whom.kind === "new" ? { client: { label: whom.label } } : {};
      const said = await post<{ order: Order; tape: TapeInOrder | null }>("/api/orders", { name, ...who });
      openOrder(said.order.id);
      if (said.tape !== null) notice.value = t("pick.begun", { day: day(said.tape.taken_on) });
    }, tell);
  };
  return (
    <form class="new new-order" onSubmit={start}>
      <label>
        {t("shelf.new")} <input type="text" required value={name} onInput={(e) => setName(e.currentTarget.value)} />
      </label>
      <label>
        {t("shelf.new_for")}{" "}
        <ClientPick
          clients={clients}
          text={text}
          picked={now}
          hint="new-order-hint"
          onPick={(typed, one) => {
            setText(typed);
            setPicked(one);
          }}
        />
      </label>
      <p id="new-order-hint" class="small" role="status">
        {told(whom)}
      </p>
      <button type="submit" class="sewn">
        {t(whom.kind === "new" ? "shelf.start_new" : "shelf.start")}
      </button>
    </form>
  );
}

/** What beginning the order will do. */
function told(whom: Wanted): string {
  switch (whom.kind) {
    case "nobody":
      return t("pick.nobody");
    case "which":
      return t("pick.which", { count: whom.count });
    case "new":
      return t(whom.namesakes > 0 ? "pick.namesake" : "pick.made", { label: whom.label });
    case "known": {
      const { label, taken_on } = whom.client;
      return taken_on ? t("pick.with", { day: day(taken_on), client: label }) : t("pick.without", { client: label });
    }
  }
}
