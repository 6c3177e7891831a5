// The shelf: all orders and the people they are for. Find one, start one, copy one, put one away.

import { useState } from "preact/hooks";
import { get, post, upload } from "../api";
import type { Client, Order } from "../contract";
import { bookChanged } from "../events";
import { fetchSheet, openOrder } from "../queue";
import { card, dialog, notice, order, session } from "../store";
import { t } from "../texts";
import { useTold } from "../told";
import { day, when } from "../dates";
import { ClientCard } from "./ClientCard";
import { NewOrder } from "./NewOrder";
import { tried } from "./tried";

/** Milliseconds of rest in the search field before the book is asked. */
const REST = 120;
const PAGE = 50;

export function Shelf(): preact.JSX.Element {
  const [find, setFind] = useState("");
  const client = card.value;
  const setClient = (id: string | null): void => void (card.value = id);
  const [limit, setLimit] = useState(PAGE);
  const [asked, setAsked] = useState(0);
  const [says, setSays] = useState("");
  const again = (): void => setAsked((n) => n + 1);

  const query = new URLSearchParams({ find, limit: String(limit), ...(client === null ? {} : { client }) });
  const anew = [asked, bookChanged.value];
  const found = useTold<{ orders: Order[]; total: number }>(`/api/orders?${query}`, anew, find === "" ? 0 : REST);
  const { orders, total } = found ?? { orders: [], total: 0 };
  const clients = useTold<{ clients: Client[] }>("/api/clients?find=", anew)?.clients ?? [];

  const chosen = clients.find((c) => c.id === client);
  return (
    <div class="shelf">
      <div class="people">
        <h3>{t("shelf.clients")}</h3>
        <ul>
          <li>
            <button type="button" class="quiet" aria-pressed={client === null} onClick={() => setClient(null)}>
              {t("shelf.everyone")}
            </button>
          </li>
          {clients.map((one) => (
            <li key={one.id}>
              <button type="button" class="quiet" aria-pressed={client === one.id} onClick={() => setClient(one.id)}>
                {one.label || t("shelf.unnamed")} <small>{one.orders ?? ""}</small>
              </button>
            </li>
          ))}
        </ul>
        <NewClient onMade={(made) => { again(); setClient(made.id); }} tell={setSays} />
      </div>
      <div class="orders">
        <label class="find">
          <span>{t("shelf.find")}</span>
          <input type="search" value={find} autofocus onInput={(e) => setFind(e.currentTarget.value)} />
        </label>
        <p class="small" role="status">
          {found === null ? "" : total === 0 ? t("shelf.nothing") : t(total === 1 ? "shelf.one" : "shelf.many", { count: total })}
        </p>
        {says && <p class="beside told" role="alert">{says}</p>}
        <ul class="order-list">
          {orders.map((one) => (
            <OrderRow key={one.id} one={one} clients={clients} again={again} tell={setSays} />
          ))}
        </ul>
        {total > orders.length && (
          <button type="button" class="plain" onClick={() => setLimit(limit + PAGE)}>
            {t("shelf.more")}
          </button>
        )}
        <NewOrder key={client ?? ""} client={chosen} clients={clients} tell={setSays} />
        {chosen && <ClientCard key={chosen.id} client={chosen} again={again} onGone={() => { setClient(null); again(); }} tell={setSays} />}
        <Book tell={setSays} again={again} />
      </div>
    </div>
  );
}

interface RowProps {
  one: Order;
  clients: Client[];
  again: () => void;
  tell: (says: string) => void;
}

function OrderRow(props: RowProps): preact.JSX.Element {
  const { one, clients, again, tell } = props;
  const [open, setOpen] = useState(false);
  const here = order.value?.id === one.id;
  const about = (wish: object): Promise<void> =>
    tried(async () => {
      await post(`/api/orders/${encodeURIComponent(one.id)}/about`, wish);
      again();
      if (here) fetchSheet();
    }, tell);
  return (
    <li class={here ? "now" : ""}>
      <div class="line">
        <button type="button" class="name" onClick={() => openOrder(one.id)}>
          {one.name || t("shelf.unnamed")}
          <small>{t("head.for", { client: one.client.label || t("shelf.unnamed") })}</small>
        </button>
        <span class="dates">
          {one.due && <b>{t("head.due", { due: day(one.due) })}</b>}
          <small>{t("shelf.changed", { when: when(one.changed) })}</small>
        </span>
        <button type="button" class="plain" aria-expanded={open} aria-label={t("shelf.more_about", { name: one.name })} onClick={() => setOpen(!open)}>
          {t("shelf.about")}
        </button>
      </div>
      {open && (
        <div class="about">
          <label>
            {t("shelf.due")} <input type="date" value={one.due ?? ""} onChange={(e) => void about({ due: e.currentTarget.value || null })} />
          </label>
          <CopyTo one={one} clients={clients} tell={tell} />
          <EraseOrder one={one} again={again} tell={tell} />
        </div>
      )}
    </li>
  );
}

function CopyTo(props: { one: Order; clients: Client[]; tell: (says: string) => void }): preact.JSX.Element {
  const { one, clients, tell } = props;
  const [to, setTo] = useState(one.client.id);
  const [keep, setKeep] = useState(false);
  const copy = (): Promise<void> =>
    tried(async () => {
      const said = await post<{ order: Order }>(`/api/orders/${encodeURIComponent(one.id)}/copy`, { client: to, keep_body: keep });
      openOrder(said.order.id);
    }, tell);
  return (
    <span class="copy">
      <label>
        {t("shelf.copy_to")}{" "}
        <select value={to} onChange={(e) => setTo(e.currentTarget.value)}>
          {clients.map((c) => (
            <option key={c.id} value={c.id}>
              {c.label || t("shelf.unnamed")}
            </option>
          ))}
        </select>
      </label>
      {to !== one.client.id && (
        <label>
          <input type="checkbox" checked={keep} onChange={(e) => setKeep(e.currentTarget.checked)} /> {t("shelf.keep_body", { client: one.client.label || t("shelf.unnamed") })}
        </label>
      )}
      <button type="button" class="plain" onClick={() => void copy()}>
        {t("shelf.copy")}
      </button>
    </span>
  );
}

function EraseOrder(props: { one: Order; again: () => void; tell: (says: string) => void }): preact.JSX.Element {
  const { one, again, tell } = props;
  const [name, setName] = useState("");
  const erase = (): Promise<void> =>
    tried(async () => {
      await post(`/api/orders/${encodeURIComponent(one.id)}/erase`, { name });
      again();
      if (order.peek()?.id === one.id) {
        const left = await get<{ orders: Order[] }>("/api/orders?limit=1");
        if (left.orders[0]) openOrder(left.orders[0].id);
      }
    }, tell);
  return (
    <span class="erase">
      <label>
        {t("shelf.erase_name", { name: one.name })} <input type="text" value={name} onInput={(e) => setName(e.currentTarget.value)} />
      </label>
      <button type="button" class="plain" disabled={name !== one.name} onClick={() => void erase()}>
        {t("shelf.erase")}
      </button>
    </span>
  );
}

function NewClient(props: { onMade: (client: Client) => void; tell: (says: string) => void }): preact.JSX.Element {
  const [label, setLabel] = useState("");
  const make = (event: Event): void => {
    event.preventDefault();
    void tried(async () => {
      const said = await post<{ client: Client }>("/api/clients", { label, note: "" });
      setLabel("");
      props.onMade(said.client);
    }, props.tell);
  };
  return (
    <form class="new" onSubmit={make}>
      <label>
        {t("shelf.new_client")} <input type="text" required value={label} onInput={(e) => setLabel(e.currentTarget.value)} />
      </label>
      <button type="submit" class="plain">
        {t("shelf.add_client")}
      </button>
    </form>
  );
}

/** The whole book: out as one file, in from one, an order from its file, and what happens to measurements. */
function Book(props: { tell: (says: string) => void; again: () => void }): preact.JSX.Element {
  const readBook = (event: { currentTarget: HTMLInputElement }): void => {
    const file = event.currentTarget.files?.[0];
    event.currentTarget.value = "";
    if (file === undefined) return;
    void tried(async () => {
      const said = await upload<{ orders: number; clients: number }>("/api/book/import", "application/octet-stream", file);
      notice.value = t("shelf.book_read", { orders: said.orders, clients: said.clients });
      props.tell(notice.value);
      props.again();
    }, props.tell);
  };
  const readOrder = (event: { currentTarget: HTMLInputElement }): void => {
    const files = [...(event.currentTarget.files ?? [])];
    event.currentTarget.value = "";
    if (files.length === 0) return;
    void tried(async () => {
      const read = await Promise.all(files.map(async (file) => ({ name: file.name, data: await base64(file) })));
      openOrder((await post<{ order: Order }>("/api/orders/import", { files: read })).order.id);
    }, props.tell);
  };
  return (
    <div class="whole-book">
      <h3>{t("shelf.book")}</h3>
      <label class="file-in">
        <span>{t("shelf.order_in")}</span>
        <input type="file" multiple accept=".toml,.svg,.dxf" onChange={readOrder} />
      </label>
      <label class="file-in">
        <span>{t("shelf.book_in")}</span>
        <input type="file" onChange={readBook} />
      </label>
      <p>
        <a href="/api/book/export" download>
          {t("shelf.book_out")}
        </a>{" "}
        <button type="button" class="quiet" onClick={() => void (dialog.value = "privacy")}>
          {t("privacy.open")}
        </button>{" "}
        <small>{t("shelf.made_by", { version: session.value?.coutil ?? "" })}</small>
      </p>
    </div>
  );
}

/** The bytes of a file in base64, as JSON carries them. */
async function base64(file: File): Promise<string> {
  const bytes = new Uint8Array(await file.arrayBuffer());
  let text = "";
  // In parts: a function takes only so many arguments.
  for (let k = 0; k < bytes.length; k += 0x8000) text += String.fromCharCode(...bytes.subarray(k, k + 0x8000));
  return btoa(text);
}
