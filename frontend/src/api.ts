// Calls to our own server: the token goes with everything that changes something, and nothing goes anywhere else.

import type { Answer } from "./contract";

export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    readonly says: string,
    readonly body: Partial<Answer>,
  ) {
    super(says);
  }
}

/** The server could not be reached at all. */
export class Away extends Error {}

/** Milliseconds before a request that did not reach the server is sent again; found by trial to be neither idle nor a storm. */
export const AGAIN = 1000;

let token = "";

export function bearToken(given: string): void {
  token = given;
}

/** Every window counts its own requests; an answer with a lower number than one already shown is old. */
export const windowId = `w-${crypto.getRandomValues(new Uint32Array(2)).join("-")}`;
let counted = 0;

export function nextSeq(): number {
  counted += 1;
  return counted;
}

export async function get<T>(path: string): Promise<T> {
  return answered<T>(await reach(path, { headers: { Accept: "application/json" } }));
}

export async function post<T>(path: string, body: unknown): Promise<T> {
  return answered<T>(
    await reach(path, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-Coutil-Token": token },
      body: JSON.stringify(body),
    }),
  );
}

export async function upload<T>(path: string, kind: string, body: Blob): Promise<T> {
  return answered<T>(
    await reach(path, { method: "POST", headers: { "Content-Type": kind, "X-Coutil-Token": token }, body }),
  );
}

async function reach(path: string, wish: RequestInit): Promise<Response> {
  try {
    return await fetch(path, { credentials: "same-origin", cache: "no-store", ...wish });
  } catch (fault) {
    throw new Away(String(fault));
  }
}

async function answered<T>(response: Response): Promise<T> {
  let text: string;
  try {
    text = await response.text();
  } catch (fault) {
    // The line broke in the middle of the answer: what it would have said is not known, so it is asked again.
    throw new Away(String(fault));
  }
  let body: unknown;
  try {
    body = JSON.parse(text);
  } catch {
    body = {};
  }
  if (response.ok) return body as T;
  const refusal = body as Partial<Answer>;
  throw new Refused(response.status, refusal.error ?? "", refusal.says ?? "", refusal);
}
