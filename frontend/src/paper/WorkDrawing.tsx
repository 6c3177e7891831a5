// The work on squared paper: the panels side by side, their layers, what is lit, what can be moved, what was found.

import { useEffect, useMemo } from "preact/hooks";
import { bringToHand } from "../book/hand";
import type { At, Drawing, PanelDrawing } from "../contract";
import { lifted, lit, measured, order, pointedAt, sheet, spread, stretches } from "../store";
import { t } from "../texts";
import { Handles } from "./Handles";
import { Lines } from "./Lines";
import { Leaders, Margin } from "./Margin";
import { Panel, Textures } from "./Panel";
import { type Part, parts } from "./parts";
import { SquaredSheet } from "./Sheet";
import { useRoomy, useTall } from "./roomy";
import { Eye } from "./view";

/** One eye for all spreads: turning a page does not move the paper. */
const eye = new Eye();
/** Pixels at the foot of the paper that are kept for findings, so that nothing jumps when one appears. */
const MARGIN = 148;
const SMALL_MARGIN = 84;
/** Lengths closer than this on the screen, in pixels, would be written into each other. */
const CLEAR = 26;
/** The usual size of the panels' names and the least, in pixels. */
const NAMES = [16, 12] as const;
/** Width of a letter of a name, and depth of a name with its side below it, in parts of its size (measured on the page). */
const LETTER = 0.5;
const DEEP = 2.4;

/** `top`: pixels at the head of the paper that are kept for a slip. */
export function WorkDrawing(props: { children?: preact.ComponentChildren; top?: number }): preact.JSX.Element {
  const drawing = sheet.value?.drawing ?? null;
  const findings = sheet.value?.findings ?? [];
  const roomy = useRoomy();
  const tall = useTall();
  useEffect(() => () => void (pointedAt.value = []), []);
  if (drawing === null) return <Undrawn />;
  return (
    <div class="work">
      <Pile drawing={drawing} />
      <SquaredSheet
        eye={eye}
        box={drawing.box}
        what={`${order.value?.id ?? ""} ${props.top ?? 0}`}
        label={t("paper.label")}
        square={drawing.square}
        clear={[28, 28 + (props.top ?? 0), 28, roomy && tall ? MARGIN : SMALL_MARGIN]}
        onBlank={() => void (pointedAt.value = [])}
        over={() => <Leaders eye={eye} findings={findings} />}
        beside={(size) => (
          <>
            <Margin findings={findings} width={size.width} height={size.height} />
            {props.children}
          </>
        )}
      >
        <Textures />
        <Panels drawing={drawing} />
        <Names drawing={drawing} />
        <Lit />
        <Lines drawing={drawing} />
        <Measures />
        <Handles drawing={drawing} eye={eye} />
      </SquaredSheet>
    </div>
  );
}

/** Drawn again only with a new sheet or another pile of layers. */
function Panels(props: { drawing: Drawing }): preact.JSX.Element {
  const { drawing } = props;
  const off = Math.min(lifted.value, drawing.layers.length);
  const pads = spread.value === "pads";
  return useMemo(() => {
    const names = drawing.layers.slice(off).map((layer) => layer.layer);
    return (
      <g class="panels">
        {drawing.panels.map((panel) => (
          <Panel key={panel.id} panel={panel} layers={names} pads={pads} />
        ))}
      </g>
    );
  }, [drawing, off, pads]);
}

/** The panels' names below their hems: a narrow panel has no room for its own. Smaller where they would lie on each other;
 * one that still would is left out until the paper is brought nearer. */
function Names(props: { drawing: Drawing }): preact.JSX.Element {
  const { panels } = props.drawing;
  const { k } = eye.view.value;
  const room = (size: number): PanelDrawing[] => {
    const said: { at: At; wide: number }[] = [];
    return panels.filter((panel) => {
      const at: At = [((panel.box[0] + panel.box[2]) / 2) * k, panel.box[3] * k];
      const wide = panel.title.text.length * size * LETTER;
      const free = said.every(
        (other) => Math.abs(other.at[0] - at[0]) > (other.wide + wide) / 2 || Math.abs(other.at[1] - at[1]) > size * DEEP,
      );
      if (free) said.push({ at, wide });
      return free;
    });
  };
  const [usual, least] = NAMES;
  const all = room(usual);
  const size = all.length === panels.length ? usual : least;
  return (
    <g class="names" style={{ "--size": size }}>
      {(size === usual ? all : room(least)).map((panel) => (
        <g key={panel.id}>
          <text class="title" x={(panel.box[0] + panel.box[2]) / 2} y={panel.box[3]} text-anchor="middle">
            {panel.title.text}
          </text>
          {panel.title.sub && (
            <text class="title sub" x={(panel.box[0] + panel.box[2]) / 2} y={panel.box[3]} text-anchor="middle">
              {panel.title.sub}
            </text>
          )}
        </g>
      ))}
    </g>
  );
}

/** The lines that the value in hand governs, the chief ones strongest, or those that something points at. */
function Lit(): preact.JSX.Element {
  const all = parts.value;
  const ids = lit.value;
  return (
    <g class="lit" aria-hidden="true">
      {stretches.value.map((d, n) => (
        <path key={`s${n}`} d={d} class="chief" />
      ))}
      {ids.map((id, n) => {
        const part = all.get(id);
        if (part?.d) return <path key={id} d={part.d} class={n === 0 ? "chief" : ""} />;
        if (part?.at) return <circle key={id} cx={part.at[0]} cy={part.at[1]} class="spot" />;
        return null;
      })}
    </g>
  );
}

/** Lengths along edges and levels: all of them when asked, else those of the lines that are lit. */
function Measures(): preact.JSX.Element {
  const all = parts.value;
  const shown: Part[] = measured.value
    ? [...all.values()]
    : [...lit.value].map((id) => all.get(id)).filter((part): part is Part => part !== undefined);
  const { k } = eye.view.value;
  const said: At[] = [];
  const free = ([x, y]: At): boolean => said.every(([a, b]) => Math.hypot(a - x, b - y) * k > CLEAR);
  return (
    <g class="measures" aria-hidden="true">
      {shown.map((part) => {
        // Where two labels would lie on each other the first is written; the other is told nearer by, or when its line is pointed at.
        if (!part.label || !part.text || !free(part.label.at)) return null;
        said.push(part.label.at);
        return (
          <text
            key={part.id}
            transform={`translate(${part.label.at[0]} ${part.label.at[1]}) rotate(${part.label.angle})`}
            text-anchor="middle"
          >
            {part.text}
          </text>
        );
      })}
    </g>
  );
}

/** The pile of layers, from the outside in. Choosing one lifts off all that lie upon it. */
function Pile(props: { drawing: Drawing }): preact.JSX.Element {
  const { layers } = props.drawing;
  const on = Math.min(lifted.value, layers.length);
  return (
    <div class="tools">
      <fieldset class="pile">
        <legend>{t("paper.pile")}</legend>
        {[...layers.map((layer) => layer.text), t("paper.bare")].map((text, n) => (
          <label key={text} class={n < on ? "off" : n === on ? "top" : "under"}>
            <input type="radio" name="pile" checked={n === on} onChange={() => void (lifted.value = n)} />
            <span>{text}</span>
          </label>
        ))}
      </fieldset>
      <label class="check">
        <input type="checkbox" checked={measured.value} onChange={(e) => void (measured.value = e.currentTarget.checked)} />
        <span>{t("paper.measures")}</span>
      </label>
    </div>
  );
}

function Undrawn(): preact.JSX.Element {
  const refused = sheet.value?.refused ?? [];
  return (
    <div class="work undrawn" role="status">
      <h2>{t("paper.undrawn")}</h2>
      {refused.map((r) => (
        <p key={r.key}>
          {r.key !== "" && (
            <>
              <button type="button" class="quiet" onClick={() => bringToHand(r.key)}>
                {sheet.value?.values[r.key]?.name ?? r.key}
              </button>{" "}
            </>
          )}
          {r.says}
        </p>
      ))}
    </div>
  );
}
