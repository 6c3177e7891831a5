// Whether the window is as wide as a desk's, or a tablet's; the style sheet has the same bound.

import { signal } from "@preact/signals";

const desk = window.matchMedia("(min-width: 1200px)");
const roomy = signal(desk.matches);
desk.addEventListener("change", () => {
  roomy.value = desk.matches;
});

export function useRoomy(): boolean {
  return roomy.value;
}
