// Whether the window is as wide as a desk's, or a tablet's (the style sheet has the same bound), and whether it is tall.

import { type Signal, signal } from "@preact/signals";

function watched(query: string): Signal<boolean> {
  const asked = window.matchMedia(query);
  const fits = signal(asked.matches);
  asked.addEventListener("change", () => {
    fits.value = asked.matches;
  });
  return fits;
}

const roomy = watched("(min-width: 1200px)");
/** A common small desk's screen is not: there every row of pixels goes to the paper. */
const tall = watched("(min-height: 850px)");

export function useRoomy(): boolean {
  return roomy.value;
}

export function useTall(): boolean {
  return tall.value;
}
