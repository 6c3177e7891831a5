// The order told in sentences: one spread's sections, folded ones closed until they are wanted.

import type { Run, Section, Sentence } from "../contract";
import { edit } from "../queue";
import { inHand, order, refusals, values } from "../store";
import { Mark } from "../paper/Margin";
import { t } from "../texts";
import { Asked } from "./Asked";
import { Field } from "./Field";

export function Sentences(props: { sections: Section[] }): preact.JSX.Element {
  return (
    <>
      {props.sections.map((section) =>
        section.folded ? (
          <details key={section.id} class="section">
            <summary>
              <h3>{section.title}</h3>
            </summary>
            <Body section={section} />
          </details>
        ) : (
          <section key={section.id} class="section">
            {section.title && <h3>{section.title}</h3>}
            <Body section={section} />
          </section>
        ),
      )}
    </>
  );
}

function Body(props: { section: Section }): preact.JSX.Element {
  return (
    <>
      {props.section.sentences.map((sentence) => (
        <Line key={sentence.id} sentence={sentence} />
      ))}
    </>
  );
}

function Line(props: { sentence: Sentence }): preact.JSX.Element {
  const { runs, actions } = props.sentence;
  const keys = runs.map((run) => run.value).filter((key): key is string => key !== undefined);
  const here = keys.includes(inHand.value ?? "");
  return (
    <div class={`sentence ${here ? "here" : ""}`}>
      <p>{spoken(runs)}</p>
      {keys.map((key, n) => (
        <Beside key={key} name={key} said={keys.slice(0, n).map((one) => values.value[one]?.remark?.says ?? "")} />
      ))}
      {props.sentence.asks && <Asked key={order.value?.id} keys={props.sentence.asks} />}
      {actions?.map((action) => (
        <button key={action.text} type="button" class="quiet" onClick={() => edit(action.edit)}>
          {action.text}
        </button>
      ))}
    </div>
  );
}

/** Marks that must not be parted from the value before them by a new line. */
const CLINGS = /^[.,;:!?)%]+/;

function spoken(runs: Run[]): preact.JSX.Element[] {
  const out: preact.JSX.Element[] = [];
  for (let n = 0; n < runs.length; n += 1) {
    const run = runs[n];
    if (run?.value !== undefined) {
      const value = values.value[run.value];
      if (value === undefined) continue;
      const after = runs[n + 1]?.text ?? "";
      const clings = CLINGS.exec(after)?.[0] ?? "";
      out.push(
        <span key={run.value} class="together">
          <Field value={value} />
          {clings}
        </span>,
      );
    } else {
      const text = run?.text ?? "";
      out.push(<span key={n}>{runs[n - 1]?.value === undefined ? text : text.replace(CLINGS, "")}</span>);
    }
  }
  return out;
}

/** What is wrong with a value, or worth knowing, right below its sentence. */
function Beside(props: { name: string; said: string[] }): preact.JSX.Element | null {
  const refusal = refusals.value[props.name];
  const remark = values.value[props.name]?.remark;
  const name = values.value[props.name]?.name ?? props.name;
  if (refusal) {
    return (
      <p class="beside stop" id={`refused-${props.name}`}>
        <Mark level="stop" /> <b>{name}</b>: {refusal.says}
      </p>
    );
  }
  const typed = values.value[props.name]?.typed;
  if (typed !== undefined) {
    return (
      <p class="beside stop" id={`refused-${props.name}`}>
        <Mark level="stop" /> <b>{name}</b> {t("hand.unused", { typed })}
      </p>
    );
  }
  // What two values of a sentence have in common is said once.
  if (remark && !props.said.includes(remark.says)) {
    return (
      <p class={`beside ${remark.level}`}>
        <Mark level={remark.level} /> {remark.says}
      </p>
    );
  }
  return null;
}
