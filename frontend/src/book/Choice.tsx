// A value that is one of a few, or several of a few: a button that opens a short list under itself. Some choices are
// drawn: the server has a picture of each.

import { useLayoutEffect, useRef, useState } from "preact/hooks";
import type { Picture, Value } from "../contract";
import { edit, putDown, takeInHand } from "../queue";
import { DRAWN, askPictures, pictures } from "./pictures";
import { refusals } from "../store";
import { nextField } from "./hand";

export function Choice({ value }: { value: Value }): preact.JSX.Element {
  const { key } = value;
  const [open, setOpen] = useState(false);
  const [at, setAt] = useState(0);
  const button = useRef<HTMLButtonElement>(null);
  const list = useRef<HTMLUListElement>(null);
  const choices = value.choices ?? [];
  const many = value.kind === "choices";
  const chosen = new Set(Array.isArray(value.value) ? value.value : [value.value ?? ""]);
  const refusal = refusals.value[key];
  const drawn = pictures.value[key];
  // Drawn ones stand two in a row (values.css).
  const across = drawn ? 2 : 1;
  const id = `list-${key.replaceAll(".", "-")}`;

  const show = (): void => {
    setAt(Math.max(0, choices.findIndex((choice) => chosen.has(choice.value))));
    setOpen(true);
    if (DRAWN.has(key)) askPictures();
  };
  const close = (back = true): void => {
    setOpen(false);
    if (back) button.current?.focus();
  };
  const choose = (n: number): void => {
    const choice = choices[n];
    if (choice === undefined) return;
    if (many) {
      const next = choices.map((c) => c.value).filter((v) => (v === choice.value ? !chosen.has(v) : chosen.has(v)));
      edit({ key, text: next });
    } else {
      if (!chosen.has(choice.value)) edit({ key, text: choice.value });
      close();
    }
  };

  // The list lies over the page, under its value, or above it where there is no room below.
  useLayoutEffect(() => {
    if (!open || button.current === null || list.current === null) return;
    const box = button.current.getBoundingClientRect();
    const { offsetHeight: height, offsetWidth: width } = list.current;
    const below = box.bottom + height + 8 < window.innerHeight;
    list.current.style.top = `${below ? box.bottom + 4 : Math.max(4, box.top - height - 4)}px`;
    list.current.style.left = `${Math.max(4, Math.min(box.left, window.innerWidth - width - 8))}px`;
    list.current.focus();
    const away = (event: Event): void => {
      if (event.target instanceof Node && !list.current?.contains(event.target) && !button.current?.contains(event.target)) setOpen(false);
    };
    const gone = (): void => setOpen(false);
    document.addEventListener("pointerdown", away);
    window.addEventListener("resize", gone);
    return () => {
      document.removeEventListener("pointerdown", away);
      window.removeEventListener("resize", gone);
    };
  }, [open, drawn]);

  useLayoutEffect(() => {
    if (open) document.getElementById(`${id}-${at}`)?.scrollIntoView({ block: "nearest" });
  }, [open, at]);

  const onListKey = (event: KeyboardEvent): void => {
    const move = { ArrowDown: at + across, ArrowUp: at - across, ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: choices.length - 1 }[event.key];
    if (move !== undefined) setAt(Math.max(0, Math.min(choices.length - 1, move)));
    else if (event.key === "Enter" || event.key === " ") choose(at);
    else if (event.key === "Escape") close();
    else if (event.key === "Tab") return close(true);
    else if (event.key.length === 1) {
      const found = choices.findIndex((choice) => choice.text.toLowerCase().startsWith(event.key.toLowerCase()));
      if (found >= 0) setAt(found);
    } else return;
    event.preventDefault();
    event.stopPropagation();
  };

  return (
    <span class={`value choice ${value.state} ${refusal ? "refused" : ""}`}>
      <button
        ref={button}
        type="button"
        data-key={key}
        aria-haspopup="listbox"
        aria-expanded={open}
        aria-label={`${value.name}: ${value.text}`}
        aria-describedby={refusal ? `refused-${key} in-hand` : "in-hand"}
        onClick={() => (open ? close() : show())}
        onFocus={() => takeInHand(key)}
        onBlur={() => putDown(key)}
        onKeyDown={(event) => {
          if (event.key === "ArrowDown" || event.key === "ArrowUp") {
            event.preventDefault();
            show();
          } else if (event.key === "Enter" && event.shiftKey && button.current) {
            event.preventDefault();
            nextField(button.current, -1);
          }
        }}
      >
        {value.text}
      </button>
      {open && (
        <ul
          ref={list}
          id={id}
          class={`choices ${drawn ? "drawn" : ""}`}
          role="listbox"
          tabIndex={-1}
          aria-label={value.name}
          aria-multiselectable={many}
          aria-activedescendant={`${id}-${at}`}
          onKeyDown={onListKey}
        >
          {choices.map((choice, n) => (
            <li
              key={choice.value}
              id={`${id}-${n}`}
              role="option"
              aria-selected={chosen.has(choice.value)}
              class={n === at ? "here" : ""}
              onPointerEnter={() => setAt(n)}
              onClick={() => choose(n)}
            >
              {drawn?.[choice.value] && <Drawn picture={drawn[choice.value]} />}
              <span>{choice.text}</span>
            </li>
          ))}
        </ul>
      )}
    </span>
  );
}

function Drawn({ picture }: { picture: Picture | undefined }): preact.JSX.Element | null {
  if (picture === undefined) return null;
  const [x0, y0, x1, y1] = picture.box;
  return (
    <svg class="meaning" viewBox={`${x0} ${y0} ${x1 - x0} ${y1 - y0}`} aria-hidden="true">
      {picture.panels.map((d) => (
        <path key={d} d={d} />
      ))}
    </svg>
  );
}
