// What the checks have to say, in the margin at the foot of the paper, each with a line to its place. The panels lie
// side by side, so notes in the order of their places keep the lines from crossing.

import { signal } from "@preact/signals";
import { useLayoutEffect, useRef } from "preact/hooks";
import { bringToHand } from "../book/hand";
import type { Finding } from "../contract";
import { pointedAt } from "../store";
import { t } from "../texts";
import { type Eye, toScreen } from "./view";

/** Where the line of each note begins, in pixels of the sheet. */
const stands = signal<Readonly<Record<string, readonly [number, number]>>>({});
const looked = signal<string | null>(null);
/** Pixels that a line rises before it turns to its place. */
const RISE = 10;

/** Pixels that a note takes at least, and the button of those that are folded. */
const NOTE = 215;
const FOLDED = 170;

/** What has to be looked at stands in the margin, the gravest first as far as one row goes, so that nothing lies over
 * the drawing; the rest and mere notes wait folded beside it. */
function parted(findings: readonly Finding[], width: number): { loud: Finding[]; rest: Finding[]; notes: number } {
  const all = findings.filter((f) => f.level !== "note");
  const room = Math.max(1, Math.floor((width - FOLDED) / NOTE));
  const far = Number.POSITIVE_INFINITY;
  const loud = all.slice(0, room).sort((a, b) => (a.at?.[0] ?? far) - (b.at?.[0] ?? far));
  const notes = findings.filter((f) => f.level === "note");
  return { loud, rest: [...all.slice(room), ...notes], notes: notes.length };
}

/** "2 more to look at, 29 notes", without what there is none of. */
function folded(rest: readonly Finding[], notes: number): string {
  const more = rest.length - notes;
  const said = notes === 0 ? "" : t(notes === 1 ? "findings.more_one" : "findings.more", { count: notes });
  return [more > 0 ? t("findings.rest", { count: more }) : "", said].filter((one) => one !== "").join(", ");
}

export function Margin(props: { findings: Finding[]; width: number; height: number }): preact.JSX.Element | null {
  const strip = useRef<HTMLDivElement>(null);
  const { loud, rest, notes } = parted(props.findings, props.width);

  useLayoutEffect(() => {
    const div = strip.current;
    if (div === null) return;
    const next: Record<string, readonly [number, number]> = {};
    for (const note of div.querySelectorAll<HTMLElement>(":scope > .note[data-id]")) {
      const top = div.offsetTop + note.offsetTop - div.scrollTop;
      if (top >= div.offsetTop) next[note.dataset.id ?? ""] = [div.offsetLeft + note.offsetLeft + note.offsetWidth / 2, top];
    }
    if (JSON.stringify(next) !== JSON.stringify(stands.peek())) stands.value = next;
  });

  if (props.findings.length === 0) return null;
  return (
    <div class={`margin ${loud.length > 0 ? "full" : ""}`} ref={strip} role="region" aria-label={t("findings.margin")}>
      {loud.map((finding) => (
        <Note key={finding.id} finding={finding} />
      ))}
      {rest.length > 0 && (
        <details class="more">
          <summary>{folded(rest, notes)}</summary>
          <div class="quiet-notes">
            {rest.map((finding) => (
              <Note key={finding.id} finding={finding} />
            ))}
          </div>
        </details>
      )}
    </div>
  );
}

export function Note(props: { finding: Finding }): preact.JSX.Element {
  const { finding } = props;
  const look = (): void => {
    pointedAt.value = finding.parts ?? [];
    looked.value = finding.id;
  };
  const leave = (): void => {
    pointedAt.value = [];
    looked.value = null;
  };
  const key = finding.keys?.[0];
  return (
    <button
      type="button"
      class={`note of-${finding.level}`}
      data-id={finding.id}
      onFocus={look}
      onBlur={leave}
      onPointerEnter={look}
      onPointerLeave={leave}
      onClick={() => key !== undefined && bringToHand(key)}
    >
      <span class="matter">
        <span class="word">
          <Mark level={finding.level} />
          {t(`level.${finding.level}`)}
        </span>
        <span class="subject">{finding.about}</span>
      </span>
      <span class="says">{finding.says}</span>
    </button>
  );
}

/** A sign beside the word, so that gravity is seen without colour: a cross, a stroke with its dot, a bar. */
export function Mark(props: { level: string }): preact.JSX.Element {
  const d = { stop: "M3 3L13 13M13 3L3 13", warn: "M8 2V9M8 12.5V13.5", note: "M5 8H11", fine: "M3 8L7 12L13 3" }[props.level];
  return (
    <svg class={`mark of-${props.level}`} viewBox="0 0 16 16" width="12" height="12" aria-hidden="true">
      <path d={d ?? ""} />
    </svg>
  );
}

export function Leaders(props: { eye: Eye; findings: Finding[] }): preact.JSX.Element {
  const view = props.eye.view.value;
  const from = stands.value;
  return (
    <g class="leaders" aria-hidden="true">
      {props.findings.map((finding) => {
        const start = from[finding.id];
        if (start === undefined || !finding.at || finding.level === "note") return null;
        const [x, y] = toScreen(view, finding.at);
        return (
          <g key={finding.id} class={`${finding.level} ${looked.value === finding.id ? "looked" : ""}`}>
            <path d={`M${start[0]} ${start[1]}v${-RISE}L${x} ${y}`} />
            <circle cx={x} cy={y} r="4" />
          </g>
        );
      })}
    </g>
  );
}
