// Where the drawing can be touched: every edge and level. A click brings the sentence of a line to hand. By keys the
// lines are one stop of the tab key, walked with the arrows.

import { useRef, useState } from "preact/hooks";
import { bringToHand } from "../book/hand";
import type { Drawing, Line } from "../contract";
import { inHand, pointedAt, values } from "../store";
import { t } from "../texts";

export function Lines(props: { drawing: Drawing }): preact.JSX.Element {
  const { drawing } = props;
  const [here, setHere] = useState(0);
  const group = useRef<SVGGElement>(null);
  const lines: { line: Line; panel: string }[] = drawing.panels.flatMap((panel) =>
    [...panel.edges, ...panel.levels].map((line) => ({ line, panel: panel.name })),
  );
  const stop = Math.min(here, lines.length - 1);

  const walk = (event: KeyboardEvent): void => {
    const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (by === undefined) return;
    event.preventDefault();
    event.stopPropagation();
    const next = (stop + by + lines.length) % lines.length;
    setHere(next);
    (group.current?.children[next] as SVGElement | undefined)?.focus();
  };

  return (
    <g class="lines" ref={group} onKeyDown={walk}>
      {lines.map(({ line, panel }, n) => {
        const key = drawing.hand[line.id];
        const said = t("paper.line", { line: line.name, panel, length: line.text ?? "" });
        const sentence = key === undefined ? "" : t("paper.to_hand", { name: values.value[key]?.name ?? "" });
        const act = (): void => {
          if (key !== undefined) bringToHand(key);
          else pointedAt.value = [line.id];
        };
        return (
          <path
            key={line.id}
            d={line.d}
            class="hit"
            tabIndex={n === stop ? 0 : -1}
            role="button"
            aria-label={`${said} ${sentence}`.trim()}
            onClick={act}
            onFocus={() => {
              setHere(n);
              pointedAt.value = [line.id];
            }}
            onBlur={() => void (pointedAt.value = [])}
            onPointerEnter={(e) => {
              if (e.pointerType === "mouse" && e.buttons === 0 && inHand.peek() === null) pointedAt.value = [line.id];
            }}
            onPointerLeave={(e) => {
              if (e.pointerType === "mouse" && inHand.peek() === null) pointedAt.value = [];
            }}
            onKeyDown={(e) => {
              if (e.key === "Enter" || e.key === " ") {
                e.preventDefault();
                act();
              }
            }}
          />
        );
      })}
    </g>
  );
}
