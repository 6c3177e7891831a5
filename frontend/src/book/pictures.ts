// Pictures of what a choice means: the server draws them once, and they are asked for when such a list is first opened.

import { signal } from "@preact/signals";
import { get } from "../api";
import type { Pictures } from "../contract";

/** Values whose choices are drawn. */
export const DRAWN: ReadonlySet<string> = new Set(["style.seaming", "style.neckline", "style.back"]);

export const pictures = signal<Pictures>({});

let asked = false;

/** Without an answer the choices stand in words, and the next list that is opened asks again. */
export function askPictures(): void {
  if (asked) return;
  asked = true;
  get<{ pictures: Pictures }>("/api/pictures").then(
    (answer) => void (pictures.value = answer.pictures),
    () => void (asked = false),
  );
}
