// The money: what to cut and to buy, what it takes and what it costs, as tables on a bill.

import type { Sheet, Table } from "../contract";
import { Mark } from "../paper/Margin";
import { t } from "../texts";

export function MoneyRight(props: { sheet: Sheet }): preact.JSX.Element {
  const { price, materials, hours, buy, cut, fuse, bones, closing, thread, findings, refused } = props.sheet.spread ?? { id: "money" };
  const tables = [price, materials, hours, buy, cut, fuse, bones, closing, thread].filter((table): table is Table => !!table && table.rows.length > 0);
  return (
    <div class="work paper-card bill" tabIndex={0} role="group" aria-label={t("money.bill")}>
      {refused && <p class="beside stop">{refused}</p>}
      {(findings ?? []).map((finding) => (
        <p key={finding.about + finding.says} class={`beside ${finding.level}`}>
          <Mark level={finding.level} /> <b>{finding.about}</b> {finding.says}
        </p>
      ))}
      {tables.map((table) => (
        <Tabled key={table.title} table={table} />
      ))}
    </div>
  );
}

function Tabled(props: { table: Table }): preact.JSX.Element {
  const { title, head, rows, align, foot } = props.table;
  const side = (n: number): string => (align?.[n] === "right" ? "figure" : "");
  return (
    <table>
      <caption>{title}</caption>
      <thead>
        <tr>
          {head.map((text, n) => (
            <th key={n} scope="col" class={side(n)}>
              {text}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {rows.map((row, n) => (
          <tr key={n}>
            {row.map((cell, m) => (
              <td key={m} class={side(m)}>
                {cell}
              </td>
            ))}
          </tr>
        ))}
      </tbody>
      {foot && (
        <tfoot>
          <tr>
            {Array.isArray(foot) ? (
              foot.map((cell, m) => (
                <td key={m} class={side(m)}>
                  {cell}
                </td>
              ))
            ) : (
              <td colSpan={head.length}>{foot}</td>
            )}
          </tr>
        </tfoot>
      )}
    </table>
  );
}
