// The cloth: the lays as they are worked out in the background, the blocks to be cut rough and fused, what is left over.

import { signal } from "@preact/signals";
import { nextSeq, post, windowId } from "../api";
import type { Lay, Lays, Sheet } from "../contract";
import { Mark } from "../paper/Margin";
import { SquaredSheet } from "../paper/Sheet";
import { Eye } from "../paper/view";
import { inLine } from "../line";
import { lays, order } from "../store";
import { t } from "../texts";

const seconds = signal(20);
const chosen = signal(0);
const eye = new Eye();

function lay(): void {
  call("lays", { seconds: seconds.value, window: windowId, seq: nextSeq() });
}

function call(path: string, body: object): void {
  const id = order.peek()?.id;
  if (id === undefined) return;
  inLine(async () => {
    const answer = await post<{ lays: Lays }>(`/api/orders/${encodeURIComponent(id)}/${path}`, body);
    if (order.peek()?.id === id) lays.value = answer.lays;
  });
}

export function ClothLeft(_: { sheet: Sheet }): preact.JSX.Element {
  const now = lays.value;
  const working = now.state === "working";
  return (
    <section class="section laying">
      <h3>{t("cloth.lay")}</h3>
      <p>
        {t("cloth.take")}{" "}
        <select value={seconds.value} aria-label={t("cloth.seconds")} onChange={(e) => void (seconds.value = Number(e.currentTarget.value))}>
          {[5, 20, 60, 180].map((n) => (
            <option key={n} value={n}>
              {t(n < 60 ? "cloth.n_seconds" : n === 60 ? "cloth.minute" : "cloth.n_minutes", { n: n < 60 ? n : n / 60 })}
            </option>
          ))}
        </select>{" "}
        <button type="button" class="sewn" onClick={lay}>
          {t(now.state === "none" ? "cloth.start" : "cloth.again")}
        </button>{" "}
        {working && (
          <button type="button" class="plain" onClick={() => call("lays/stop", {})}>
            {t("cloth.stop")}
          </button>
        )}
      </p>
      <div role="status">
        {working && <progress value={now.part ?? 0} max={1} aria-label={t("cloth.progress")} />}
        {now.says && <p class="says">{now.says}</p>}
        {now.stale && !working && <p class="beside warn"><Mark level="warn" /> {t("cloth.stale")}</p>}
      </div>
      {(now.findings ?? []).map((finding) => (
        <p key={finding.about + finding.says} class={`beside ${finding.level}`}>
          <Mark level={finding.level} /> <b>{finding.about}</b> {finding.says}
        </p>
      ))}
      {(now.blocks ?? []).length > 0 && <Blocks lays={now} />}
      <Offcuts lays={now} />
    </section>
  );
}

function Blocks(props: { lays: Lays }): preact.JSX.Element {
  return (
    <>
      <h4>{t("cloth.blocks")}</h4>
      <ul class="blocks">
        {(props.lays.blocks ?? []).map((block, n) => {
          const [x0, y0, x1, y1] = block.box;
          return (
            <li key={n}>
              <svg viewBox={`${x0} ${y0} ${x1 - x0} ${y1 - y0}`} aria-hidden="true">
                <path d={block.d} class="block" />
                {block.pieces.map((d) => (
                  <path key={d} d={d} class="cut" />
                ))}
              </svg>
              <span>
                <b>{block.text}</b> {block.says}
              </span>
            </li>
          );
        })}
      </ul>
    </>
  );
}

function Offcuts(props: { lays: Lays }): preact.JSX.Element | null {
  const kept = (props.lays.lays ?? []).filter((one) => one.offcuts.length > 0);
  if (kept.length === 0) return null;
  return (
    <>
      <h4>{t("cloth.offcuts")}</h4>
      <ul class="offcuts">
        {kept.map((one) => (
          <li key={one.id}>
            {t("cloth.offcuts_of", { cloth: one.called, offcuts: one.offcuts.map((o) => o.text).join(", ") })}
          </li>
        ))}
      </ul>
    </>
  );
}

export function ClothRight(_: { sheet: Sheet }): preact.JSX.Element {
  const now = lays.value;
  const all = now.lays ?? [];
  const at = Math.min(chosen.value, all.length - 1);
  const one = all[at];
  if (one === undefined) {
    return (
      <div class="work undrawn">
        <p>{now.state === "working" ? t("cloth.working") : t("cloth.none")}</p>
        {now.state !== "working" && (
          <button type="button" class="sewn" onClick={lay}>
            {t("cloth.start")}
          </button>
        )}
      </div>
    );
  }
  return (
    <div class={`work ${now.stale ? "stale" : ""}`}>
      <div class="tools">
        <fieldset class="pile">
          <legend>{t("cloth.which")}</legend>
          {all.map((lie, n) => (
            <label key={lie.id} class={n === at ? "top" : "under"}>
              <input type="radio" name="lay" checked={n === at} onChange={() => void (chosen.value = n)} />
              <span>{lie.called}</span>
            </label>
          ))}
        </fieldset>
      </div>
      <SquaredSheet eye={eye} box={one.box} what={`${one.id} ${one.box.join(" ")}`} label={t("cloth.label", { title: one.title })} square={10} clear={[24, 64, 24, 32]}
        beside={() => (
          <p class="lay-title">
            <b>{one.title}</b> {t("cloth.used", { used: one.used })} {one.folded && t("cloth.folded")} {one.buy && t("cloth.buy", { buy: one.buy })}
          </p>
        )}
      >
        <OnCloth lay={one} />
      </SquaredSheet>
    </div>
  );
}

function OnCloth(props: { lay: Lay }): preact.JSX.Element {
  const [x0, y0, x1, y1] = props.lay.box;
  return (
    <g class="on-cloth">
      <rect x={x0} y={y0} width={x1 - x0} height={y1 - y0} class="cloth" />
      {props.lay.offcuts.map((left, n) => (
        <path key={n} d={left.d} class="offcut" />
      ))}
      {props.lay.pieces.map((piece, n) => (
        <g key={n}>
          <path d={piece.d} class="cut" />
          <text transform={`translate(${piece.at[0]} ${piece.at[1]}) rotate(${upright(piece.angle)})`} text-anchor="middle">
            {piece.text}
          </text>
        </g>
      ))}
    </g>
  );
}

/** An angle at which words do not stand on their head. */
function upright(angle: number): number {
  const turned = ((((angle + 90) % 180) + 180) % 180) - 90;
  return turned;
}
