// The lesson: the same pattern by hand, a figure for each group of steps.

import type { LessonGroup, Sheet } from "../contract";
import { SquaredSheet } from "../paper/Sheet";
import { Eye } from "../paper/view";
import { WorkDrawing } from "../paper/WorkDrawing";
import { part } from "../store";
import { t } from "../texts";

const eye = new Eye();

function current(sheet: Sheet): { groups: LessonGroup[]; at: number; one: LessonGroup | undefined } {
  const groups = sheet.spread?.groups ?? [];
  const at = Math.max(0, Math.min(part.value, groups.length - 1));
  return { groups, at, one: groups[at] };
}

export function LessonLeft(props: { sheet: Sheet }): preact.JSX.Element | null {
  const { groups, at, one } = current(props.sheet);
  // A pattern that was brought in has no lesson: the sentence says so.
  if (groups.length === 0) return null;
  return (
    <section class="section lesson">
      <div class="group-pick">
        <button type="button" class="plain" disabled={at === 0} onClick={() => void (part.value = at - 1)}>
          {t("lesson.before")}
        </button>
        <select value={at} aria-label={t("lesson.part")} onChange={(e) => void (part.value = Number(e.currentTarget.value))}>
          {groups.map((g, n) => (
            <option key={g.title} value={n}>
              {g.title}
            </option>
          ))}
        </select>
        <button type="button" class="plain" disabled={at >= groups.length - 1} onClick={() => void (part.value = at + 1)}>
          {t("lesson.next")}
        </button>
      </div>
      {one && (
        <>
          <h3>{one.title}</h3>
          <ol class="steps-by-hand">
            {one.steps.map((step) => (
              <li key={step.number} value={step.number}>
                {step.says} {step.why && <span class="why">{step.why}</span>}
              </li>
            ))}
          </ol>
        </>
      )}
    </section>
  );
}

export function LessonRight(props: { sheet: Sheet }): preact.JSX.Element {
  const { at, one } = current(props.sheet);
  const figure = one?.figure;
  // Sums draw nothing: the work itself lies there then.
  if (!one || !figure) return <WorkDrawing />;
  return (
    <div class="work">
      <SquaredSheet eye={eye} box={figure.box} what={`${props.sheet.order.id} ${at}`} label={t("lesson.figure", { title: one.title })} square={10} clear={[48, 40, 48, 40]}>
        <g class="lesson-figure">
          {figure.light.map((d) => (
            <path key={d} d={d} class="before" />
          ))}
          {figure.strong.map((d) => (
            <path key={d} d={d} class="drawn" />
          ))}
          {figure.points.map((point) => (
            <g key={point.name} class={point.before ? "earlier" : undefined} transform={`translate(${point.at[0]} ${point.at[1]})`}>
              <circle class="spot" />
              <text>{point.name}</text>
            </g>
          ))}
        </g>
      </SquaredSheet>
    </div>
  );
}
