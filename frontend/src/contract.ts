// What the server says, as docs/web-api.md writes it down. Lengths in mm, drawings in paper coordinates (y down).

export type Box = readonly [number, number, number, number];
export type At = readonly [number, number];
export type Unit = "cm" | "in";
export type Look = "auto" | "light" | "dark";
export type SpreadId = "tape" | "shape" | "pads" | "checks" | "cloth" | "making" | "money" | "lesson";
export type Level = "stop" | "warn" | "note";

export interface Session {
  token: string;
  coutil: string;
  language: string;
  settings: Settings;
  texts: Record<string, string>;
  spreads: { id: SpreadId; title: string }[];
  /** What tells this book from every other. */
  book: string;
  open: string | null;
  first_visit: boolean;
  openly: boolean;
  /** It came in from another machine, by the password; then it can sign out. */
  by_password: boolean;
}

export interface Settings {
  unit: Unit;
  look: Look;
}

export interface Client {
  id: string;
  label: string;
  note?: string;
  orders?: number;
  tapes?: number;
  /** The day of the newest tape. */
  taken_on?: string | null;
}

export interface Order {
  id: string;
  name: string;
  client: Client;
  due: string | null;
  changed: string;
  version: number;
}

export interface Version {
  version: number;
  when: string;
  what: string;
  keys: string[];
  /** The day of the tape that this version took over. */
  tape?: string | null;
  now?: boolean;
}

export interface TapeTaken {
  id: string;
  taken_on: string;
  note: string;
  measurements: { key: string; name: string; text: string }[];
  /** Those that took it over. */
  orders: Order[];
}

/** The tape that an order's readings were taken from, and which of them differ by now. */
export interface TapeInOrder {
  taken_on: string;
  kept: boolean;
  changed: string[];
}

export interface TapesBeside {
  tapes: { id: string; taken_on: string; note: string }[];
  rows: { key: string; name: string; before: string; after: string; difference: string; change: "more" | "less" | "same" | "untold" }[];
}

export interface Run {
  text?: string;
  value?: string;
}

export interface EditWish {
  key: string;
  text?: string | string[];
  nudge?: number;
  add?: boolean;
  remove?: boolean;
  /** What else the same question asked, by its key: taken together with `text`, or not at all. */
  beside?: Record<string, string>;
  /** As it was taken in hand. */
  back?: boolean;
}

export interface Sentence {
  id: string;
  runs: Run[];
  /** The values of a question whose answers are sent together: a choice, then a length. */
  asks?: [string, string];
  actions?: { edit: EditWish; text: string }[];
}

export interface Section {
  id: string;
  title: string;
  folded?: boolean;
  sentences: Sentence[];
}

export type Kind = "length" | "choice" | "choices" | "flag" | "text" | "lines" | "number" | "date";

export interface Value {
  key: string;
  name: string;
  kind: Kind;
  text: string;
  also?: string;
  edit?: string;
  state: "measured" | "stated" | "assumed" | "not_taken" | "standard";
  /** A reading that has to be taken: emptied it is not taken, never filled by a rule. */
  needed?: boolean;
  why?: string;
  default?: boolean;
  allowed?: string;
  nudge?: string;
  clears?: boolean;
  /** What was typed and could not be used; kept until it is mended. */
  typed?: string;
  governs?: string[];
  choices?: { value: string; text: string }[];
  value?: string | string[];
  remark?: { level: Level; says: string } | null;
  how?: string;
  figure?: string;
}

/** What a choice means, drawn: outlines side by side, in paper coordinates. */
export interface Picture {
  box: Box;
  panels: string[];
}

/** By the value's key, then by the choice. */
export type Pictures = Record<string, Record<string, Picture>>;

export interface Label {
  at: At;
  angle: number;
}

export interface Line {
  id: string;
  name: string;
  d: string;
  text?: string;
  also?: string;
  label?: Label;
}

export interface LayerPiece {
  id: string;
  layer: string;
  piece: string;
  words: string;
  cut: string;
  net: string;
  placement: string[];
  notches: { id: string; name: string; d: string }[];
}

export interface PanelDrawing {
  id: string;
  name: string;
  side: string;
  box: Box;
  title: { at: At; text: string; sub?: string };
  net: string;
  edges: Line[];
  levels: Line[];
  grain?: { id: string; d: string } | null;
  fold?: { id: string; d: string } | null;
  points: { id: string; name: string; at: At }[];
  pad?: { id: string; d: string; edges: { id: string; d: string }[] } | null;
  layers: LayerPiece[];
}

export interface Handle {
  id: string;
  keys: string[];
  name: string;
  panel: string;
  at: At;
  along: At | null;
  cursor: string;
  text: string;
}

export interface Drawing {
  box: Box;
  square: number;
  waist: number;
  panels: PanelDrawing[];
  layers: { layer: string; text: string }[];
  handles: Handle[];
  hand: Record<string, string>;
}

export interface Finding {
  id: string;
  level: Level;
  about: string;
  says: string;
  at?: At | null;
  margin?: number | null;
  parts?: string[];
  keys?: string[];
  spread?: string;
}

export interface Said {
  text: string;
  also?: string;
}

export interface Cup {
  side: string;
  depth: Said;
  volume: Said;
  base: Said;
  profile: { box: Box; d: string; depth: string; base: string };
}

export interface Walk {
  seam: string;
  side: string;
  from: string;
  to: string;
  a: string;
  b: string;
  difference: string;
  level: string;
  parts: string[];
  a_d: string;
  b_d: string;
}

export interface Lay {
  id: string;
  cloth: string;
  called: string;
  on: string;
  layers: string[];
  folded: boolean;
  box: Box;
  title: string;
  used: string;
  pieces: { d: string; text: string; at: At; angle: number; parts: string[] }[];
  offcuts: { d: string; text: string }[];
  buy?: string;
}

export interface Block {
  text: string;
  d: string;
  box: Box;
  pieces: string[];
  says: string;
}

export interface Lays {
  state: "none" | "working" | "done" | "failed";
  part?: number;
  says?: string;
  version?: number;
  stale?: boolean;
  lays?: Lay[];
  blocks?: Block[];
  findings?: Finding[];
}

export interface Table {
  title: string;
  head: string[];
  rows: string[][];
  align?: ("left" | "right")[];
  foot?: string[] | string | null;
}

export interface Figure {
  view: string;
  box: Box;
  body: string[];
  tape: string;
  dots: At[];
  text: string;
  how: string;
  standard?: string;
}

export interface LessonGroup {
  title: string;
  figure?: { box: Box; light: string[]; strong: string[]; points: { name: string; at: At; before?: boolean }[] } | null;
  steps: { number: number; says: string; why?: string }[];
}

export interface SpreadMore {
  id: SpreadId;
  figures?: Record<string, Figure>;
  counts?: { stop: number; warn: number; note: number };
  girths?: { head: string[]; rows: string[][] };
  lays?: Lays;
  steps?: { number: number; title: string; says: string[]; uses?: string[] | string | null }[];
  refused?: string;
  cut?: Table | null;
  fuse?: Table | null;
  closing?: Table | null;
  buy?: Table | null;
  bones?: Table | null;
  thread?: Table | null;
  materials?: Table | null;
  hours?: Table | null;
  price?: Table | null;
  findings?: Finding[];
  groups?: LessonGroup[];
}

export interface FileLink {
  id: string;
  href: string;
  name: string;
  text: string;
  kind: string;
  spreads: string[];
  print?: boolean;
}

export interface Refusal {
  key: string;
  says: string;
}

export interface Sheet {
  order: Order;
  tape: TapeInOrder | null;
  version: number;
  /** The number of the version that is open, as the hands count. */
  step: number;
  undo: string | null;
  redo: string | null;
  unit: Unit;
  spreads: { id: SpreadId; sections: Section[] }[];
  values: Record<string, Value>;
  drawing: Drawing | null;
  refused?: Refusal[];
  findings: Finding[];
  cups: Cup[];
  walk: Walk[];
  lays: Lays;
  /** Null where the order cannot be drafted. */
  spread: SpreadMore | null;
  files: FileLink[];
  /** Whose body it is: readings that are not taken, and a standard size that was asked for as such. */
  body: { not_taken: string[]; standard: string };
  cautions: string[];
}

export interface Conflict {
  key: string;
  yours: string;
  theirs: string;
  was: string;
}

export interface Answer {
  seq: number;
  window: string;
  saved?: boolean;
  superseded?: boolean;
  merged?: unknown[];
  /** Keys whose refused texts have gone in along with this edit. */
  accepted?: string[];
  sheet?: Sheet;
  values?: Record<string, string>;
  error?: string;
  says?: string;
  version?: number;
  refused?: Refusal[];
  conflict?: Conflict | null;
}
