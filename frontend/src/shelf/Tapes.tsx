// The tapes of one client: all of them over time, each with its day and note, any two side by side.

import { useState } from "preact/hooks";
import { post } from "../api";
import type { Client, Order, TapeTaken } from "../contract";
import { day, today } from "../dates";
import { fetchSheet, useTape } from "../queue";
import { dialog, order } from "../store";
import { t } from "../texts";
import { tried } from "./tried";
import { TwoTapes } from "./TwoTapes";

interface Props {
  client: Client;
  tapes: TapeTaken[];
  again: () => void;
  tell: (says: string) => void;
}

export function Tapes(props: Props): preact.JSX.Element | null {
  const { client, tapes } = props;
  const [beside, setBeside] = useState(false);
  if (tapes.length === 0) return <p>{t("tapes.none", { client: client.label })}</p>;
  return (
    <>
      <OverTime client={client} tapes={tapes} />
      <ul class="tapes" aria-label={t("tapes.list")}>
        {tapes.map((tape) => (
          <OneTape key={tape.id} tape={tape} again={props.again} tell={props.tell} />
        ))}
      </ul>
      {tapes.length > 1 && (
        <>
          <p>
            <button type="button" class="plain" aria-expanded={beside} onClick={() => setBeside(!beside)}>
              {t("tapes.beside")}
            </button>
          </p>
          {beside && <TwoTapes key={tapes.map((tape) => tape.id).join(" ")} client={client} tapes={tapes} />}
        </>
      )}
    </>
  );
}

function OverTime(props: { client: Client; tapes: TapeTaken[] }): preact.JSX.Element {
  const { client, tapes } = props;
  const keys = [...new Map(tapes.flatMap((tape) => tape.measurements.map((m) => [m.key, m.name] as const)))];
  return (
    <div class="wide" tabIndex={0} role="group" aria-label={t("client.tapes")}>
      <table>
        <caption>{t("client.tapes")}</caption>
        <thead>
          <tr>
            <td />
            {tapes.map((tape) => (
              <th key={tape.id} scope="col" class="figure">
                {day(tape.taken_on)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {keys.map(([key, name]) => (
            <tr key={key}>
              <th scope="row">{name}</th>
              {tapes.map((tape) => (
                <td key={tape.id} class="figure">
                  {tape.measurements.find((m) => m.key === key)?.text ?? ""}
                </td>
              ))}
            </tr>
          ))}
          {order.value?.client.id === client.id && (
            <tr>
              <th scope="row">{t("client.into", { order: order.value.name })}</th>
              {tapes.map((tape) => (
                <td key={tape.id} class="figure">
                  <button
                    type="button"
                    class="plain"
                    aria-description={day(tape.taken_on)}
                    onClick={() => {
                      useTape(tape.id);
                      dialog.value = null;
                    }}
                  >
                    {t("client.use")}
                  </button>
                </td>
              ))}
            </tr>
          )}
        </tbody>
      </table>
    </div>
  );
}

function OneTape(props: { tape: TapeTaken; again: () => void; tell: (says: string) => void }): preact.JSX.Element {
  const { tape, again, tell } = props;
  const [open, setOpen] = useState(false);
  const [asking, setAsking] = useState(false);
  const [taken, setTaken] = useState(tape.taken_on);
  const [note, setNote] = useState(tape.note);
  const path = `/api/tapes/${encodeURIComponent(tape.id)}`;
  const of = day(tape.taken_on);

  /** The open order may say another day of its tape now, or that it is gone. */
  const after = (orders: Order[]): void => {
    again();
    if (orders.some((one) => one.id === order.peek()?.id)) fetchSheet();
  };
  const save = (event: Event): void => {
    event.preventDefault();
    const wrong = notADay(taken);
    if (wrong !== "") return tell(wrong);
    void tried(async () => {
      const said = await post<{ tape: TapeTaken }>(path, { taken_on: taken, note });
      setOpen(false);
      after(said.tape.orders);
    }, tell);
  };
  const erase = (): void =>
    void tried(async () => {
      const said = await post<{ orders: Order[]; left: string[] }>(`${path}/erase`, { taken_on: tape.taken_on });
      after(said.orders);
      tell([t("tapes.erased", { day: of }), ...said.left].join(" "));
    }, tell);

  return (
    <li>
      <span class="line">
        <b>{of}</b> <span>{tape.note}</span>
        <button type="button" class="plain" aria-expanded={open} aria-label={t("tapes.more_about", { day: of })} onClick={() => setOpen(!open)}>
          {t("shelf.about")}
        </button>
      </span>
      {open && (
        <div class="about">
          <form class="new" noValidate onSubmit={save}>
            <TapeDay taken={taken} onTaken={setTaken} />
            <label>
              {t("tape.note")} <input type="text" maxLength={1000} value={note} onInput={(e) => setNote(e.currentTarget.value)} />
            </label>
            <button type="submit" class="plain">
              {t("client.save")}
            </button>
          </form>
          {asking ? (
            <div role="group" aria-label={t("tapes.erase", { day: of })}>
              <p role="alert">{[t("tapes.ask", { day: of, count: tape.measurements.length }), held(tape.orders)].join(" ")}</p>
              <button type="button" class="plain" onClick={erase}>
                {t("tapes.erase_now")}
              </button>{" "}
              <button type="button" class="plain" onClick={() => setAsking(false)}>
                {t("tapes.leave")}
              </button>
            </div>
          ) : (
            <p>
              <button type="button" class="plain" onClick={() => setAsking(true)}>
                {t("tapes.erase", { day: of })}
              </button>
            </p>
          )}
        </div>
      )}
    </li>
  );
}

export function TapeDay(props: { taken: string; onTaken: (day: string) => void }): preact.JSX.Element {
  return (
    <label>
      {t("tape.day")} <input type="date" required max={today()} value={props.taken} onInput={(e) => props.onTaken(e.currentTarget.value)} />
    </label>
  );
}

/** Why this can be no tape's day, "" if it can. The server knows no more than that it is no later than anywhere on earth. */
export function notADay(taken: string): string {
  if (taken === "") return t("tape.no_day");
  return taken > today() ? t("tape.to_come", { day: day(taken) }) : "";
}

/** What stays of an erased tape in the orders that took it over. */
function held(orders: Order[]): string {
  if (orders.length === 0) return t("tapes.in_none");
  return t("tapes.in_orders", { orders: orders.map((one) => one.name || t("shelf.unnamed")).join(", ") });
}
