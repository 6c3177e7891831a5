// Whom a new order is for: typed, and chosen from the clients whose label holds what is typed. A combobox as WAI-ARIA
// describes it (an editable one with a list): arrows walk the list, Enter chooses, Escape closes it.

import { useEffect, useRef, useState } from "preact/hooks";
import type { Client } from "../contract";
import { day } from "../dates";
import { t } from "../texts";

/** Who stands in the field: a client of the book, a new one although others bear the label, or what is typed alone. */
export type Picked = Client | "new" | null;

export type Wanted =
  | { kind: "nobody" }
  | { kind: "known"; client: Client }
  | { kind: "new"; label: string; namesakes: number }
  | { kind: "which"; count: number };

/** Clients listed at once; a longer list is not read to its end but typed away. */
const MOST = 30;

function folded(text: string): string {
  return text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase().split(/\s+/).filter(Boolean).join(" ");
}

/** What an order begun now would be for. */
export function wanted(clients: Client[], text: string, picked: Picked): Wanted {
  const label = text.trim();
  if (picked !== null && picked !== "new") return { kind: "known", client: picked };
  if (label === "") return { kind: "nobody" };
  const namesakes = clients.filter((one) => folded(one.label) === folded(label));
  if (picked === "new" || namesakes.length === 0) return { kind: "new", label, namesakes: namesakes.length };
  const only = namesakes[0];
  return namesakes.length === 1 && only ? { kind: "known", client: only } : { kind: "which", count: namesakes.length };
}

/** What tells a client from another of the same label. */
function known(one: Client): string {
  const count = one.orders ?? 0;
  return [
    t(count === 1 ? "pick.order" : "pick.orders", { count }),
    one.taken_on ? t("pick.tape", { day: day(one.taken_on) }) : t("pick.no_tape"),
    ...(one.note ? [one.note] : []),
  ].join(", ");
}

interface Props {
  clients: Client[];
  text: string;
  picked: Picked;
  onPick: (text: string, picked: Picked) => void;
  hint: string;
}

export function ClientPick(props: Props): preact.JSX.Element {
  const { clients, text, picked, onPick, hint } = props;
  const [open, setOpen] = useState(false);
  const [at, setAt] = useState(-1);
  const list = useRef<HTMLUListElement>(null);

  // Someone who was chosen already is no search: whoever opens the list again sees all.
  const words = picked === null ? folded(text).split(" ") : [];
  const found = clients.filter((one) => one.label !== "" && words.every((word) => folded(one.label).includes(word)));
  const shown = found.slice(0, MOST);
  const label = text.trim();
  // The last row makes a new client, whoever else bears the label.
  const rows = shown.length + (label !== "" && picked === null ? 1 : 0);

  useEffect(() => {
    list.current?.children[Math.max(0, at)]?.scrollIntoView({ block: "nearest" });
  }, [open, at]);

  const show = (row: number): void => {
    setOpen(true);
    setAt(row);
  };
  const choose = (row: number): void => {
    const one = shown[row];
    if (one !== undefined) onPick(one.label, one);
    else if (row < rows) onPick(label, "new");
    setOpen(false);
    setAt(-1);
  };
  const onKey = (event: KeyboardEvent): void => {
    if (event.key === "ArrowDown") show(open ? (at + 1) % Math.max(1, rows) : Math.max(0, at));
    else if (event.key === "ArrowUp") show(open && at > 0 ? at - 1 : rows - 1);
    else if (event.key === "Enter" && open && at >= 0) choose(at);
    else if (event.key === "Escape" && open) setOpen(false);
    else return;
    event.preventDefault();
    event.stopPropagation();
  };

  return (
    <span class="client-pick">
      <input
        type="text"
        role="combobox"
        autocomplete="off"
        aria-label={t("pick.label")}
        aria-autocomplete="list"
        aria-expanded={open && rows > 0}
        aria-controls="clients-found"
        aria-activedescendant={open && at >= 0 && at < rows ? `client-row-${at}` : undefined}
        aria-describedby={hint}
        value={text}
        onInput={(e) => {
          onPick(e.currentTarget.value, null);
          show(-1);
        }}
        onClick={() => show(-1)}
        onKeyDown={onKey}
        onBlur={() => setOpen(false)}
      />
      {open && rows > 0 && (
        // The field keeps the focus: whoever takes a row with a finger may go on typing.
        <ul ref={list} id="clients-found" class="choices" role="listbox" aria-label={t("pick.list")} onPointerDown={(e) => e.preventDefault()} onMouseDown={(e) => e.preventDefault()}>
          {shown.map((one, row) => (
            <li key={one.id} id={`client-row-${row}`} role="option" aria-selected={picked !== null && picked !== "new" && picked.id === one.id} class={row === at ? "here" : ""} onClick={() => choose(row)}>
              {one.label} <small>{known(one)}</small>
            </li>
          ))}
          {rows > shown.length && (
            <li id={`client-row-${shown.length}`} role="option" aria-selected={false} class={shown.length === at ? "here" : ""} onClick={() => choose(shown.length)}>
              {t("pick.new", { label })}
              {found.length > shown.length && <small>{t("pick.more", { count: found.length - shown.length })}</small>}
            </li>
          )}
        </ul>
      )}
    </span>
  );
}
