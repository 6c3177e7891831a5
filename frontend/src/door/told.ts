// How other machines get in, and who tried: asked for where the book is open to them, and again when the server says so.

import { signal } from "@preact/signals";
import { useTold } from "../told";
import { session } from "../store";

export interface Tried {
  peer: string;
  wrong: number;
  unread: number;
  since: string;
  last: string;
}

export interface DoorTold {
  openly: boolean;
  addresses: { address: string; picture: { size: number; d: string } }[];
  wrong: number;
  machines: number;
  since: string | null;
  tries: Tried[];
}

/** Counts up when a wrong password has come. */
export const doorChanged = signal(0);

export function useDoor(): DoorTold | null {
  return useTold<DoorTold>(session.value?.openly ? "/api/door" : null, [doorChanged.value]);
}
