// The head of the book: whose order it is, whether all is kept, a step back, a step on, and how she likes to read.

import type { Look, Unit } from "../contract";
import { Openness } from "../door/Openness";
import { redo, undo } from "../queue";
import { dialog, order, saving, settings, sheet } from "../store";
import { day } from "../dates";
import { t } from "../texts";
import { choose } from "../session";

export function Head(): preact.JSX.Element {
  const open = order.value;
  const back = sheet.value?.undo ?? null;
  const on = sheet.value?.redo ?? null;
  return (
    <header class="head">
      <button type="button" class="shelf-button" aria-haspopup="dialog" onClick={() => void (dialog.value = "shelf")}>
        <svg viewBox="0 0 20 16" aria-hidden="true">
          <path d="M2 14H18M4 14V3H7V14M8.5 14V2H11.5V14M13 14L15 4L17.6 4.5L16.4 14" />
        </svg>
        {t("shelf.open")}
      </button>
      <h1>
        <span class="order-name">{open?.name ?? ""}</span>
        {open?.client.label && <span class="for-whom">{t("head.for", { client: open.client.label })}</span>}
        {open?.due && <span class="for-whom">{t("head.due", { due: day(open.due) })}</span>}
      </h1>
      <p class={`saving ${saving.value}`} role="status">
        {t(`saving.${saving.value}`)}
      </p>
      <div class="steps">
        <button type="button" class="plain" disabled={back === null} onClick={undo} aria-keyshortcuts="Control+Z" title={back === null ? t("undo") : t("undo_what", { what: back })}>
          <svg viewBox="0 0 16 16" aria-hidden="true"><path d="M6 3L2.5 6.5L6 10M3 6.5H10A3.5 3.5 0 0 1 10 13.5H6" /></svg>
          <span>{t("undo")}</span>
        </button>
        <button type="button" class="plain" disabled={on === null} onClick={redo} aria-keyshortcuts="Control+Shift+Z" title={on === null ? t("redo") : t("redo_what", { what: on })}>
          <svg viewBox="0 0 16 16" aria-hidden="true"><path d="M10 3L13.5 6.5L10 10M13 6.5H6A3.5 3.5 0 0 0 6 13.5H10" /></svg>
          <span>{t("redo")}</span>
        </button>
        <button type="button" class="plain" aria-haspopup="dialog" onClick={() => void (dialog.value = "versions")}>
          {t("versions.open")}
        </button>
      </div>
      <Pick<Unit> label={t("unit_label")} at={settings.value.unit} all={["cm", "in"]} say={(one) => t(`unit.${one}`)} onPick={(unit) => choose({ unit })} />
      <Pick<Look> label={t("look_label")} at={settings.value.look} all={["auto", "light", "dark"]} say={(one) => t(`look.${one}`)} onPick={(look) => choose({ look })} />
      <button type="button" class="plain" aria-haspopup="dialog" aria-keyshortcuts="F1" onClick={() => void (dialog.value = "keys")}>
        {t("keys.open")}
      </button>
      <Openness />
    </header>
  );
}

function Pick<T extends string>(props: { label: string; at: T; all: T[]; say: (one: T) => string; onPick: (at: T) => void }): preact.JSX.Element {
  return (
    <label class="pick">
      <span>{props.label}</span>
      <select value={props.at} onChange={(e) => props.onPick(e.currentTarget.value as T)}>
        {props.all.map((one) => (
          <option key={one} value={one}>
            {props.say(one)}
          </option>
        ))}
      </select>
    </label>
  );
}
