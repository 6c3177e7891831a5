// Whether the window is as wide as a desk's, or a tablet's (the style sheet has the same bound), and whether it is tall.

import { signal } from "@preact/signals";

const desk = window.matchMedia("(min-width: 1200px)");
const roomy = signal(desk.matches);
desk.addEventListener("change", () => {
  roomy.value = desk.matches;
});

export function useRoomy(): boolean {
  return roomy.value;
}

/** A common small desk's screen is not: there every row of pixels goes to the paper. */
const high = window.matchMedia("(min-height: 850px)");
const tall = signal(high.matches);
high.addEventListener("change", () => {
  tall.value = high.matches;
});

export function useTall(): boolean {
  return tall.value;
}
