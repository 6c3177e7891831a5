// The spreads of the book: what stands on the left page below the sentences, and what lies on the right page.

import type { Sheet, SpreadId } from "../contract";
import { ChecksLeft, ChecksRight } from "./Checks";
import { ClothLeft, ClothRight } from "./Cloth";
import { LessonLeft, LessonRight } from "./Lesson";
import { MakingRight } from "./Making";
import { MoneyRight } from "./Money";
import { DrawingRight } from "./Plain";
import { TapeRight } from "./Tape";
import { KeepTape } from "./TapeOfOrder";

/** `first`: the left page's own part stands before the sentences. */
type Page = (props: { sheet: Sheet }) => preact.JSX.Element | null;

export const SPREADS: Record<SpreadId, { Left?: Page; first?: boolean; Right: Page }> = {
  tape: { Left: KeepTape, Right: TapeRight },
  shape: { Right: DrawingRight },
  pads: { Right: DrawingRight },
  checks: { Left: ChecksLeft, Right: ChecksRight },
  cloth: { Left: ClothLeft, first: true, Right: ClothRight },
  making: { Right: MakingRight },
  money: { Right: MoneyRight },
  lesson: { Left: LessonLeft, Right: LessonRight },
};
