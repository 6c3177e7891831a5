// Keys that hold everywhere in the book.

import { turnTo } from "./book/hand";
import { redo, undo } from "./queue";
import { dialog, lifted, measured, session, sheet } from "./store";

export function listenForKeys(): void {
  window.addEventListener("keydown", (event) => {
    if (dialog.peek() !== null) return;
    const letter = event.key.toLowerCase();
    if ((event.ctrlKey || event.metaKey) && !event.altKey && letter === "z") {
      event.preventDefault();
      if (event.shiftKey) redo();
      else undo();
    } else if (event.ctrlKey && !event.altKey && letter === "y") {
      event.preventDefault();
      redo();
    } else if (event.altKey && /^[1-8]$/.test(event.key)) {
      const station = session.peek()?.spreads[Number(event.key) - 1];
      if (station === undefined) return;
      event.preventDefault();
      turnTo(station.id);
    } else if (event.key === "F1") {
      event.preventDefault();
      dialog.value = "keys";
    } else if (event.altKey && event.key === "0") {
      event.preventDefault();
      dialog.value = "shelf";
    } else if (isOnPaper(event.target) && !event.ctrlKey && !event.metaKey && !event.altKey) {
      plain(letter);
    }
  });
}

/** Single letters count only while the drawing has focus, so that they never meet what is being typed or spoken. */
function plain(letter: string): void {
  const most = sheet.peek()?.drawing?.layers.length ?? 0;
  if (letter === "l") lifted.value = lifted.peek() >= most ? 0 : lifted.peek() + 1;
  else if (letter === "m") measured.value = !measured.peek();
}

function isOnPaper(target: EventTarget | null): boolean {
  return target instanceof Element && target.closest(".squared") !== null;
}
