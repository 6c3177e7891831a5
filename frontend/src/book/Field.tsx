// A value in its sentence: typed ones are fields as wide as what they say, the others open a short list.

import { useLayoutEffect, useRef } from "preact/hooks";
import type { Value } from "../contract";
import { edit, putDown, takeBack, takeInHand } from "../queue";
import { inHand, refusals, typing, without } from "../store";
import { Choice } from "./Choice";
import { nextField } from "./hand";

export function Field({ value }: { value: Value }): preact.JSX.Element {
  switch (value.kind) {
    case "choice":
    case "choices":
    case "flag":
      return <Choice value={value} />;
    default:
      return <Typed value={value} />;
  }
}

function Typed({ value }: { value: Value }): preact.JSX.Element {
  const { key } = value;
  const field = useRef<HTMLInputElement & HTMLTextAreaElement>(null);
  const fresh = useRef(false);
  const refusal = refusals.value[key];
  const wrong = refusal !== undefined || (value.typed !== undefined && typing.value[key] === undefined);
  const hand = inHand.value === key;
  const shown = typing.value[key] ?? refusal?.typed ?? value.typed ?? (hand ? (value.edit ?? value.text) : value.text);

  // What the arrow keys or another window changed is marked anew, so that typing replaces it. Before the next key.
  useLayoutEffect(() => {
    if (hand && document.activeElement === field.current && typing.peek()[key] === undefined) field.current?.select();
  }, [hand, shown]);

  const onInput = (text: string): void => {
    fresh.current = false;
    typing.value = { ...typing.peek(), [key]: text };
    edit({ key, text }, "typed");
  };
  const onKeyDown = (event: KeyboardEvent): void => {
    if (event.isComposing) return;
    const lines = value.kind === "lines";
    if (event.key === "Enter" && !lines) {
      event.preventDefault();
      if (field.current) nextField(field.current, event.shiftKey ? -1 : 1);
    } else if (event.key === "Escape") {
      event.preventDefault();
      takeBack(key);
    } else if ((event.key === "ArrowUp" || event.key === "ArrowDown") && value.nudge) {
      event.preventDefault();
      typing.value = without(typing.peek(), key);
      refusals.value = without(refusals.peek(), key);
      edit({ key, nudge: (event.key === "ArrowUp" ? 1 : -1) * (event.shiftKey ? 10 : 1) }, "typed");
    }
  };

  const common = {
    ref: field,
    value: shown,
    "data-key": key,
    "aria-label": value.name,
    "aria-invalid": wrong,
    "aria-describedby": wrong ? `refused-${key} in-hand` : "in-hand",
    autocomplete: "off",
    spellcheck: value.kind === "text" || value.kind === "lines",
    onFocus: () => {
      takeInHand(key);
      field.current?.select();
      fresh.current = true;
    },
    // The click that took it in hand sets the cursor after the focus: the text is marked once more.
    onClick: () => {
      if (fresh.current) field.current?.select();
      fresh.current = false;
    },
    onBlur: () => putDown(key),
    onKeyDown,
    onInput: (event: { currentTarget: { value: string } }) => onInput(event.currentTarget.value),
  };
  return (
    <span class={`value ${value.kind} ${value.state} ${wrong ? "refused" : ""}`} data-text={shown || "\u2003"}>
      {value.kind === "lines" ? <textarea rows={1} {...common} /> : <input type="text" size={1} {...common} />}
    </span>
  );
}
