// The tape: the drawing, and pinned upon it a slip that shows how the measurement in hand is taken.

import type { Figure, Sheet } from "../contract";
import { inHand } from "../store";
import { t } from "../texts";
import { useRoomy } from "../paper/roomy";
import { WorkDrawing } from "../paper/WorkDrawing";
import { useRef } from "preact/hooks";

/** Pixels that the slip takes at the head of the paper. */
const SLIP = 216;
const SMALL_SLIP = 144;

export function TapeRight(props: { sheet: Sheet }): preact.JSX.Element {
  const { sheet } = props;
  const figures = sheet.spread?.figures ?? {};
  // The slip stays on the last measurement, so that she can look up from the field.
  const last = useRef<string | null>(null);
  const named = sheet.values[inHand.value ?? ""]?.figure;
  if (named !== undefined && named in figures) last.current = named;
  const shown = last.current ?? firstOf(sheet);
  const figure = shown === undefined ? undefined : figures[shown];
  return <WorkDrawing top={useRoomy() ? SLIP : SMALL_SLIP}>{figure && <Slip figure={figure} />}</WorkDrawing>;
}

/** The figure of the first measurement in the sentences. */
function firstOf(sheet: Sheet): string | undefined {
  const told = sheet.spreads.find((s) => s.id === "tape")?.sections ?? [];
  for (const section of told) {
    for (const run of section.sentences.flatMap((sentence) => sentence.runs)) {
      const named = sheet.values[run.value ?? ""]?.figure;
      if (named !== undefined) return named;
    }
  }
  return undefined;
}

function Slip(props: { figure: Figure }): preact.JSX.Element {
  const { figure } = props;
  const [x0, y0, x1, y1] = figure.box;
  return (
    <figure class="slip taken">
      <svg viewBox={`${x0} ${y0} ${x1 - x0} ${y1 - y0}`} role="img" aria-label={t("tape.figure", { name: figure.text })}>
        {figure.body.map((d) => (
          <path key={d} d={d} class="body" />
        ))}
        <path d={figure.tape} class="tape-edge" />
        <path d={figure.tape} class="tape-line" />
        {figure.dots.map(([x, y]) => (
          <circle key={`${x} ${y}`} cx={x} cy={y} r={(x1 - x0) / 70} class="dot" />
        ))}
      </svg>
      <figcaption>
        <b>{figure.text}</b>
        <span>{figure.how}</span>
        {figure.standard && <small>{figure.standard}</small>}
      </figcaption>
    </figure>
  );
}
