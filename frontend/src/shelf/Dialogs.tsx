// What lies over the book for a while: the shelf with all orders, the pages before, the keys, what happens to measurements.

import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { Door } from "../door/Door";
import { dialog } from "../store";
import { t } from "../texts";
import { Keys } from "./Keys";
import { Privacy } from "./Privacy";
import { Shelf } from "./Shelf";
import { Versions } from "./Versions";

export function Dialogs(): preact.JSX.Element | null {
  switch (dialog.value) {
    case "shelf":
      return <Over title={t("shelf.title")} wide><Shelf /></Over>;
    case "versions":
      return <Over title={t("versions.title")}><Versions /></Over>;
    case "keys":
      return <Over title={t("keys.title")}><Keys /></Over>;
    case "privacy":
      return <Over title={t("privacy.title")}><Privacy /></Over>;
    case "door":
      return <Over title={t("door.title")}><Door /></Over>;
    default:
      return null;
  }
}

function Over(props: { title: string; wide?: boolean; children: ComponentChildren }): preact.JSX.Element {
  const box = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    const from = document.activeElement;
    box.current?.showModal();
    return () => {
      if (from instanceof HTMLElement && from.isConnected) from.focus();
    };
  }, []);
  const close = (): void => void (dialog.value = null);
  return (
    <dialog ref={box} class={`over ${props.wide ? "wide" : ""}`} aria-labelledby="over-title" onClose={close} onClick={(e) => e.target === box.current && close()}>
      <div class="over-head">
        <h2 id="over-title">{props.title}</h2>
        <button type="button" class="plain" onClick={close}>
          {t("close")}
        </button>
      </div>
      <div class="over-body">{props.children}</div>
    </dialog>
  );
}
