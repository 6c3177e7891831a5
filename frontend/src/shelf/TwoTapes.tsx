// Two tapes side by side: what each said, and what is more or less by the later one. It prints by itself.

import { useState } from "preact/hooks";
import type { Client, TapesBeside, TapeTaken } from "../contract";
import { day } from "../dates";
import { settings } from "../store";
import { t } from "../texts";
import { useTold } from "../told";

export function TwoTapes(props: { client: Client; tapes: TapeTaken[] }): preact.JSX.Element {
  const { client, tapes } = props;
  const [one, setOne] = useState(tapes[1]?.id ?? "");
  const [other, setOther] = useState(tapes[0]?.id ?? "");
  const path = one === other ? null : `/api/tapes/${encodeURIComponent(one)}/beside/${encodeURIComponent(other)}`;
  const days = tapes.map((tape) => `${tape.taken_on} ${tape.note}`).join(" ");
  const told = useTold<TapesBeside>(path, [settings.value.unit, days]);
  return (
    <section class="two-tapes" aria-labelledby="two-tapes-title">
      <h4 id="two-tapes-title">{t("tapes.beside_of", { client: client.label })}</h4>
      <p class="choose">
        <Which says={t("tapes.one")} tapes={tapes} at={one} onPick={setOne} />
        <Which says={t("tapes.other")} tapes={tapes} at={other} onPick={setOther} />
        <button type="button" class="plain" disabled={path === null} onClick={() => window.print()}>
          {t("tapes.print")}
        </button>
      </p>
      {path === null && <p role="status">{t("tapes.same")}</p>}
      {path !== null && told && <Table told={told} />}
    </section>
  );
}

function Which(props: { says: string; tapes: TapeTaken[]; at: string; onPick: (id: string) => void }): preact.JSX.Element {
  return (
    <label>
      {props.says}{" "}
      <select value={props.at} onChange={(e) => props.onPick(e.currentTarget.value)}>
        {props.tapes.map((tape) => (
          <option key={tape.id} value={tape.id}>
            {tape.note ? t("tapes.noted", { day: day(tape.taken_on), note: tape.note }) : day(tape.taken_on)}
          </option>
        ))}
      </select>
    </label>
  );
}

function Table(props: { told: TapesBeside }): preact.JSX.Element {
  const { tapes, rows } = props.told;
  const changed = rows.filter((row) => row.change !== "same").length;
  return (
    <>
      <p role="status">{t("tapes.changed", { changed, all: rows.length })}</p>
      <div class="wide" tabIndex={0} role="group" aria-labelledby="two-tapes-title">
        <table>
          <thead>
            <tr>
              <th scope="col">{t("tapes.reading")}</th>
              {tapes.map((tape) => (
                <th key={tape.id} scope="col" class="figure">
                  {day(tape.taken_on)}
                  {tape.note && <small>{tape.note}</small>}
                </th>
              ))}
              <th scope="col" class="figure">
                {t("tapes.difference")}
              </th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.key} class={`is-${row.change}`}>
                <th scope="row">{row.name}</th>
                <td class="figure">{row.before}</td>
                <td class="figure">{row.after}</td>
                <td class="figure">{row.difference}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </>
  );
}
