// What the page knows: the open order's sheet as the server last gave it, and where she is in the book.

import { computed, signal } from "@preact/signals";
import type { Waiting } from "./waiting";
import type { At, Conflict, Lays, Order, Refusal, Session, Settings, Sheet, SpreadId, Value } from "./contract";

export interface RefusedText extends Refusal {
  /** What stands in the field; it is kept until it is mended or taken back. Null where nothing was typed. */
  typed: string | null;
}

export interface OpenConflict {
  conflict: Conflict | null;
  version: number;
}

export const session = signal<Session | null>(null);
export const settings = signal<Settings>({ unit: "cm", look: "auto" });
export const sheet = signal<Sheet | null>(null);
export const lays = signal<Lays>({ state: "none" });
export const spread = signal<SpreadId>("tape");
/** The order that this window shows, as its address says; its sheet may still be on its way. */
export const opened = signal<string | null>(null);
/** The part of the lesson that lies open, from 0. */
export const part = signal(0);
/** The client whose card lies open on the shelf. */
export const card = signal<string | null>(null);
/** Why there is nothing to show at this address. */
export const lost = signal<string | null>(null);

/** What is being typed, by key, until the server has answered it and the field has been left. */
export const typing = signal<Readonly<Record<string, string>>>({});
export const refusals = signal<Readonly<Record<string, RefusedText>>>({});
/** Keys whose text was refused just now, while she may still be typing: it is told when she rests. */
export const resting = signal<ReadonlySet<string>>(new Set());
export const conflict = signal<OpenConflict | null>(null);

/** The value in hand: the field with focus, or the handle that is being moved. */
export const inHand = signal<string | null>(null);
/** Parts of the drawing to be shown although no value is in hand: a finding's, a seam's, a line's under the pointer. */
export const pointedAt = signal<readonly string[]>([]);
/** Stretches of edge that are shown whole or in part, as the walk gives them. */
export const stretches = signal<readonly string[]>([]);
/** How many layers are lifted off, from the outside in. */
export const lifted = signal(0);
export const measured = signal(false);
/** Where the pointer holds a handle, in paper coordinates. */
export const held = signal<{ handle: string; at: At } | null>(null);

export type Saving = "kept" | "keeping" | "away";
export const saving = signal<Saving>("kept");
/** Read out to those who listen, and shown for a while at the foot of the left page. */
export const notice = signal("");
/** Why the page cannot go on at all: a closed session, a closed book. */
export const shut = signal<string | null>(null);
export type Over = "shelf" | "versions" | "keys" | "privacy" | "door";
export const dialog = signal<Over | null>(null);

/** Something that waited for the book and stands against what it says now: she takes it or drops it. */
export interface LeftOver {
  waiting: Waiting;
  order: string;
  name: string;
  typed: string;
  /** What the value is now, null where its order is gone. */
  now: string | null;
  version: number;
}
export const leftOver = signal<readonly LeftOver[]>([]);

export const order = computed<Order | null>(() => sheet.value?.order ?? null);
export const values = computed<Record<string, Value>>(() => sheet.value?.values ?? {});

/** What the order itself says of a value: what a rule makes of the others is none of its own. */
export function heldBy(value: Value | undefined): string {
  if (value === undefined) return "";
  return value.state === "measured" || value.state === "stated" ? (value.edit ?? value.text) : value.state;
}

/** Whether a text stands in a field, on any spread, that the book could not use. */
export const anyRefused = computed(
  () =>
    Object.values(refusals.value).some((one) => one.typed !== null) ||
    Object.values(values.value).some((one) => one.typed !== undefined && typing.value[one.key] === undefined),
);

/** Parts of the drawing that are lit, the chief ones first. */
export const lit = computed<readonly string[]>(() => {
  if (pointedAt.value.length > 0) return pointedAt.value;
  const key = inHand.value;
  return key === null ? [] : (values.value[key]?.governs ?? []);
});

/** The spread on which a value stands: the open one if it may, else the first in the order of the work. */
export function spreadOf(key: string): SpreadId | null {
  const spreads = sheet.value?.spreads ?? [];
  const bearing = spreads.filter((s) =>
    s.sections.some((c) => c.sentences.some((line) => line.asks?.includes(key) || line.runs.some((run) => run.value === key))),
  );
  return (bearing.find((s) => s.id === spread.value) ?? bearing[0])?.id ?? null;
}

/** The values that stand on the open spread. */
export const keysHere = computed<ReadonlySet<string>>(() => {
  const open = sheet.value?.spreads.find((s) => s.id === spread.value)?.sections ?? [];
  return new Set(open.flatMap((c) => c.sentences.flatMap((line) => line.runs.flatMap((run) => run.value ?? []))));
});

export function without<T>(record: Readonly<Record<string, T>>, key: string): Record<string, T> {
  const { [key]: _gone, ...rest } = record;
  return rest;
}
