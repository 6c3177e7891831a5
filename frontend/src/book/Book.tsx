// The book lying open on the table: the head, the tape with the spreads' names, the left page and the right one.

import { useLayoutEffect } from "preact/hooks";
import { shownCount } from "../queue";
import { conflict, notice, session, sheet, shut, spread } from "../store";
import { t } from "../texts";
import { Dialogs } from "../shelf/Dialogs";
import { SPREADS } from "../spreads/all";
import { FromTape } from "../spreads/TapeOfOrder";
import { ConflictBar } from "./ConflictBar";
import { Files } from "./Files";
import { Head } from "./Head";
import { InHand } from "./InHand";
import { Sentences } from "./Sentences";
import { TapeNav } from "./TapeNav";

export function Book(): preact.JSX.Element {
  const open = sheet.value;
  const count = shownCount.value;
  // For those who watch from outside, tests and benches: what of the book is on the screen.
  useLayoutEffect(() => {
    Object.assign(document.documentElement.dataset, {
      spread: open?.spread?.id ?? "",
      version: String(open?.version ?? ""),
      shown: String(count),
    });
  }, [count]);
  if (shut.value !== null) {
    return (
      <main class="shut">
        <p role="alert">{shut.value}</p>
        {session.value?.openly && <a href="/">{t("door.enter")}</a>}
      </main>
    );
  }
  const id = spread.value;
  const { Left, Right, first } = SPREADS[id];
  const told = open?.spreads.find((s) => s.id === id);
  return (
    <>
      <a class="skip" href="#left" onClick={(e) => skip(e, "left")}>
        {t("skip.left")}
      </a>
      <a class="skip" href="#right" onClick={(e) => skip(e, "right")}>
        {t("skip.right")}
      </a>
      <Head />
      <TapeNav />
      <main class="book">
        <section class="page left" id="left" tabIndex={-1} aria-labelledby="spread-title">
          <div class="leaf">
            <h2 id="spread-title">{t(`spread.${id}`)}</h2>
            {conflict.value !== null && <ConflictBar open={conflict.value} />}
            {open && id === "tape" && <FromTape sheet={open} />}
            {open && Left && first && <Left sheet={open} />}
            {told && <Sentences key={`${open?.order.id ?? ""}-${id}`} sections={told.sections} />}
            {open && Left && !first && <Left sheet={open} />}
            {open && <Cautions says={open.cautions} />}
          </div>
          <InHand />
        </section>
        <section class="page right" id="right" tabIndex={-1} aria-label={t("page.right")}>
          {open && <Right key={id} sheet={open} />}
          {open && <Files sheet={open} />}
        </section>
      </main>
      <Dialogs />
      <p class="heard" role="status" aria-live="polite">
        {notice.value}
      </p>
    </>
  );
}

/** The address keeps the name of the spread, so the jump is made by hand. */
function skip(event: MouseEvent, id: string): void {
  event.preventDefault();
  document.getElementById(id)?.focus();
}

function Cautions(props: { says: string[] }): preact.JSX.Element | null {
  if (props.says.length === 0) return null;
  return (
    <details class="section cautions">
      <summary>
        <h3>{t("cautions")}</h3>
      </summary>
      <ul>
        {props.says.map((says) => (
          <li key={says}>{says}</li>
        ))}
      </ul>
    </details>
  );
}
