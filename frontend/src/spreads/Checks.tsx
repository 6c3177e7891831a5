// The checks: every seam walked, the levels summed, and the cup as it will stand.

import { signal } from "@preact/signals";
import type { Cup, Finding, Sheet, Walk } from "../contract";
import { Mark, Note } from "../paper/Margin";
import { useRoomy } from "../paper/roomy";
import { WorkDrawing } from "../paper/WorkDrawing";
import { pointedAt, stretches } from "../store";
import { t } from "../texts";

export function ChecksLeft(props: { sheet: Sheet }): preact.JSX.Element {
  const { sheet } = props;
  const girths = sheet.spread?.girths;
  return (
    <>
      <Listed title={t("checks.findings")} findings={sheet.findings.filter((f) => f.level !== "note")} />
      <section class="section">
        <h3>{t("checks.walk")}</h3>
        <div class="wide" tabIndex={0} role="group" aria-label={t("checks.walk")}>
          <Walked rows={sheet.walk} />
        </div>
      </section>
      {girths && (
        <section class="section">
          <h3>{t("checks.girths")}</h3>
          <div class="wide" tabIndex={0} role="group" aria-label={t("checks.girths")}>
            <table>
              <thead>
                <tr>
                  {girths.head.map((head) => (
                    <th key={head} scope="col">
                      {head}
                    </th>
                  ))}
                </tr>
              </thead>
              <tbody>
                {girths.rows.map((row) => (
                  <tr key={row[0]}>
                    {row.map((cell, n) => (n === 0 ? <th key={n} scope="row">{cell}</th> : <td key={n} class="figure">{cell}</td>))}
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
        </section>
      )}
      <Listed title={t("checks.notes")} findings={sheet.findings.filter((f) => f.level === "note")} />
    </>
  );
}

function Listed(props: { title: string; findings: Finding[] }): preact.JSX.Element | null {
  if (props.findings.length === 0) return null;
  return (
    <section class="section">
      <h3>{props.title}</h3>
      <div class="listed">
        {props.findings.map((finding) => (
          <Note key={finding.id} finding={finding} />
        ))}
      </div>
    </section>
  );
}

const walked = signal(-1);

/** The rows of the walk; the one with focus shows its two stretches of edge on the drawing. */
function Walked(props: { rows: Walk[] }): preact.JSX.Element {
  const show = (row: Walk, n: number): void => {
    walked.value = n;
    pointedAt.value = [];
    stretches.value = [row.a_d, row.b_d];
  };
  const hide = (): void => {
    walked.value = -1;
    stretches.value = [];
  };
  return (
    <table class="walk">
      <thead>
        <tr>
          <th scope="col">{t("checks.stretch")}</th>
          <th scope="col" class="figure">{t("checks.one")}</th>
          <th scope="col" class="figure">{t("checks.other")}</th>
          <th scope="col" class="figure">{t("checks.apart")}</th>
        </tr>
      </thead>
      {seams(props.rows).map((seam) => (
        <tbody key={seam.name}>
          <tr class="first">
            <th colSpan={4} scope="rowgroup">
              {seam.name}
            </th>
          </tr>
          {seam.rows.map(({ row, n }) => (
            <tr key={n} class={walked.value === n ? "here" : ""} onPointerEnter={() => show(row, n)} onPointerLeave={hide}>
              <td>
                <button type="button" class="quiet row" onFocus={() => show(row, n)} onBlur={hide} onClick={() => show(row, n)} aria-description={t("checks.show", { seam: row.seam, from: row.from, to: row.to })}>
                  {t("checks.from_to", { from: row.from, to: row.to })}
                </button>
              </td>
              <td class="figure">{row.a}</td>
              <td class="figure">{row.b}</td>
              <td class="figure">
                {row.difference} <Mark level={row.level} />
                <span class="unseen">{t(`level.${row.level}`)}</span>
              </td>
            </tr>
          ))}
        </tbody>
      ))}
    </table>
  );
}

/** The rows under the seam that they belong to, each with its number. */
function seams(rows: Walk[]): { name: string; rows: { row: Walk; n: number }[] }[] {
  const out: { name: string; rows: { row: Walk; n: number }[] }[] = [];
  rows.forEach((row, n) => {
    const name = row.side === "both" ? row.seam : `${row.seam}, ${row.side}`;
    const last = out[out.length - 1];
    if (last?.name === name) last.rows.push({ row, n });
    else out.push({ name, rows: [{ row, n }] });
  });
  return out;
}

/** Pixels that the cup's slip takes at the head of the paper. */
const SLIP = 132;
const SMALL_SLIP = 112;

export function ChecksRight(props: { sheet: Sheet }): preact.JSX.Element {
  return (
    <WorkDrawing top={props.sheet.cups.length > 0 ? (useRoomy() ? SLIP : SMALL_SLIP) : 0}>
      {props.sheet.cups.length > 0 && (
        <div class="slip gauge">
          {props.sheet.cups.map((cup) => (
            <Gauge key={cup.side} cup={cup} />
          ))}
        </div>
      )}
    </WorkDrawing>
  );
}

function Gauge(props: { cup: Cup }): preact.JSX.Element {
  const { cup } = props;
  const [x0, y0, x1, y1] = cup.profile.box;
  return (
    <figure>
      <figcaption>{cup.side === "both" ? t("checks.cup") : t(`checks.cup_${cup.side}`)}</figcaption>
      <svg viewBox={`${x0} ${y0} ${x1 - x0} ${y1 - y0}`} role="img" aria-label={t("checks.profile")}>
        <path d={cup.profile.d} class="dome" />
        <path d={cup.profile.base} class="base" />
        <path d={cup.profile.depth} class="depth" />
      </svg>
      <dl>
        <div><dt>{t("checks.depth")}</dt><dd>{cup.depth.text} <small>{cup.depth.also}</small></dd></div>
        <div><dt>{t("checks.base")}</dt><dd>{cup.base.text} <small>{cup.base.also}</small></dd></div>
        <div><dt>{t("checks.volume")}</dt><dd>{cup.volume.text}</dd></div>
      </dl>
    </figure>
  );
}
