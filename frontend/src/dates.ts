// Days and times in the language of the book, in the way of the region that the browser names.

import { session } from "./store";

function place(): string {
  const language = session.peek()?.language ?? "en";
  return navigator.languages.find((one) => one === language || one.startsWith(`${language}-`)) ?? language;
}

export function day(iso: string): string {
  // Noon, so that no time zone makes another day of it.
  return new Date(`${iso.slice(0, 10)}T12:00:00`).toLocaleDateString(place(), { day: "numeric", month: "long", year: "numeric" });
}

/** Today where she is, as the server writes days. */
export function today(): string {
  const now = new Date();
  return `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, "0")}-${String(now.getDate()).padStart(2, "0")}`;
}

export function when(iso: string): string {
  return new Date(iso).toLocaleString(place(), { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
}
