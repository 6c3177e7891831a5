// The page holds no sentence of its own: every text is looked up in the catalogue that the session brings.

let catalogue: Record<string, string> = {};

export function learn(texts: Record<string, string>): void {
  catalogue = texts;
}

/** The text of a key with its `{places}` filled; the key itself where the catalogue lacks it, so that a gap is seen. */
export function t(key: string, fill: Record<string, string | number> = {}): string {
  const text = catalogue[`page.${key}`] ?? catalogue[key];
  if (text === undefined) return key;
  return text.replace(/\{(\w+)\}/g, (whole, name: string) => (name in fill ? String(fill[name]) : whole));
}
