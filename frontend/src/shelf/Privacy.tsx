// What the book keeps of people, and where, as the server tells it.

import { useTold } from "../told";

export function Privacy(): preact.JSX.Element {
  return (
    <>
      {(useTold<{ paragraphs: string[] }>("/api/privacy")?.paragraphs ?? []).map((paragraph) => (
        <p key={paragraph}>{paragraph}</p>
      ))}
    </>
  );
}
